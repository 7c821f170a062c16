package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

// Every command that the how-tos on curves show runs, in the order of the page,
// on files of the scripts under the names that the page uses.
func TestCurveHowTosRun(t *testing.T) {
	archive, err := txtar.ParseFile("testdata/curve/more.txtar")
	if err != nil {
		t.Fatal(err)
	}
	fit, err := txtar.ParseFile("testdata/curve/fit.txtar")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	as := map[string]string{"dog.csv": "points.csv", "need.toml": "need.toml", "spectra.csv": "spectra.csv", "fresh.csv": "pure.csv", "salt.csv": "salt.csv", "adds.csv": "tank.csv"}
	for _, f := range append(archive.Files, fit.Files...) {
		if name, ok := as[f.Name]; ok {
			if err := os.WriteFile(filepath.Join(dir, name), f.Data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	display := "level,signal,role\n0,2.4,fit\n0,2.3,fit\n0,2.4,fit\n3,3.2,fit\n3,3.1,fit\n6,4.9,fit\n6,4.8,fit\n12,8.2,fit\n12,8.3,fit\n9,6.4,check\n"
	if err := os.WriteFile(filepath.Join(dir, "display.csv"), []byte(display), 0o644); err != nil {
		t.Fatal(err)
	}
	ran := 0
	for _, page := range []string{"howto-curve.md", "howto-wrong-program.md"} {
		text, err := os.ReadFile("../../docs/" + page)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(strings.ReplaceAll(string(text), "`", "\n")) {
			args := strings.Fields(line)
			if len(args) < 4 || args[0] != "knownwater" || args[1] != "curve" {
				continue
			}
			for i, a := range args {
				if fileName.MatchString(a) {
					args[i] = filepath.Join(dir, a)
				}
			}
			var out, errOut bytes.Buffer
			if got := run(context.Background(), args[1:], strings.NewReader(""), &out, &errOut); got != exitDone {
				t.Errorf("%s: %s\n%s", page, strings.TrimSpace(line), errOut.String())
			}
			ran++
		}
	}
	if ran < 11 {
		t.Errorf("%d commands ran", ran)
	}
}
