package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestCurves fits a curve, leaves a point out with a reason, reads its checks,
// makes a table, takes it into use, reads a signal back, keeps the result, sees it
// beside what another version says, and corrects it. All invented.
func TestCurves(t *testing.T) {
	b := Serve(t, false)
	b.Furnish(t)
	p := Start(t).Open(t, b.URL, Phone)
	p.look("empty", "/curves")
	p.look("empty", "/curves/new")
	p.Go("/curves")
	p.Follow("New curve")
	points := "level;signal;u_level;role\\n"
	for i, level := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 9, 12} {
		role := map[bool]string{true: "check", false: "fit"}[level == 3 || level == 9]
		for k := range 3 {
			points += fmt.Sprintf("%g;%.4f;%.3f;%s\\n", level, 0.012+0.068*level-0.0007*level*level+0.001*float64((i+k)%3-1), 0.005+0.004*level, role)
		}
	}
	set := func(id, text string) {
		p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.getElementById(%q).value = "%s"`, id, text)))
	}
	p.fill("name", "bench photometer", "lot", "R7", "matrix", "salt mix, salinity 35")
	set("points", "2 0.15\\n2 much")
	p.Follow("Keep and fit")
	p.Text("line 2")
	p.here("refused-curve")
	p.ConsoleErrors() // a refused form is an error to a console
	set("points", points)
	set("need", "1")
	p.Follow("Keep and fit")
	p.Text("Version 1 reads nitrate")
	p.Text("Judged by 2 knowns")
	p.here("fitted-curve")
	set("point", "5")
	p.fill("why-point", "a bubble in the cell")
	p.Follow("Make that version")
	p.Text("23 vials")
	p.Text("a bubble in the cell")
	p.here("curve-without-a-point")
	p.Follow("For an instrument")
	p.Text("It should show")
	p.here("curve-table")
	p.Go("/curves/1")
	p.Follow("Take version 2 into use")
	p.Text("2, in use")
	p.Follow("Read a signal")
	p.fill("signals", "0.3345 0.3349")
	p.Follow("Read it")
	p.Text("The water holds")
	p.here("curve-read")
	p.Follow("Keep this result")
	p.Text("few words") // it has no name yet
	p.here("result-without-a-water")
	p.ConsoleErrors()
	p.fill("water", "north tank", "note", "before feeding")
	p.Follow("Keep this result")
	p.Text("Kept: north tank")
	p.Text("version 2, in use, says")
	p.here("curve-with-results")
	p.Go("/curves/1?version=1")
	p.fill("why-adopt", "the bubble was none")
	p.Follow("Take version 1 into use")
	p.Text("version 1, in use, says")
	p.here("result-beside-another-version")
	p.Follow("north tank")
	p.Text("The value kept still stands")
	p.here("result")
	p.fill("signals", "0.3445 0.3449", "why", "digits swapped")
	p.Follow("Keep the correction")
	p.Text("digits swapped")
	p.here("result-corrected")
	p.look("made", "/curves")
	p.look("made", "/curves/1/change")
	p.NoConsoleErrors()
}
