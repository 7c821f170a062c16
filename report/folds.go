package report

import (
	"fmt"
	"html/template"
	"strings"
)

// Link is a place on the page, for the list of its contents.
type Link struct{ ID, Name string }

// foldView is a part of the page that is folded until it is wanted.
type foldView struct {
	Link
	Holds string // what is in it, in few words
	Body  template.HTML
}

// folds are what stands below the answer, by the templates that make it up.
var folds = []struct {
	Link
	holds string
	parts []string
}{
	{Link{"f-verdicts", "Each method for each need"}, "verdicts in sentences, error along the need, what would settle it", []string{"verdicts", "along", "settle"}},
	{Link{"f-levels", "Level by level"}, "every reading on its ladder; bias and scatter", []string{"ladder", "levels"}},
	{Link{"f-apart", "What each tells apart"}, "the smallest rise that shows", []string{"apart"}},
	{Link{"f-limits", "The least each can see"}, "detection, the line of its response", []string{"limits", "response"}},
	{Link{"f-hands", "Readers and technique"}, "who reads high, what haste does", []string{"hands"}},
	{Link{"f-readback", "Every reading turned round"}, "what each reading really says", []string{"readback"}},
	{Link{"f-asked", "All questions"}, "open and answered", []string{"questions"}},
	{Link{"f-trial", "How the trial was run"}, "what was left out, and why", []string{"story"}},
	{Link{"f-how", "How this was computed"}, "where it comes from, remarks, what to mind", []string{"facts", "how", "mind"}},
}

// fold fills the folded parts and the list of contents; a part in which nothing
// stands is not there.
func (p *pageView) fold() error {
	a := p.Answer
	for _, l := range []struct {
		Link
		there bool
	}{
		{Link{"open", "Questions first"}, len(a.Open) > 0},
		{Link{"use", "Which to use"}, len(a.Rows) > 0},
		{Link{"says", "What its number says"}, a.Says != nil},
		{Link{"untried", "What was not tried"}, len(a.Untried) > 0},
		{Link{"next", "Next"}, len(a.Next) > 0},
	} {
		if l.there {
			p.Rail = append(p.Rail, l.Link)
		}
	}
	for _, f := range folds {
		var b strings.Builder
		for _, part := range f.parts {
			if err := pages.ExecuteTemplate(&b, part, p); err != nil {
				return fmt.Errorf("writing %s: %w", part, err)
			}
		}
		if body := strings.TrimSpace(b.String()); body != "" {
			p.Folds = append(p.Folds, foldView{Link: f.Link, Holds: f.holds, Body: template.HTML(body)})
		}
	}
	return nil
}
