// Command mutate asks whether the tests of a package would notice a mistake: it makes small
// mistakes in the package, one at a time (a sign, a comparison, a condition, a constant, a
// call left out), and runs the tests on each. A mistake that no test notices survived.
//
//	go run ./internal/mutate [-n 50] [-seed 1] [-only levels.go] ./science/record [./science/assess -run=X …]
//
// The package's own short tests run first, then those named after it; flags of go test
// belong to the package before them. No file is changed: the go command is handed the
// mistake as an overlay. Which mistakes are made depends on the seed and on the function
// each stands in, not on what stands elsewhere, so that a run can be compared with
// one after the tests, or another file, were mended. Mistakes that cannot be noticed, because
// the program does the same or nearly, are named in explained.txt with the reason, and
// counted by themselves.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func run(args []string, out io.Writer) error {
	flags := flag.NewFlagSet("mutate", flag.ContinueOnError)
	n := flags.Int("n", 50, "mistakes that are tried, of those that compile")
	seed := flags.Uint64("seed", 1, "which")
	only := flags.String("only", "", "only mistakes whose name holds this: a file's or a function's, say")
	list := flags.Bool("list", false, "only list them")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() == 0 {
		return errors.New("which package? ./science/record, say")
	}
	dir := filepath.Clean(flags.Arg(0))
	all, err := mistakes(dir, *only)
	if err != nil {
		return err
	}
	reasons, err := explained("internal/mutate/explained.txt")
	if err != nil {
		return err
	}
	shuffle(all, *seed)
	if *list {
		for _, m := range all[:min(*n, len(all))] {
			fmt.Fprintln(out, m)
		}
		return nil
	}
	work, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	t := trial{work: work, dir: dir, tests: testsOf(dir, flags.Args()[1:]), patience: 10 * time.Minute}
	start := time.Now()
	if how := t.runs(""); how != "" {
		return fmt.Errorf("%s fails without any mistake", how)
	}
	t.patience = time.Minute + 10*time.Since(start)
	noticed, known, survived := 0, 0, 0
	for _, m := range all {
		if noticed+known+survived == *n {
			break
		}
		how, err := t.of(m)
		if err != nil {
			return err
		}
		why := reasons[m.String()]
		switch {
		case how == notBuilt:
			continue
		case how != "":
			noticed++
			fmt.Fprintf(out, "noticed by %s: %s\n", how, m)
			if why != "" {
				fmt.Fprintln(out, "  (explained.txt says that it cannot be)")
			}
		case why != "":
			known++
			fmt.Fprintf(out, "explained: %s: %s\n", m, why)
		default:
			survived++
			fmt.Fprintf(out, "SURVIVED: %s\n", m)
		}
	}
	_, err = fmt.Fprintf(out, "%s: %d mistakes, %d noticed, %d survive with a reason, %d without\n", dir, noticed+known+survived, noticed, known, survived)
	return err
}

// testsOf splits arguments into packages, each with the flags that follow it.
func testsOf(dir string, args []string) (tests [][]string) {
	tests = [][]string{{"./" + dir}}
	for _, a := range args {
		if strings.HasPrefix(a, "-") {
			tests[len(tests)-1] = append(tests[len(tests)-1], a)
		} else {
			tests = append(tests, []string{a})
		}
	}
	return tests
}

// trial runs tests on mistakes in one package.
type trial struct {
	work, dir string
	tests     [][]string
	patience  time.Duration // a test that takes longer found a loop without end
}

const notBuilt = "the compiler"

// of says what noticed a mistake: notBuilt, a package of tests, or nothing.
func (t trial) of(m mistake) (how string, err error) {
	src, err := os.ReadFile(m.file)
	if err != nil {
		return "", err
	}
	wrong := filepath.Join(t.work, "wrong.go")
	if err := os.WriteFile(wrong, m.in(src), 0o600); err != nil {
		return "", err
	}
	whole, err := filepath.Abs(m.file)
	if err != nil {
		return "", err
	}
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {whole: wrong}})
	if err != nil {
		return "", err
	}
	place := filepath.Join(t.work, "overlay.json")
	if err := os.WriteFile(place, overlay, 0o600); err != nil {
		return "", err
	}
	if exec.Command("go", "build", "-overlay", place, "./"+t.dir).Run() != nil {
		return notBuilt, nil
	}
	return t.runs(place), nil
}

// runs is the first package whose tests fail with an overlay; empty where all pass. A test
// that came to no end is said so: on a machine that is busy enough it noticed nothing.
func (t trial) runs(overlay string) string {
	for _, test := range t.tests {
		// never from the cache: how long the tests take says when a mistake has no end
		args := []string{"test", "-short", "-count=1", "-vet=off", "-failfast", "-timeout", t.patience.String()}
		if overlay != "" {
			args = append(args, "-overlay", overlay)
		}
		said, err := exec.Command("go", append(append(args, test[1:]...), test[0])...).CombinedOutput()
		if err != nil && bytes.Contains(said, []byte("panic: test timed out")) {
			return fmt.Sprintf("%s, which had no end within %v", test[0], t.patience.Round(time.Second))
		}
		if err != nil {
			return test[0]
		}
	}
	return ""
}

// explained reads the mistakes that cannot be noticed: a line for each, " = " and why.
func explained(file string) (map[string]string, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	reasons := map[string]string{}
	for i, line := range bytes.Split(text, []byte("\n")) {
		s := string(line)
		if strings.TrimSpace(s) == "" || strings.HasPrefix(s, "#") {
			continue
		}
		at := strings.LastIndex(s, " = ")
		if at < 0 {
			return nil, fmt.Errorf("%s:%d: a mistake, then \" = \" and why it cannot be noticed", file, i+1)
		}
		reasons[s[:at]] = strings.TrimSpace(s[at+3:])
	}
	return reasons, nil
}
