package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"knownwater/intake"
)

// The how-to's files and commands, run as they stand there. A toml or csv block
// begins with a comment that names its file; a console block holds a command
// and what it prints (a last line of … means: and more).
func TestHowtoStandards(t *testing.T) {
	raw, err := os.ReadFile("../../docs/howto-standards.md")
	if err != nil {
		t.Fatal(err)
	}
	old := today
	today = func() time.Time { return time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC) }
	defer func() { today = old }()
	t.Chdir(t.TempDir())
	ran := 0
	for i, block := range strings.Split(string(raw), "```") {
		if i%2 == 0 {
			continue
		}
		language, body, _ := strings.Cut(block, "\n")
		switch language {
		case "toml", "csv":
			first, rest, _ := strings.Cut(body, "\n")
			if name := strings.TrimPrefix(first, "# "); filepath.Ext(name) != "" {
				if language == "toml" {
					rest = body
				}
				if err := os.WriteFile(name, []byte(rest), 0o600); err != nil {
					t.Fatal(err)
				}
			}
		case "console":
			command, want, _ := strings.Cut(body, "\n")
			checkExample(t, command, want)
			ran++
		}
	}
	if ran < 4 {
		t.Errorf("only %d commands found", ran)
	}
}

func checkExample(t *testing.T, command, want string) {
	t.Helper()
	args, found := strings.CutPrefix(command, "$ knownwater ")
	if !found {
		t.Fatalf("not a command: %q", command)
	}
	var out, errOut bytes.Buffer
	run(context.Background(), strings.Fields(args), strings.NewReader(""), &out, &errOut)
	got := tidy(out.String() + errOut.String())
	want, more := strings.CutSuffix(tidy(want), "\n…")
	if got != want && !(more && strings.HasPrefix(got, want)) {
		t.Errorf("%s prints\n%s\nthe how-to says\n%s", command, got, want)
	}
}

// tidy leaves out blanks at the ends of lines, and the folder.
func tidy(s string) string {
	var out []string
	for _, line := range strings.Split(strings.TrimSpace(s), "\n") {
		out = append(out, strings.TrimRight(line, " "))
	}
	dir, _ := os.Getwd()
	return strings.ReplaceAll(strings.Join(out, "\n"), dir+string(filepath.Separator), "")
}

// The example files of the format page are good files.
func TestFormatExamples(t *testing.T) {
	raw, err := os.ReadFile("../../docs/formats-knowns.md")
	if err != nil {
		t.Fatal(err)
	}
	var blocks []string
	for i, block := range strings.Split(string(raw), "```") {
		if text, found := strings.CutPrefix(block, "toml\n"); found && i%2 == 1 {
			blocks = append(blocks, text)
		}
	}
	if len(blocks) != 2 {
		t.Fatalf("%d examples", len(blocks))
	}
	shelf, _, err := intake.Shelf(intake.Source{Name: "shelf.toml", Data: []byte(blocks[0])}, time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := intake.ReadPrepared(intake.Source{Name: "prepared.toml", Data: []byte(blocks[1])}, shelf); err != nil {
		t.Error(err)
	}
}
