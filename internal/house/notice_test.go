package house

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// NOTICE names every module that the program, or a test of it, is built with.
func TestNoticeIsComplete(t *testing.T) {
	notice, err := os.ReadFile(filepath.Join("..", "..", "NOTICE"))
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for _, line := range strings.Split(string(notice), "\n") {
		if word, _, _ := strings.Cut(strings.TrimSpace(line), " "); strings.Contains(word, ".") {
			named[word] = true
		}
	}
	seen := map[string]bool{}
	for _, p := range list(t, "-deps", "-test", module+"/...") {
		if p.Module == nil || p.Module.Path == module || seen[p.Module.Path] {
			continue
		}
		seen[p.Module.Path] = true
		if !named[p.Module.Path] {
			t.Errorf("NOTICE does not name %s", p.Module.Path)
		}
	}
}
