package plan

import (
	"testing"
	"time"

	"knownwater"
	"knownwater/internal/processor"
	"knownwater/science/assess"
	"knownwater/science/unit"
)

// evening is a plan such as a club makes: a display and a chart, eight knowns, three vials
// each, the chart's read by every one of so many readers.
func evening(b *testing.B, readers int) SimTrial {
	d := Design{
		Methods: []DesignMethod{{Techniques: []string{""}}, {Techniques: []string{""}, Together: true}},
		Readers: readers, Sessions: 1, Replicates: 3, Blanks: 3, Check: -1,
	}
	s := SimTrial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Methods: []knownwater.Method{meter, card}, Needs: []knownwater.Need{low}}
	for _, m := range s.Methods {
		s.Guesses = append(s.Guesses, Guess{}.Fill(m))
	}
	for _, c := range []float64{0, 0.6, 1.5, 3, 5, 7, 9, 12} {
		d.Knowns = append(d.Knowns, DesignKnown{Level: c, Blank: c == 0})
		s.Knowns = append(s.Knowns, SimKnown{Level: c, U: 0.01 * c})
	}
	vials, err := Lay(d, 1)
	if err != nil {
		b.Fatal(err)
	}
	s.Vials = vials
	return s
}

// BenchmarkForecast makes a whole forecast of DefaultRuns trials, two at once; the target is 5 s on
// a machine of two cores set aside for measuring. On a shared one half the processor's time says more.
func BenchmarkForecast(b *testing.B) {
	judge := func(d knownwater.Trial, seed uint64, stop func() bool) assess.Findings {
		return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true, Stop: stop})
	}
	for name, readers := range map[string]int{"one reader": 1, "three readers": 3} {
		b.Run(name, func(b *testing.B) {
			s := evening(b, readers)
			var worked time.Duration
			for b.Loop() {
				work := processor.Time()
				NewForecast(s, DefaultRuns, 1, judge).Run(func() bool { return false }, nil)
				worked += processor.Time() - work
			}
			b.ReportMetric(worked.Seconds()*1e3/float64(b.N), "ms-processor")
		})
	}
}
