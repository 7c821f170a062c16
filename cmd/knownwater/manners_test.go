package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
	"github.com/rogpeppe/go-internal/testscript"

	"knownwater"
)

// How commands behave: what they read and write, what they take, what they answer.
func TestMannersScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/manners", Cmds: scriptCommands})
}

// everyCommand gives the words of each command that people see.
func everyCommand(t *testing.T) (all [][]string) {
	t.Helper()
	parser, err := kong.New(&commands{}, kong.NamedMapper("file", kong.MapperFunc(fileMapper)), kong.NamedMapper("bench", kong.MapperFunc(benchMapper)))
	if err != nil {
		t.Fatal(err)
	}
	var walk func(n *kong.Node, words []string)
	walk = func(n *kong.Node, words []string) {
		all = append(all, words)
		for _, child := range n.Children {
			if !child.Hidden {
				walk(child, append(words[:len(words):len(words)], child.Name))
			}
		}
	}
	walk(parser.Model.Node, nil)
	return all
}

// Every command's help names its values, fits the width, and needs no manual to be read.
func TestHelpOfEveryCommand(t *testing.T) {
	types := regexp.MustCompile(`=(STRING|INT|INT64|UINT64|FLOAT64|BOOL)\b|\b(string|float64|uint64)\b`)
	all := everyCommand(t)
	if len(all) < 25 {
		t.Fatalf("only %d commands", len(all))
	}
	t.Setenv("COLUMNS", "72")
	for _, words := range all {
		var out, errOut bytes.Buffer
		if got := run(context.Background(), append(words, "--help"), strings.NewReader(""), &out, &errOut); got != exitDone || errOut.Len() > 0 {
			t.Errorf("%v --help ends with %d: %s", words, got, &errOut)
		}
		text := out.String()
		if m := types.FindString(text); m != "" {
			t.Errorf("%v --help names a value by its type: %s", words, m)
		}
		for line := range strings.Lines(text) {
			if len([]rune(line)) > 73 && strings.Contains(strings.TrimSpace(line), " ") && !strings.HasSuffix(line, "[flags]\n") {
				t.Errorf("%v --help is wider than 72: %q", words, line)
			}
		}
		if strings.ContainsRune(text, '\033') {
			t.Errorf("%v --help has colours where no terminal is", words)
		}
	}
}

// A shell that was given the completion offers what the program knows.
func TestCompletionInBash(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("no bash here")
	}
	dir := t.TempDir()
	// the test program is the command
	put(t, filepath.Join(dir, "knownwater"), fmt.Sprintf("#!/bin/sh\nKNOWNWATER_RUN=1 exec %q \"$@\"\n", os.Args[0]), 0o755)
	put(t, filepath.Join(dir, "two words.csv"), "", 0o644)
	put(t, filepath.Join(dir, "c.bash"), completions["bash"], 0o644)
	ask := func(words ...string) string {
		t.Helper()
		var quoted []string
		for _, w := range append([]string{"knownwater"}, words...) {
			quoted = append(quoted, "'"+w+"'")
		}
		cmd := exec.Command(bash, "-c", fmt.Sprintf(`source ./c.bash; COMP_WORDS=(%s); COMP_CWORD=%d; _knownwater; printf '%%s\n' "${COMPREPLY[@]}"`, strings.Join(quoted, " "), len(words)))
		cmd.Dir, cmd.Env = dir, append(os.Environ(), "PATH="+dir+":"+os.Getenv("PATH"))
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %v\n%s", words, err, out)
		}
		return strings.TrimSpace(string(out))
	}
	for _, c := range []struct {
		words []string
		want  string
	}{
		{[]string{"ass"}, "assess"},
		{[]string{"curve", "fit", "--shape", "=", "sat"}, "saturating"},
		{[]string{"assess", "two"}, "two words.csv"},
		{[]string{"assess", "x.csv", "--ful"}, "--full"},
		{[]string{"nonsense", "x"}, ""},
	} {
		if got := ask(c.words...); got != c.want {
			t.Errorf("bash completes %q by %q, want %q", c.words, got, c.want)
		}
	}
}

// Lines end between words, what follows stands in as far, tables stay whole.
func TestFolding(t *testing.T) {
	var out bytes.Buffer
	f := &folding{to: &out, width: 30}
	fmt.Fprint(f, "  the first words of a line that is longer th")
	fmt.Fprint(f, "an thirty\n- an entry of a list that goes on and on\na  table  whose row is longer than thirty\nµµµµµµµµµ µµµµµµµµµµ µµµµµµµµµ\nhttp://an-address-without-a-blank-in-it\nrest")
	f.flush()
	want := "  the first words of a line\n  that is longer than thirty\n- an entry of a list that goes\n  on and on\na  table  whose row is longer than thirty\nµµµµµµµµµ µµµµµµµµµµ µµµµµµµµµ\nhttp://an-address-without-a-blank-in-it\nrest"
	if out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", out.String(), want)
	}
}

// Only the place of a fault stands out, and only where colours are on.
func TestFaultsInColour(t *testing.T) {
	fs := knownwater.Faults{{File: "a.csv", Row: 3, Column: "level", Found: `"x"`, Want: "a number"}, {Found: "nothing"}}
	if got := (style{}).faults(fs); got != "a.csv:3:level: \"x\": a number\nnothing" {
		t.Errorf("without colour: %q", got)
	}
	if got := (style{true}).faults(fs); got != "\033[1ma.csv:3:level:\033[0m \"x\": a number\nnothing" {
		t.Errorf("with colour: %q", got)
	}
	if colourOn(&bytes.Buffer{}, func(string) string { return "" }) {
		t.Error("a buffer is no terminal")
	}
}

// What takes over a second says so; what is written takes the line away first.
func TestProgress(t *testing.T) {
	var out bytes.Buffer
	p := startProgress(&out, true, false)
	close(p.stop) // the test looks at the clock itself
	began := p.began
	show := p.stage("assessing")
	p.tell(began.Add(patience - 1))
	if out.Len() > 0 {
		t.Errorf("spoke too early: %q", out.String())
	}
	show(3, 10)
	p.tell(began.Add(2 * time.Second))
	fmt.Fprint(clearing{&out, p}, "done\n")
	if got, want := out.String(), "\r\033[Kassessing: 3 of 10, 2 s\r\033[Kdone\n"; got != want {
		t.Errorf("a terminal gets %q, want %q", got, want)
	}
	out.Reset()
	p = startProgress(&out, false, true)
	close(p.stop)
	p.tell(p.began.Add(2 * time.Second))
	p.tell(p.began.Add(3 * time.Second))
	p.tell(p.began.Add(2*time.Second + between))
	p.clear()
	if got, want := out.String(), "working: 2 s\nworking: 7 s\n"; got != want {
		t.Errorf("a file gets %q, want %q", got, want)
	}
	out.Reset()
	p = startProgress(&out, false, false)
	p.tell(p.began.Add(time.Minute))
	p.end()
	if out.Len() > 0 {
		t.Errorf("nobody asked: %q", out.String())
	}
}
