package wording_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"knownwater/wording"
)

// german are the sources of the three screens that are German, and of the page on which it is
// chosen. What people see of them is looked at in a browser, too (internal/browsertest, TestGerman…).
var german = []string{
	"../web/page/layout.html", "../web/page/refused.html", "../web/shown.html", // the frame
	"../web/trials/run.html", "../web/trials/run.go", "../web/assets/run/*.js", "../bench/trials/newreading.go", "../science/reading/notation.go", // the run screen, and what it refuses
	"../web/trials/findings.html", "../web/trials/findings.go", "../web/trials/answer.go", "../web/trials/working.html", "../report/page/answer.gohtml", "../report/answer*.go", "../report/asking.go", "../report/folds.go", "../report/biaswords.go", "../report/questions.go",
	"../web/waters/card.html", "../web/waters/card.go", // the counter card
}

// foldedStill are sentences of those sources that stand in English: below the first screen, or
// on a terminal only.
var foldedStill = []string{"straight lines without any scatter pass through all the readings; their slopes go from {1} to {2}"}

// Whoever adds a sentence to a screen that is German adds its German, or says that it may wait.
func TestGermanIsWhole(t *testing.T) {
	de := wording.In("de")
	for _, pattern := range german {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatal(pattern, err)
		}
		for _, name := range names {
			for _, m := range messagesOf(t, name) {
				if !de.Has(m) && !slices.Contains(foldedStill, m) && !strings.HasPrefix(m, "no ") {
					t.Errorf("%s says %q, which wording/de.tsv has not: add a line, the sentence, a tab, its German", filepath.Base(name), m)
				}
			}
		}
	}
}
