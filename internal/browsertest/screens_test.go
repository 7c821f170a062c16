package browsertest

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// TestScreens opens what an owner sees before a trial runs where it is not as TestTour
// finds it: empty pages, a method with steps and swatches, a plan on its way.
func TestScreens(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	for _, path := range []string{"/", "/trials", "/methods", "/methods/new", "/needs", "/people", "/copies", "/nowhere"} {
		p.look("empty", path)
	}
	b.Furnish(t)
	for _, path := range []string{"/methods/1", "/methods/1/change"} {
		p.look("furnished", path)
	}
	p.planInBrowser()
}

// planInBrowser plans a trial as a person does, up to the sealed vials.
func (p *Page) planInBrowser() {
	p.t.Helper()
	p.Go("/trials")
	p.Type("#title", "Card against display")
	p.Follow("Begin the plan")
	p.look("plan-begun", "/trials/1/plan")
	p.Type("#question", "Which of the two holds a low-nutrient tank?")
	for _, name := range []string{"methods", "readers", "needs"} {
		p.Do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("input[name=` + name + `]").forEach((b) => { b.checked = true; })`))
	}
	p.Follow("Propose levels")
	p.Text("Proposed, not kept yet")
	p.Shots("plan-proposed")
	p.Do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("input[name^=known_level_]").forEach((e, i) => { if (e.value) document.getElementById("known_u_" + i).value = "0.05"; })`))
	p.Do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("input[name^=sigma0_]").forEach((e) => { e.value = "0.2"; })`))
	p.Type("#replicates", "three")
	p.Follow("Keep, and make room")
	p.Text("is not a whole number") // refused, with what was typed
	p.ConsoleErrors()
	p.Type("#replicates", "3")
	p.Follow("Keep the plan")
	p.Follow("Simulate what it can decide")
	p.Text("simulated trials")
	p.look("plan", "/trials/1/plan?outlook=1")
	p.Go("/trials/1/plan")
	p.Follow("Keep and seal it")
	p.Text("Sealed.")
	p.Follow("Show it to me")
	p.Text("This is the key")
	p.Shots("preparation")
	p.Accessible("preparation")
	p.look("sealed", "/trials/1/sheet")
	p.look("sealed", "/trials/1/labels")
}

// look opens a page and says all that is wrong with it.
func (p *Page) look(when, path string) {
	p.t.Helper()
	name := when + path
	p.Go(path)
	for _, s := range []Size{Phone, Desk} {
		p.Resize(s)
		p.Fits(name)
	}
	p.Accessible(name)
	if path != "/nowhere" { // a missing page is an error to a console
		p.NoConsoleErrors()
	}
	p.ConsoleErrors()
	p.Shots(file(name))
}

func file(name string) string {
	out := []rune(name)
	for i, r := range out {
		if r == '/' || r == '?' || r == '=' {
			out[i] = '_'
		}
	}
	return string(out)
}
