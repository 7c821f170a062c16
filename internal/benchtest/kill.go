package benchtest

import (
	"bufio"
	"math/rand/v2"
	"os"
	"os/exec"
	"testing"
	"time"
)

// KillOnce starts this test anew as another process, waits until it has printed so
// many keys that were not acknowledged before, and kills it a moment later,
// somewhere in what it does next. What it acknowledged is what came through the
// pipe. It counts entries, so that it does not depend on how busy the machine is.
func KillOnce(t *testing.T, env string, acknowledged map[string]bool, entries int, rng *rand.Rand) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$")
	cmd.Env = append(os.Environ(), env)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for news := 0; lines.Scan(); {
		if len(lines.Text()) != len("kill-test-000000000000") {
			t.Fatalf("the process said %q", lines.Text())
		}
		if acknowledged[lines.Text()] {
			continue
		}
		acknowledged[lines.Text()] = true
		if news++; news == entries {
			time.Sleep(time.Duration(rng.IntN(2000)) * time.Microsecond)
			cmd.Process.Kill()
		}
	}
	cmd.Wait()
}
