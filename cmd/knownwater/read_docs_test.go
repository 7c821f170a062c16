package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every command that the how-to on reading shows runs on the demo's report.
func TestReadHowToRuns(t *testing.T) {
	dir := t.TempDir()
	program := func(args ...string) string {
		t.Helper()
		for i, a := range args {
			if fileName.MatchString(a) {
				args[i] = filepath.Join(dir, a)
			}
		}
		var out, errOut bytes.Buffer
		if got := run(context.Background(), args, strings.NewReader(""), &out, &errOut); got != exitDone {
			t.Errorf("%s: %s", strings.Join(args, " "), errOut.String())
		}
		return out.String()
	}
	program("demo", "--no-serve", "--dir", filepath.Join(dir, "demo"))
	dir = filepath.Join(dir, "demo")
	points := "level,signal\n0,0.011\n0,0.013\n2,0.17\n2,0.171\n5,0.41\n5,0.412\n10,0.81\n10,0.813\n"
	if err := os.WriteFile(filepath.Join(dir, "points.csv"), []byte(points), 0o644); err != nil {
		t.Fatal(err)
	}
	program("curve", "fit", "points.csv", "--out", "curve.json")
	text, err := os.ReadFile("../../docs/howto-read.md")
	if err != nil {
		t.Fatal(err)
	}
	ran := 0
	for line := range strings.Lines(string(text)) {
		if args := strings.Fields(line); len(args) > 3 && args[0] == "knownwater" && args[1] == "read" {
			if out := program(args[1:]...); !strings.Contains(out, "most likely") {
				t.Errorf("%s says %s", line, out)
			}
			ran++
		}
	}
	if ran < 3 {
		t.Errorf("%d commands ran", ran)
	}
}
