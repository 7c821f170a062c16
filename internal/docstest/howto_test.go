package docstest

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// elsewhere are commands of how-tos that cannot run in a fresh folder, with the reason.
var elsewhere = map[string]string{
	"knownwater read card.json --reading 6..12 --reader Ines":    "the card comes from a page of the bench; browsertest takes one along",
	"knownwater choose spring.html autumn.html --need need.toml": "two reports of one's own",
	"knownwater agree pack.zip other.zip":                        "packs of two benches; judge/pack.txtar compares some",
}

// A how-to's commands stand in blocks of sh and console, in lines that are indented, and in
// running text, where those count that name a file.
var (
	indented   = regexp.MustCompile(`^(?:    |       )((?:knownwater|cd) .*)$`)
	inText     = regexp.MustCompile("`((?:knownwater|cd) [^`]+)`")
	namedFile  = regexp.MustCompile(`^# ([\w-]+\.\w+)\n`)
	givesAFile = regexp.MustCompile(`[\w-]\.(csv|toml|html|json|db|zip|xlsx)\b|^cd |samples |…`)
)

// step is a file to be written or a command to be run.
type step struct{ file, body, command string }

// steps cuts a how-to up, in the order of the page.
func steps(page string) (all []step) {
	page = strings.ReplaceAll(page, "\r", "")
	at := 0
	for _, m := range fence.FindAllStringSubmatchIndex(page, -1) {
		all = append(all, textSteps(page[at:m[0]])...)
		language, info, body := page[m[2]:m[3]], strings.TrimSpace(page[m[4]:m[5]]), page[m[6]:m[7]]
		at = m[1]
		switch named := namedFile.FindStringSubmatch(body); {
		case language == "sh":
			for _, line := range lines(body) {
				all = append(all, step{command: line})
			}
		case language == "console":
			command, _, _ := strings.Cut(body, "\n")
			all = append(all, step{command: strings.TrimPrefix(command, "$ ")})
		case filepath.Ext(info) != "":
			all = append(all, step{file: info, body: body})
		case named != nil && language == "csv": // a comment is no row
			all = append(all, step{file: named[1], body: strings.TrimPrefix(body, named[0])})
		case named != nil:
			all = append(all, step{file: named[1], body: body})
		}
	}
	return append(all, textSteps(page[at:])...)
}

func textSteps(text string) (all []step) {
	for _, paragraph := range strings.Split(text, "\n\n") {
		block := false
		for _, line := range strings.Split(paragraph, "\n") {
			if m := indented.FindStringSubmatch(line); m != nil {
				all, block = append(all, step{command: m[1]}), true
			}
		}
		if block {
			continue
		}
		for _, m := range inText.FindAllStringSubmatch(strings.ReplaceAll(paragraph, "\n", " "), -1) {
			if givesAFile.MatchString(m[1]) {
				all = append(all, step{command: strings.Join(strings.Fields(m[1]), " ")})
			}
		}
	}
	return all
}

// Every command and file of every how-to works as it is printed, in a fresh folder, typed
// into a shell.
func TestHowTos(t *testing.T) {
	pages, err := filepath.Glob(filepath.Join(root, "docs", "howto-*.md"))
	if err != nil || len(pages) < 12 {
		t.Fatal("no how-tos", err)
	}
	name, err := built()
	if err != nil {
		t.Fatal(err)
	}
	ran := 0
	for _, page := range pages {
		dir := t.TempDir()
		for _, s := range steps(read(t, page)) {
			if s.file != "" {
				if err := os.WriteFile(filepath.Join(dir, s.file), []byte(s.body), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			if _, not := elsewhere[s.command]; not || strings.Contains(s.command, "…") { // … stands for what the reader fills in
				continue
			}
			ran++
			if to, isCD := strings.CutPrefix(s.command, "cd "); isCD {
				dir = filepath.Join(dir, to)
				continue
			}
			once(t, dir, s.command, func() string { return typed(t, filepath.Base(page), dir, filepath.Dir(name), s.command) })
			if s.command == "knownwater samples practice" {
				lessOf(t, filepath.Join(dir, "practice", "readings.csv"))
			}
		}
	}
	t.Logf("%d commands", ran)
	if ran < 45 {
		t.Errorf("only %d commands ran", ran)
	}
}

// lessOf leaves a trial of practice two of its methods, as seven commands judge it, each for itself; the
// tutorial's judge the whole.
func lessOf(t *testing.T, readings string) {
	t.Helper()
	rows := strings.SplitAfter(read(t, readings), "\n")
	left := slices.DeleteFunc(slices.Clone(rows[1:]), func(row string) bool {
		return !strings.HasPrefix(row, "Cedar,") && !strings.HasPrefix(row, "Dogwood,")
	})
	if len(left) < 200 || len(left) > len(rows)/2 {
		t.Fatalf("%d rows of Cedar and Dogwood among %d", len(left), len(rows)-1)
	}
	if err := os.WriteFile(readings, []byte(rows[0]+strings.Join(left, "")), 0o644); err != nil {
		t.Fatal(err)
	}
}

// typed runs a line as a person types it, and gives what it printed; a server is up for a moment.
func typed(t *testing.T, page, dir, path, line string) string {
	t.Helper()
	serves := strings.HasPrefix(line, "knownwater serve")
	if serves {
		line = strings.ReplaceAll(line, ":8484", ":0") // a port that is free here
		if !strings.Contains(line, "--listen") {
			line += " --listen 127.0.0.1:0"
		} else if !strings.Contains(line, "--passphrase-file") {
			line += " --passphrase-file -" // typed at a terminal, where it is asked for
		}
	}
	cmd := exec.Command("sh", "-c", "exec "+line)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "PATH="+path+string(os.PathListSeparator)+os.Getenv("PATH"))
	cmd.Stdin = strings.NewReader("plain words stay long\n")
	var out, errOut strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &errOut
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if serves {
		time.AfterFunc(time.Second, func() { cmd.Process.Signal(os.Interrupt) })
	}
	if err := cmd.Wait(); err != nil && !(serves && cmd.ProcessState.ExitCode() == 130) {
		t.Errorf("%s: %s: %v\n%s%s", page, line, err, out.String(), errOut.String())
	}
	return out.String()
}
