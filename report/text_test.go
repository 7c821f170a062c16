package report

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with a file in testdata, or writes it with -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		t.Errorf("%s differs; look at it with -update and git diff", path)
	}
}

func TestTextGolden(t *testing.T) {
	f, trial := fixture()
	golden(t, "findings.txt", Text(f, trial, Options{}))
	golden(t, "findings-narrow.txt", Text(f, trial, Options{Width: 60}))
	golden(t, "findings-full.txt", Text(f, trial, Options{Full: true}))
}
