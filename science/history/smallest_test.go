package history_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
)

// What is said of a water that stays, “a change of so much would have been called in 95 of 100 cases”, is true of
// waters that changed by so much: at once, within four weeks, within two months or all along. Without what
// a change looks like among the spans 37 of 45 were called.
func TestChangeThatWouldHaveBeenCalled(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}
	ways := []func(week float64) float64{
		func(w float64) float64 { return math.Round(w / 30) },
		func(w float64) float64 { return math.Max(0, math.Min(1, (w-13)/4)) },
		func(w float64) float64 { return math.Max(0, math.Min(1, (w-8)/8)) },
		func(w float64) float64 { return math.Max(0, math.Min(1, (w-2)/25)) },
	}
	wholes := func(run int, more map[string]float64) map[string]history.Change {
		var l []history.Entry
		for k, way := range ways {
			water := fmt.Sprint(k)
			rng := num.Source(57, uint64(run), uint64(k))
			away := 0.4 * rng.NormFloat64()
			for week := range 30 {
				level := 5 + away + more[water]*way(float64(week))
				away = 0.8*away + 0.24*rng.NormFloat64()
				l = append(l, history.Entry{Row: len(l) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: water, Method: "Meter", Lot: "L1", Reader: "Ines",
					Reading: fmt.Sprintf("%.2f", level+0.2*rng.NormFloat64()), Dilution: 1})
			}
		}
		out := map[string]history.Change{}
		for _, c := range ofLog(t, l, m).Changes {
			if c.Whole {
				out[c.Water] = c
			}
		}
		return out
	}
	const runs = 11
	called := 0
	for run := range runs {
		more := map[string]float64{}
		for water, c := range wholes(run, nil) {
			more[water] = c.Smallest
		}
		for _, c := range wholes(run, more) {
			if c.Verdict == history.Rose {
				called++
			}
		}
	}
	if of := runs * len(ways); called < of*9/10 {
		t.Errorf("%d of %d changes were called, each as large as what is called in 95 of 100", called, of)
	}
}
