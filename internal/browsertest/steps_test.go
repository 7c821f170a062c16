package browsertest

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// rows are the readings that stand, as the owner sees them while the key is shut.
func (b *Bench) rows(t *testing.T, trial int64) []trials.Reading {
	t.Helper()
	rows, err := b.SealedReadings(context.Background(), owner, trial, trials.ReadingFilter{})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// setFirst types into the first visible field of a selector.
func setFirst(css, text string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`[...document.querySelectorAll(%q)].find((e) => e.offsetParent !== null).value = %q`, css, text))
}

// firstText is another reading than the first visible form's, of its kind.
func firstText(p *Page) string {
	p.t.Helper()
	now := JS[string](p, `[...document.querySelectorAll("input[name=text]")].find((e) => e.offsetParent !== null).value`)
	isCard := JS[bool](p, `[...document.querySelectorAll("input[name=text]")].find((e) => e.offsetParent !== null).closest("li").innerText.includes("Violet card")`)
	switch {
	case isCard && now == "5":
		return "10"
	case isCard:
		return "5"
	}
	return "5.1"
}

// firstCode is the code of the first reading in a table.
func (p *Page) firstCode() string {
	p.t.Helper()
	return JS[string](p, `document.querySelector("tbody th a.code").innerText`)
}

// recheck computes a published report again from what it carries.
func recheck(t *testing.T, text string) {
	t.Helper()
	d, err := report.Open(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	trial, err := intake.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		t.Fatal(err)
	}
	changes, err := d.Changes(assess.Run(trial, assess.Options{Seed: d.Seed, Version: d.Version}), trial, 6)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range changes {
		if i < 10 {
			t.Errorf("recheck: line %d: %s: %s", c.Row, c.Found(), c.Want())
		}
	}
}

// addScript runs script in every page of a tab before the page's own.
func addScript(ctx context.Context, script string) error {
	_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
	return err
}

// sealed plans a trial and seals it.
func (b *Bench) sealed(t *testing.T, p trials.Plan) trials.Trial {
	t.Helper()
	made, err := b.NewTrial(context.Background(), owner, p)
	if err != nil {
		t.Fatal(err)
	}
	if made, err = b.SealPlan(context.Background(), owner, made.ID); err != nil {
		t.Fatal(err)
	}
	return made
}

// reading is a phone of the first reader of a small trial, paired, and where
// the trial stands.
func reading(t *testing.T) (b *Bench, p *Page, trial trials.Trial, run string) {
	t.Helper()
	b = Serve(t, true)
	b.Furnish(t)
	trial = b.planSmall(t)
	return b, Start(t).pair(t, b, 1), trial, fmt.Sprintf("/trials/%d/run", trial.ID)
}
