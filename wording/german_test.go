package wording

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The screens that are German: every message of their templates and scripts is translated.
// Sentences that Go puts on them are seen by a browser (internal/browsertest, TestGerman…).
func TestGermanIsWhole(t *testing.T) {
	de := In("de")
	for _, pattern := range []string{"../web/page/layout.html", "../web/page/refused.html", "../web/trials/run.html", "../web/waters/card.html", "../web/assets/run/*.js", "../web/shown.html"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatal(pattern, err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			list := Messages(string(data))
			if strings.HasSuffix(name, ".js") {
				list = ScriptMessages(string(data))
			}
			for _, m := range list {
				if !de.Has(m) {
					t.Errorf("%s: %q is not in German", name, m)
				}
			}
		}
	}
}
