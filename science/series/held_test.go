package series_test

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/series"
)

var oneDraw = []float64{1}

func nothingShared(_ int, into []float64) { clear(into) }

// The mean share over paths is the mean chance of being inside over the time, and the last day's
// chance that of the filtered state: by the states that R gives of testdata/irregular.json. Days are
// taken as tenths, so that the readings' own days are all there is.
func TestHeldOfIrregular(t *testing.T) {
	var want struct {
		Level struct {
			Smoothed    []float64
			SmoothedVar []float64 `json:"smoothed_var"`
			Filtered    []float64 `json:"filtered_R"`
			FilteredVar []float64 `json:"filtered_var_R"`
		} `json:"local_level_q_0.1"`
	}
	load(t, "irregular.json", &want)
	c := columns(t, "irregular.csv")
	var days []float64
	var seen []series.Seen
	for i, y := range c[1] {
		days = append(days, c[0][i]/40)
		seen = append(seen, exact(y, c[2][i]))
	}
	n := len(days)
	r := interval.Interval{Low: 10.8, High: 11.9}
	h := series.Goings{Of: []series.Going{{PerDay: 4}}, Weight: []float64{1}}.Held(days, seen, 1, nothingShared, []interval.Interval{r})
	chance := func(m, v float64) float64 {
		return num.Phi((r.High-m)/math.Sqrt(v)) - num.Phi((r.Low-m)/math.Sqrt(v))
	}
	share := 0.0
	for i := 1; i < n; i++ {
		if days[i]-days[i-1] > 1 {
			t.Fatal("days lie too far apart for this test")
		}
		for _, k := range []int{i - 1, i} {
			share += chance(want.Level.Smoothed[k], want.Level.SmoothedVar[k]) * (days[i] - days[i-1]) / 2 / (days[n-1] - days[0])
		}
	}
	near(t, "mean share", num.Mean(h.Shares[0]), share, 0.025)
	ends := series.Wanders{PerDay: []float64{4}, Weight: []float64{1}}.Ends(days, seen, oneDraw, nothingShared)
	m, v := want.Level.Filtered[n-1], want.Level.FilteredVar[n-1]
	for _, ahead := range []float64{0, 1, 5} {
		below, inside, above := ends.Chances(r, ahead)
		near(t, "inside", inside, chance(m, v+4*ahead), 1e-9)
		near(t, "all", below+inside+above, 1, 1e-12)
	}
	if _, inside, _ := ends.Chances(interval.Interval{High: 11.9}, 1); !(inside > 0.5) {
		t.Errorf("from 0 up to 11.9: %v", inside)
	}
}

// What readings share does not average away: a level that four hundred readings put on the edge
// of a range, but for an error that they share, was inside all the time or never.
func TestSharedStaysInShares(t *testing.T) {
	var days []float64
	var seen []series.Seen
	for i := range 400 {
		days, seen = append(days, float64(i)), append(seen, exact(5, 0.1))
	}
	w := series.Goings{Of: []series.Going{{}}, Weight: []float64{1}}
	off := make([]float64, 64)
	for d := range off {
		off[d] = num.PhiInv((float64(d) + 0.5) / 64)
	}
	ranges := []interval.Interval{{Low: 5, High: 50}, {Low: 4, High: 6}}
	h := w.Held(days, seen, 64, func(d int, into []float64) {
		for i := range into {
			into[i] = off[d]
		}
	}, ranges)
	s := h.Shares[0]
	near(t, "least", num.Quantile(s, 0.05), 0, 0)
	near(t, "most", num.Quantile(s, 0.95), 1, 0)
	near(t, "above the edge", num.Mean(s), 0.5, 0.02)
	near(t, "within one", num.Mean(h.Shares[1]), num.Phi(1)-num.Phi(-1), 0.02)
	alone := w.Held(days, seen, 1, nothingShared, ranges)
	near(t, "nothing shared", num.Quantile(alone.Shares[1], 0.01), 1, 0)
}

func make1(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// A level that stays is the mean of its readings, beside what they have in common: Held.Stays is the chance that it lies inside,
// and no number where the readings speak against staying. The share's limits reach to all or nothing by it.
func TestStays(t *testing.T) {
	days, sum := []float64{}, 0.0
	var seen []series.Seen
	for i, y := range []float64{19.2, 20.6, 20.1, 19.5, 20.9, 19.7} {
		days, seen, sum = append(days, float64(7*i)), append(seen, exact(y, 0.8)), sum+y
	}
	apart := func(d int, into []float64) { // half of the draws read 0.5 higher, half lower
		for i := range into {
			into[i] = float64(2*d-1) / 2
		}
	}
	below := []interval.Interval{{Low: math.Inf(-1), High: 20.3}}
	sd := 0.8 / math.Sqrt(6)
	want := (num.Phi((20.3-sum/6-0.5)/sd) + num.Phi((20.3-sum/6+0.5)/sd)) / 2
	ways := series.Goings{Of: []series.Going{{PerDay: 0.01}, {}}, Weight: []float64{0.9, 0.1}}
	near(t, "the chance that what stays is inside", ways.Held(days, seen, 2, apart, below).Stays[0], want, 1e-9)
	ways.Weight = []float64{0.97, 0.03} // less than e⁻³ to 1
	if got := ways.Held(days, seen, 2, apart, below).Stays[0]; !math.IsNaN(got) {
		t.Errorf("readings speak against staying, and yet its chance is %g", got)
	}
	paths := []float64{0.1, 0.4, 0.6, 0.9}
	for _, c := range []struct{ stays, low, high float64 }{{0.5, 0, 1}, {0.99, 0.1, 1}, {0.01, 0, 0.9}, {math.NaN(), 0.1, 0.9}} {
		if _, low, high := series.ShareOf(paths, paths, c.stays); math.Abs(low-c.low) > 0.05 || math.Abs(high-c.high) > 0.05 {
			t.Errorf("stays inside with %g: %g to %g, want %g to %g", c.stays, low, high, c.low, c.high)
		}
	}
}
