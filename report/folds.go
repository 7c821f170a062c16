package report

import (
	"fmt"
	"html/template"
	"knownwater/wording"
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
	{Link{"f-verdicts", wording.Key("Each method for each need")}, wording.Key("verdicts in sentences, error along the need, what would settle it"), []string{"verdicts", "along", "settle"}},
	{Link{"f-levels", wording.Key("Level by level")}, wording.Key("every reading on its ladder; bias and scatter"), []string{"ladder", "levels"}},
	{Link{"f-apart", wording.Key("What each tells apart")}, wording.Key("the smallest rise that shows"), []string{"apart"}},
	{Link{"f-limits", wording.Key("The least each can see")}, wording.Key("detection, the line of its response"), []string{"limits", "response"}},
	{Link{"f-hands", wording.Key("Readers and technique")}, wording.Key("who reads high, what haste does"), []string{"hands"}},
	{Link{"f-readback", wording.Key("Every reading turned round")}, wording.Key("what each reading really says"), []string{"readback"}},
	{Link{"f-asked", wording.Key("All questions")}, wording.Key("open and answered"), []string{"questions"}},
	{Link{"f-trial", wording.Key("How the trial was run")}, wording.Key("what was left out, and why"), []string{"story"}},
	{Link{"f-how", wording.Key("How this was computed")}, wording.Key("where it comes from, remarks, what to mind"), []string{"facts", "how", "mind"}},
}

// fold fills the folded parts and the list of contents; a part in which nothing
// stands is not there.
func (p *pageView) fold() error {
	a := p.Answer
	for _, l := range []struct {
		Link
		there bool
	}{
		{Link{"open", wording.Key("Questions first")}, len(a.Open) > 0},
		{Link{"use", wording.Key("Which to use")}, len(a.Rows) > 0},
		{Link{"says", wording.Key("What its number says")}, a.Says != nil},
		{Link{"untried", wording.Key("What was not tried")}, len(a.Untried) > 0},
		{Link{"next", wording.Key("Next")}, len(a.Next) > 0},
	} {
		if l.there {
			p.Rail = append(p.Rail, Link{l.ID, p.in.Say(l.Name)})
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
			if !p.in.English() { // what is folded is in English
				body = `<div lang="en">` + body + `</div>`
			}
			p.Folds = append(p.Folds, foldView{Link: Link{f.ID, p.in.Say(f.Name)}, Holds: p.in.Say(f.holds), Body: template.HTML(body)})
		}
	}
	return nil
}
