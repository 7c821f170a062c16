package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"knownwater/science/assess"
)

// TestMain lets the test program be the command, to be sent signals.
func TestMain(m *testing.M) {
	if os.Getenv("KNOWNWATER_RUN") != "" {
		main()
	}
	engine = remembering(assess.Run)
	os.Exit(m.Run())
}

// TestStop ends commands in the middle of their work: within two seconds, with
// the usual status, nothing left behind.
func TestStop(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	var rows strings.Builder
	rows.WriteString("method,level,reading,reader\n")
	for i := range 400_000 {
		fmt.Fprintf(&rows, "Meter %d,%d,%d.%d,r%d\n", i%40, i%13, i%13, i%10, i%7)
	}
	put(t, at("readings.csv"), rows.String(), 0o644)
	put(t, at("points.csv"), "level,signal\n"+strings.Repeat("1,0.1\n2,0.2\n3,0.31\n4,0.39\n", 200_000), 0o644)
	names := filesIn(t, dir)
	for _, c := range []struct {
		signal syscall.Signal
		after  time.Duration // of work: on a busy machine the clock says nothing of how far it came
		args   []string
	}{
		{syscall.SIGINT, 100 * time.Millisecond, []string{"assess", at("readings.csv"), "--html", at("page.html")}},
		{syscall.SIGTERM, 800 * time.Millisecond, []string{"assess", at("readings.csv"), "--html", at("page.html")}},
		{syscall.SIGTERM, 200 * time.Millisecond, []string{"curve", "fit", at("points.csv"), "--out", at("curve.json")}},
		{syscall.SIGINT, untilServing, []string{"serve", "--bench", at("shed/bench.db"), "--listen", "127.0.0.1:0"}},
		{syscall.SIGTERM, 400 * time.Millisecond, []string{"demo", "--dir", at("shed")}},
	} {
		if c.args[0] == "serve" {
			os.Mkdir(at("shed"), 0o755)
		}
		cmd := exec.Command(os.Args[0], c.args...)
		cmd.Env = append(os.Environ(), "KNOWNWATER_RUN=1")
		var out lines
		cmd.Stdout, cmd.Stderr = &out, &out
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if worked(os.Getpid()) == 0 { // nothing tells it here
			time.Sleep(min(c.after, time.Second))
		}
		for waited := 0; worked(os.Getpid()) > 0 && worked(cmd.Process.Pid) < c.after && !(c.after == untilServing && address.MatchString(out.String())); waited++ {
			if waited == 6000 {
				t.Fatalf("%v: after a minute it is not under way: %s", c.args, &out)
			}
			time.Sleep(10 * time.Millisecond)
		}
		begun, before := time.Now(), worked(cmd.Process.Pid)
		cmd.Process.Signal(c.signal)
		var ended *exec.ExitError
		err := cmd.Wait()
		// Two seconds of both processors: on a busy machine they take longer by the clock.
		took := time.Since(begun)
		if work := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime() - before; took > 2*time.Second && (work > 4*time.Second || took > time.Minute) {
			t.Errorf("%v took %v to end, and %v of a processor", c.args, took, work)
		}
		if !errors.As(err, &ended) || ended.ExitCode() != 128+int(c.signal) {
			t.Errorf("%v ended with %v, want status %d: %s", c.args, err, 128+int(c.signal), &out)
		}
		os.RemoveAll(at("shed"))
		if got := filesIn(t, dir); got != names {
			t.Errorf("%v left %s", c.args, got)
		}
	}
}

// untilServing is when a server has said its address.
const untilServing = time.Hour

// worked is how long a process has had a processor, where /proc tells it in ticks
// of a hundredth of a second (proc(5), fields 14 and 15); else nothing.
func worked(pid int) time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	fields := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+1:]))
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.Atoi(fields[11])
	system, _ := strconv.Atoi(fields[12])
	return time.Duration(user+system) * 10 * time.Millisecond
}
