package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// here says all that is wrong with the page that stands there, without opening
// it anew: for what a form answers.
func (p *Page) here(name string) {
	p.t.Helper()
	for _, s := range []Size{Phone, Desk} {
		p.Resize(s)
		p.Fits(name)
	}
	p.Accessible(name)
	p.Shots(file(name))
}

// fill types into fields, each named by its id.
func (p *Page) fill(pairs ...string) {
	p.t.Helper()
	for i := 0; i+1 < len(pairs); i += 2 {
		p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`{ const e = document.getElementById(%q); const d = e.closest("details"); if (d) d.open = true; }`, pairs[i])))
		p.Type("#"+pairs[i], pairs[i+1])
	}
}

// TestKnowns plans standards from an empty shelf, makes them with other amounts
// than planned, and lets a trial pick the values up.
func TestKnowns(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	b.Furnish(t)
	p := Start(t).Open(t, b.URL, Phone)
	for _, path := range []string{"/knowns", "/knowns/plan", "/knowns/compare", "/knowns/shelf/new?kind=stock", "/knowns/shelf/new?kind=water", "/knowns/shelf/new?kind=device"} {
		p.look("empty", path)
	}
	p.Go("/knowns")
	p.Follow("Add a stock")
	p.fill("name", "bottle A", "value", "1000")
	p.Follow("Put it on the shelf")
	p.Text("no stock is exact")
	p.here("refused-stock")
	p.ConsoleErrors() // a refused form is an error to a console
	p.fill("expanded", "6", "k", "2", "left", "250")
	p.Do(chromedp.Evaluate[chromedp.Void](`document.getElementById("expires").value = "2099-06-30"`))
	p.Follow("Put it on the shelf")
	p.Text("bottle A is on the shelf")
	p.Follow("Add a salt water")
	p.fill("name", "salt mix 7", "salinity", "35", "bg_value_0", "0.259", "bg_u_0", "0.028", "bg_how_0", "standard addition")
	p.Follow("Put it on the shelf")
	for _, d := range []map[string]string{{"name": "flask 250", "kind": "flask", "nominal": "250", "class": "A"}, {"name": "pipette 5", "kind": "piston pipette", "nominal": "5", "smallest": "0.5"},
		{"name": "scale", "kind": "scale", "nominal": "500", "step": "0.01"}} {
		p.Follow("Add a device")
		for _, field := range []string{"name", "kind", "nominal", "class", "smallest", "step"} {
			if d[field] != "" {
				p.fill(field, d[field])
			}
		}
		p.Follow("Put it on the shelf")
	}
	p.NoConsoleErrors()

	p.Follow("salt mix 7")
	p.Do(chromedp.Evaluate[chromedp.Void](`{ const m = document.getElementById("method"); m.selectedIndex = [...m.options].findIndex((o) => o.text.startsWith("Pocket display")); }`))
	p.fill("zero", "0.2", "u_zero", "0.02", "additions", "0 0.6\n0 0.2\n0 0.5\n2 2.1\n2 2.7\n4 4.1\n4 4.6")
	p.Follow("Estimate")
	p.Text("from 7 readings")
	p.here("additions")
	p.Go("/knowns")
	p.Follow("Plan standards")
	p.fill("levels", "0 0.6 3 12 40", "volume", "250", "salinity_cut", "5")
	p.Follow("Find the best way")
	p.Text("From bottle A, each level to within ± 0.85 %")
	p.Text("200 g scale with 0.001 g steps")
	p.here("planned-standards")
	p.fill("name", "spring set")
	p.Follow("Keep this plan")
	p.Text("each bottle has its code")
	p.look("planned", "/knowns/sets/1")
	p.look("planned", "/knowns/sets/1/sheet")
	if len(p.PDF("standards-sheet")) < 10_000 {
		t.Error("the sheet prints to nothing")
	}

	p.Go("/knowns/sets/1/made")
	p.look("planned", "/knowns/sets/1/made")
	p.Do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("input[name^=made_][type=checkbox]").forEach((e) => { e.checked = true; });
		document.querySelectorAll("input[name^=made_by_]").forEach((e) => { e.value = "Ines"; })`))
	p.fill("take_amount_S5", "a lot")
	p.Follow("Keep what was taken")
	p.Text("is no number")
	p.here("refused-amounts")
	p.ConsoleErrors()
	p.fill("take_amount_S5", "140.1", "note", "the bottle was nearly full")
	p.Follow("Keep what was taken")
	p.Text("follow what you took")
	p.Text("43.4")
	p.Text("40 was asked for")
	p.Press("#budget details:last-child summary")
	p.here("made-set")
	p.look("made", "/knowns")
	p.look("made", "/knowns/shelf/1")
	p.look("made", "/knowns/shelf/2")
	p.look("made", "/knowns/shelf/3")
	p.look("made", "/knowns/sets/1/made")
	p.look("made", "/knowns/sets/1?version=1")

	p.Go("/knowns/sets/1")
	p.Follow("Plan a trial")
	p.Text("the bottles bear codes")
	p.Text("43.4")
	p.Do(chromedp.Evaluate[chromedp.Void](`for (const n of ["methods", "readers", "needs"]) document.querySelectorAll("input[name=" + n + "]").forEach((b) => { b.checked = true; });
		document.querySelectorAll("input[name^=sigma0_]").forEach((e) => { e.value = "0.2"; })`))
	p.fill("replicates", "1", "sessions", "1", "standard_vials_S5", "2")
	p.Follow("Keep the plan")
	p.Text("The plan is kept")
	p.here("plan-with-set")
	p.Follow("Keep and seal it")
	p.Text("Sealed.")
	p.Follow("Show it to me")
	p.Text("From bottle")
	p.here("preparation-by-code")
	if text := JS[string](p, `document.querySelector("main").innerText`); strings.Contains(text, "43.4") || strings.Contains(text, "0.259") {
		t.Error("the preparation list tells a level")
	}
	p.NoConsoleErrors()

	// A second stock, and whether the two agree.
	p.Go("/knowns/shelf/new?kind=stock")
	p.fill("name", "bottle B", "value", "1000", "u", "3")
	p.Follow("Put it on the shelf")
	for _, stock := range []string{"1", "6"} {
		p.Go("/knowns/plan")
		p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector("input[name=stocks][value='%s']").checked = true`, stock)))
		p.fill("levels", "12", "volume", "250", "salinity_cut", "5")
		p.Follow("Find the best way")
		p.fill("name", "check of stock "+stock)
		p.Follow("Keep this plan")
	}
	p.Go("/knowns/compare")
	p.Do(chromedp.Evaluate[chromedp.Void](`for (const [id, n] of [["standard_first", "2/S1"], ["standard_second", "3/S1"]]) document.getElementById(id).value = n;`))
	p.fill("mean_first", "12.1", "u_first", "0.05", "mean_second", "12.0", "u_second", "0.05")
	p.Follow("Compare")
	p.Text("Undecided")
	p.here("compared")
	p.NoConsoleErrors()
}
