package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// invented are points of a photometer that bends a little; 3 and 9 are held out.
func invented() string {
	points := "level;signal;u_level;role\n"
	for i, level := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 9, 12} {
		role := map[bool]string{true: "check", false: "fit"}[level == 3 || level == 9]
		for k := range 3 {
			points += fmt.Sprintf("%g;%.4f;%.3f;%s\n", level, 0.012+0.068*level-0.0007*level*level+0.001*float64((i+k)%3-1), 0.005+0.004*level, role)
		}
	}
	return points
}

// put sets a field that is too long to type.
func (p *Page) put(id, text string) {
	p.t.Helper()
	p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.getElementById(%q).value = %q`, id, text)))
}

// TestRecheck finds that a curve no longer holds, makes the next version of it, and
// finds that this one does.
func TestRecheck(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/curves/new")
	p.fill("name", "bench photometer")
	p.put("points", invented())
	p.Follow("Keep and fit")
	p.Follow("Re-check")
	p.here("recheck")
	p.fill("blank", "0.012 much", "level_1", "6", "u_1", "0.02", "signals_1", "0.3586 0.3590", "level_2", "10", "u_2", "0.03", "signals_2", "0.5671 0.5675")
	p.Follow("Judge")
	p.Text("is no number")
	p.here("recheck-refused")
	p.ConsoleErrors() // a refused form is an error to a console
	p.fill("blank", "0.012 0.0121")
	p.Follow("Judge")
	p.Text("a slope update is enough")
	p.here("recheck-lower")
	p.Follow("Make the next version of it")
	p.Text("Version 2 reads")
	p.here("recheck-version")
	p.Follow("Re-check")
	p.fill("blank", "0.012", "level_1", "6", "signals_1", "0.3588")
	p.Follow("Judge")
	p.Text("It holds.")
	p.here("recheck-holds")
	p.Follow("Keep the re-check")
	p.Text("The re-check is kept")
	p.here("recheck-kept")
	if n := JS[int](p, `document.querySelectorAll("#kept tbody tr").length`); n != 2 {
		t.Errorf("%d re-checks are shown, want 2", n)
	}
	if at := JS[string](p, `location.pathname`); !strings.HasSuffix(at, "/recheck") {
		t.Errorf("at %s", at)
	}
	p.NoConsoleErrors()
}
