package assess

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/reading"
)

// How a known should read after the trial: on the response, off it by its own doubt, by the
// slope; through a dilution as the sample of it reads; nothing beyond what was tried.
func TestExpectedOfAKnown(t *testing.T) {
	const slope, sd = 0.8, 0.2
	tr := scored([]float64{0, 2, 4, 6, 8, 10}, 20, sd, func(c float64) float64 { return 1 + slope*c }, 1)
	p, err := PerformanceOf(tr, "m", "", Options{Brief: true})
	if err != nil {
		t.Fatal(err)
	}
	moments := func(known, u, dilution float64) (mean, doubt, spread, along float64) {
		t.Helper()
		e, ok := p.Expect(known, u, "", "", dilution)
		if !ok {
			t.Fatalf("nothing is expected of %v", known)
		}
		var means, sds []float64
		for _, d := range e.Draws {
			means, sds = append(means, d.Mean), append(sds, d.SD)
		}
		mean, doubt = num.MeanSD(means)
		return mean, doubt, num.Mean(sds), e.Slope
	}
	mean, sure, spread, along := moments(5, 0, 1)
	about(t, "reading", mean, 1+slope*5, 0.05)
	about(t, "spread", spread, sd, 0.03)
	about(t, "slope", along, slope, 0.03)
	_, loose, _, _ := moments(5, 0.5, 1)
	about(t, "doubt of a loose known", loose, math.Hypot(sure, slope*0.5), 0.03)
	mean, loose, _, along = moments(20, 1, 4) // read as 5 ± 0.25
	about(t, "reading of a dilution", mean, 1+slope*5, 0.06)
	about(t, "its doubt", loose, math.Hypot(sure, slope*0.25), 0.03)
	about(t, "slope through a dilution", along, slope/4, 0.01)
	for _, beyond := range []float64{10.5, 30} {
		if _, ok := p.Expect(beyond, 0, "", "", 1); ok {
			t.Errorf("something is expected of %v", beyond)
		}
	}
}

// Readings by somebody who was not in the trial are off by what readers differ: as much in a
// way of using the method as in what is expected of a known. Who was in it is taken as they are.
func TestSomebodyElseReads(t *testing.T) {
	tr := scored([]float64{0, 2, 4, 6, 8, 10}, 12, 0.2, func(c float64) float64 { return 1 + c }, 1)
	habits := []float64{-1.1, -0.3, 0.4, 1}
	_, sd := num.MeanSD(habits)
	for i := range tr.Observations { // spread evenly over what each level scatters
		o := &tr.Observations[i]
		r := (i%12*5 + i/12) % 4
		y := o.Seen.Mid() + habits[r]
		o.Text = reading.Show(y, tr.Methods[0])
		o.Seen, _ = reading.Understand(o.Text, tr.Methods[0])
		o.Reader = []string{"Ines", "Tomo", "Wren", "Pia"}[r]
	}
	p, err := PerformanceOf(tr, "m", "", Options{Brief: true})
	if err != nil {
		t.Fatal(err)
	}
	shared := func(reader string) float64 {
		w, off := p.Way(reader, "", 1), make([]float64, WayDraws)
		w.Shared(5, 1, off)
		_, sd := num.MeanSD(off)
		return sd
	}
	expected := func(reader string) float64 {
		e, _ := p.Expect(5, 0, reader, "", 1)
		var means []float64
		for _, d := range e.Draws {
			means = append(means, d.Mean)
		}
		_, sd := num.MeanSD(means)
		return sd
	}
	for what, by := range map[string]func(string) float64{"a way": shared, "a known": expected} {
		if tried, other := by("Tomo"), by("Oona"); !(other > 0.7*sd && other < 2.5*sd) || !(tried < 0.25*sd) {
			t.Errorf("%s: off by %.3f by one of the trial, %.3f by somebody else; readers differ by %.3f", what, tried, other, sd)
		}
	}
}
