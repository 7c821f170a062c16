package browsertest

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// inventedSpectra are a colour about 545 nm, with something yellow that disturbs.
func inventedSpectra() string {
	bell := func(nm, at, width float64) float64 {
		return math.Exp(-4 * math.Ln2 * (nm - at) * (nm - at) / width / width)
	}
	levels := []float64{0, 0, 2, 2, 4, 4, 6, 6, 8, 8}
	var b strings.Builder
	b.WriteString("wavelength")
	for _, c := range levels {
		fmt.Fprintf(&b, ",%g", c)
	}
	b.WriteString(",yellow water\n")
	n := 0
	for nm := 430.0; nm <= 670; nm += 2 {
		fmt.Fprintf(&b, "%g", nm)
		for _, c := range levels {
			n = (n*37 + 11) % 101
			fmt.Fprintf(&b, ",%.4f", 0.01-math.Log10((math.Pow(10, -0.15*c*bell(nm, 545, 90))+0.004)/1.004)+0.00004*float64(n-50))
		}
		fmt.Fprintf(&b, ",%.4f\n", 0.01+0.3*bell(nm, 430, 120))
	}
	return b.String()
}

// TestScan goes the whole way: it chooses a wavelength, looks at another, fits a curve there,
// comes back for a third without a second upload, keeps that curve, leaves a point out with
// a reason, reads what judges it, makes a table for an instrument, takes the version into use
// and reads a water with it.
func TestScan(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	p.look("empty", "/curves/scan")
	p.Go("/curves")
	p.Follow("Spectra")
	p.put("spectra", "wavelength,0,2,2,4\n540,0.1,0.2,much,0.4\n545,0.1,,0.2,0.4")
	p.Follow("Look at them")
	p.Text("(column 4)")
	p.here("scan-refused")
	p.ConsoleErrors() // a refused form is an error to a console
	p.put("spectra", inventedSpectra())
	p.Follow("Look at them")
	p.Text("Measure at")
	p.here("scan")
	p.fill("at", "500")
	p.Follow("Look at it")
	p.Text("Measure at 500 nm")
	p.Text("Best of all would be")
	p.here("scan-another")
	p.fill("at", "546", "held", "4")
	p.Follow("Fit a curve at this wavelength")
	p.fill("name", "lamp and cell")
	p.here("scan-curve")
	p.Follow("Take another wavelength")
	p.Text("Measure at 546 nm")
	p.fill("at", "560")
	p.Follow("Fit a curve at this wavelength")
	if name := JS[string](p, `document.getElementById("name").value`); name != "lamp and cell" {
		t.Errorf("the name came back as %q", name)
	}
	p.Follow("Keep and fit")
	p.Text("Version 1 reads nitrate")
	p.Text("from spectra at 560 nm")
	p.here("scan-kept")
	p.fill("point", "3", "why-point", "a bubble in the cell")
	p.Follow("Make that version")
	p.Text("Version 2 reads nitrate")
	p.Text("a bubble in the cell")
	p.Text("Judged by 1 known that it was not fitted to: 1 agrees")
	p.Follow("For an instrument")
	p.Text("It should show")
	p.Go("/curves/1")
	p.Follow("Take version 2 into use")
	p.Text("2, in use")
	p.Follow("Read a signal")
	p.fill("signals", "0.70 0.702")
	p.Follow("Read it")
	p.Text("The water holds")
	p.fill("water", "north tank")
	p.Follow("Keep this result")
	p.Text("Kept: north tank")
	p.Go("/curves/1")
	p.Text("version 2, in use, says")
	p.NoConsoleErrors()
}
