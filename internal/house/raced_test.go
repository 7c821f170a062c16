package house

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// sideBySide is what starts a goroutine, or is there because others do.
var sideBySide = regexp.MustCompile(`(?m)^\s*go |\.Go\(func|\bsync\.(Mutex|RWMutex|WaitGroup|Pool|Map|Once\b|Cond)|\batomic\.`)

// TestWhatRunsSideBySideIsRaced: the race detector of `make check` looks at every
// package of the program that starts or guards something, by tests of its own or of
// the pages it belongs to.
func TestWhatRunsSideBySideIsRaced(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "Makefile"))
	if err != nil {
		t.Fatal(err)
	}
	raced := strings.Fields(string(regexp.MustCompile(`(?m)^RACED = (.*)$`).Find(text)))
	found := 0
	for _, p := range list(t, "../../...") {
		if strings.HasPrefix(p.name(), "internal/") || strings.HasPrefix(p.name(), "cmd/") { // run by tests as programs
			continue
		}
		for _, f := range p.GoFiles {
			source, err := os.ReadFile(filepath.Join(p.Dir, f))
			if err != nil {
				t.Fatal(err)
			}
			if !sideBySide.Match(source) {
				continue
			}
			found++
			subject, _, _ := strings.Cut(p.name(), "/")
			if !slices.Contains(raced, "./"+p.name()) && !(subject == "web" && slices.Contains(raced, "./web")) {
				t.Errorf("%s/%s: something runs side by side, and the race stage of the Makefile does not look at it", p.name(), f)
			}
		}
	}
	if found < 8 {
		t.Errorf("only %d files found", found)
	}
}
