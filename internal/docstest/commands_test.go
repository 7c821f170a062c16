package docstest

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// blocks are the fenced blocks of a language in a page, in order, with their
// place: files to be written first, commands to be run after.
type block struct{ language, info, body string }

var fence = regexp.MustCompile("(?ms)^```([a-zA-Z]*)([^\n]*)\n(.*?)^```")

func blocks(page string) []block {
	var all []block
	for _, m := range fence.FindAllStringSubmatch(page, -1) {
		all = append(all, block{m[1], strings.TrimSpace(m[2]), m[3]})
	}
	return all
}

// Every command line in an sh block of README and of docs/, but for the how-tos, works as it stands
// there. The commands of a page run one after the other in one empty folder;
// a block whose fence carries a file name (```csv readings.csv) is written there
// first.
func TestCommandsOfTheDocuments(t *testing.T) {
	for _, name := range documents(t) {
		if strings.HasPrefix(filepath.Base(name), "howto-") { // TestHowTos runs more of those
			continue
		}
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			for _, b := range blocks(read(t, name)) {
				switch {
				case b.language == "sh":
					for _, line := range lines(b.body) {
						runLine(t, dir, line)
					}
				case filepath.Ext(b.info) != "" && !strings.ContainsAny(b.info, " /\\"):
					if err := os.WriteFile(filepath.Join(dir, b.info), []byte(b.body), 0o644); err != nil {
						t.Fatal(err)
					}
				}
			}
		})
	}
}

// lines are the commands of a block: continued lines joined, comments left out.
func lines(body string) []string {
	var all []string
	for _, line := range strings.Split(strings.ReplaceAll(body, "\\\n", " "), "\n") {
		if before, _, found := strings.Cut(line, " #"); found {
			line = before
		}
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			all = append(all, line)
		}
	}
	return all
}

// runLine runs what a person would type. What takes minutes is run shortened;
// make only says what it would do.
func runLine(t *testing.T, dir, line string) {
	t.Helper()
	args := strings.Fields(line)
	switch {
	case args[0] == "make":
		run(t, root, "make", append([]string{"--dry-run"}, args[1:]...)...)
	case strings.HasPrefix(line, "go run ./cmd/knownwater "):
		program(t, dir, args[3:])
	case args[0] == "knownwater":
		program(t, dir, args[1:])
	case strings.HasPrefix(line, "go run ./internal/"), strings.HasPrefix(line, "go test "):
		run(t, root, "go", "vet", "./"+strings.TrimPrefix(args[2], "./")) // it is there and builds; its own tests run it
	case strings.HasPrefix(line, "go build "), strings.HasPrefix(line, "go install "):
		run(t, root, "go", "vet", args[len(args)-1])
	default:
		t.Errorf("nobody told this test how to run %q", line)
	}
}

func run(t *testing.T, dir, name string, args ...string) {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
}

// program runs a command of ours; one that would go on serving ends instead.
func program(t *testing.T, dir string, args []string) {
	t.Helper()
	switch args[0] {
	case "demo":
		if indexOf(args, "--no-serve") < 0 {
			args = append(args, "--no-serve")
		}
	case "serve":
		serves(t, dir, append(args, "--listen", "127.0.0.1:0"))
		return
	}
	if i := indexOf(args, ">"); i >= 0 { // a shell would write the file
		out := knownwater(t, dir, args[:i]...)
		if err := os.WriteFile(filepath.Join(dir, args[i+1]), []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	knownwater(t, dir, args...)
}

// serves starts a server and ends it once it has been up for a while.
func serves(t *testing.T, dir string, args []string) {
	t.Helper()
	name, err := built()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	select {
	case err := <-ended:
		t.Errorf("knownwater %s ended by itself: %v", strings.Join(args, " "), err)
	case <-time.After(2 * time.Second):
		cmd.Process.Kill()
		<-ended
	}
}

func indexOf(list []string, s string) int {
	for i, v := range list {
		if v == s {
			return i
		}
	}
	return -1
}
