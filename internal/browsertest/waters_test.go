package browsertest

import (
	"fmt"
	"testing"
)

// knowns are signals in a water that shows a share of the slope.
func knowns(share float64) string {
	out := ""
	for i, level := range []float64{0, 1, 2, 4, 8, 12} {
		for k := range 3 {
			out += fmt.Sprintf("%g %.4f\n", level, 0.012+0.068*share*level-0.0007*share*share*level*level+0.001*float64((i+k)%3-1))
		}
	}
	return out
}

// TestWaters compares two waters, and finds what a water holds by additions.
func TestWaters(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	p.look("empty", "/curves/matrix")
	p.look("empty", "/curves/additions")
	p.Go("/curves")
	p.Follow("Two waters")
	p.put("first", knowns(1))
	p.put("second", "0 0.01\n2 much")
	p.Follow("Compare")
	p.Text("line 2")
	p.here("matrix-refused")
	p.ConsoleErrors() // a refused form is an error to a console
	p.put("second", knowns(0.85))
	p.Follow("Compare")
	p.Text("The water changes the slope.")
	p.here("matrix")
	p.Go("/curves")
	p.Follow("Additions")
	p.put("points", "0 0.2040\n0 0.2052\n2 0.3315\n2 0.3330\n4 0.4600\n4 0.4591\n8 0.7151\n8 0.7162")
	p.fill("zero", "0.012", "u_zero", "0.0006")
	p.Follow("Estimate")
	p.Text("The water holds")
	p.here("additions")
	p.NoConsoleErrors()
}
