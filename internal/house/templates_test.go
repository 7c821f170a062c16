package house

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// widest is how long a line of a template may be, so that a diff says something.
const widest = 160

// sameLine are two blocks beside each other that belong on lines of their own.
var sameLine = regexp.MustCompile(`</(?:p|li|tr|div|section|ul|ol|table|form|h[1-4])>(?:\{\{end\}\})*<(?:p|li|tr|div|section|ul|ol|table|form|h[1-4])[ >]`)

// Templates are broken at block elements.
func TestTemplatesAreBrokenAtBlocks(t *testing.T) {
	seen := 0
	for _, pattern := range []string{"web/*.html", "web/*/*.html", "report/page/*.gohtml"} {
		names, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(pattern)))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			b, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			seen++
			for i, l := range strings.Split(string(b), "\n") {
				if n := utf8.RuneCountInString(l); n > widest {
					t.Errorf("%s:%d is %d characters long, want at most %d", name, i+1, n, widest)
				}
				if m := sameLine.FindString(l); m != "" && strings.HasSuffix(name, ".html") { // the report's tables stand a row a line
					t.Errorf("%s:%d has two blocks beside each other: %s", name, i+1, m)
				}
			}
		}
	}
	if seen < 40 {
		t.Errorf("only %d templates were found", seen)
	}
}
