package record

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/response"
)

// firm are means of a response without any doubt, and so many draws.
func firm(levels []float64, truth func(c float64) float64, draws int) Knowledge {
	k := Knowledge{Level: levels, Mean: make([]float64, len(levels))}
	for i, c := range levels {
		k.Mean[i] = truth(c)
	}
	for range draws {
		k.Draw, k.Known = append(k.Draw, k.Mean), append(k.Known, make([]float64, len(levels)))
	}
	return k
}

// About a kink half way between two knowns draws bend as the exponential distribution says, from the chord to beyond the
// kink; knowns stay where they are, and no draw falls.
func TestDrawsBendAsTheyMay(t *testing.T) {
	c := []float64{0, 1, 2, 3, 4, 5}
	truth := func(c float64) float64 { return math.Min(c, 2.5) + 0.4*math.Max(0, c-2.5) }
	k := firm(c, truth, 4000)
	f := freeMonotone(k.settledAs())
	chord := (k.Mean[2] + k.Mean[3]) / 2
	best, kink := f.At(2.5)-chord, truth(2.5)-chord
	if best <= 0 || kink/best < 3.3 || kink/best > 4 {
		t.Fatalf("the kink lies %g of the curve's bend above the chord", kink/best)
	}
	mean, beyond := 0.0, 0.0
	for d := range k.Draw {
		for i := range c {
			near(t, "a known", f.Draw(d, c[i]), k.Mean[i], 1e-12)
		}
		b := f.Draw(d, 2.5) - chord
		mean += b / best / float64(len(k.Draw))
		if b > kink {
			beyond++
		}
		last := math.Inf(-1)
		for x := 0.0; x <= 5; x += 0.05 {
			y := f.Draw(d, x)
			if y < last-1e-12 {
				t.Fatalf("draw %d falls at %g", d, x)
			}
			last = y
		}
	}
	// of 4,000 exponential draws, to three standard errors: the mean is 1, and e^−q of them lie beyond q
	near(t, "mean bend", mean, 1, 0.05)
	near(t, "beyond the kink", beyond/float64(len(k.Draw)), math.Exp(-kink/best), 0.008)
}

// What a known is off by is taken off its mean along the response there: at an end by the chord's slope, between by half of either
// side's. By hand 1, ¾ and ½.
func TestKnownsThatAreOff(t *testing.T) {
	c, slope := []float64{0, 1, 3}, []float64{1, 0.75, 0.5}
	k := firm(c, func(c float64) float64 { return math.Min(c, 1) + 0.5*math.Max(0, c-1) }, 200)
	for d := range k.Draw {
		rng := num.Source(4, uint64(d))
		k.Draw[d] = make([]float64, len(c))
		for i := range c {
			k.Known[d][i] = 0.05 * rng.NormFloat64()
			k.Draw[d][i] = k.Mean[i] + slope[i]*k.Known[d][i]
		}
	}
	f := freeMonotone(k.settledAs())
	for d := range k.Draw {
		for i := range c {
			near(t, "a known that was off", f.Draw(d, c[i]), k.Mean[i], 1e-12)
		}
	}
}

// Knowns tell whether a method bends evenly: one that flattens off does, one with a kink does not, a line and three knowns leave it as likely as it was.
func TestEvenlyOrNot(t *testing.T) {
	c := []float64{0, 1, 2.5, 5, 10, 20, 40}
	chance := func(levels []float64, truth func(c float64) float64) float64 {
		k := firm(levels, truth, 0)
		for d := range 400 { // means known to 1 %
			y, z := make([]float64, len(levels)), num.Source(3, uint64(d))
			for i := range y {
				y[i] = k.Mean[i] * (1 + 0.01*z.NormFloat64())
			}
			k.Draw = append(k.Draw, y)
		}
		p := unevenly(levels, k.Mean, k.Draw)
		for _, y := range append(k.Draw, k.Mean) {
			for i := range y {
				y[i] *= 40
			}
		}
		near(t, "in another unit", unevenly(levels, k.Mean, k.Draw), p, 1e-9)
		return p
	}
	for name, f := range map[string]func(c float64) float64{
		"saturating":  func(c float64) float64 { return 1.2 * c / (1 + c/30) },
		"logarithm":   func(c float64) float64 { return 12 * math.Log1p(c/12) },
		"exponential": func(c float64) float64 { return 30 * (1 - math.Exp(-c/14)) },
	} {
		if p := chance(c, f); p > 0.1 {
			t.Errorf("%s: uneven with %.2f", name, p)
		}
	}
	for _, at := range []float64{4, 7, 12} {
		if p := chance(c, func(c float64) float64 { return math.Min(c, at) + 0.4*math.Max(0, c-at) }); p < 0.95 {
			t.Errorf("a kink at %g: uneven with %.2f", at, p)
		}
	}
	near(t, "a line", chance(c, func(c float64) float64 { return c }), 0.75, 1e-9)
	near(t, "three knowns", chance([]float64{0, 1, 4}, func(c float64) float64 { return c * c }), 0.75, 1e-9)
}

// Shares seen to a twentieth weigh as the gamma densities do there: e^−s against 9⁹/8!·s⁸·e^(−9s), written out.
func TestSharesWeigh(t *testing.T) {
	for _, s := range []float64{0.5, 1, 2} {
		want := math.Log(math.Exp(-s) / (math.Pow(9, 9) / 40320 * math.Pow(s, 8) * math.Exp(-9*s)))
		near(t, "log ratio", shareLog(s, 0.05, uneven)-shareLog(s, 0.05, even), want, 0.1)
	}
	// wide: both are all there is, and weigh alike
	near(t, "log ratio of what says nothing", shareLog(1, 300, uneven)-shareLog(1, 300, even), 0, 1e-3)
	// of exponential shares, from a bend to the other side on, the integral can be written down by completing the square:
	// σ·√(2π)·e^(σ²/2 − y)·Φ((y − σ²)/σ)
	whole := func(y float64) float64 { return math.Log(num.Phi((y-0.04)/0.2)) - y }
	for _, y := range []float64{-0.3, 0, 0.4, 3} {
		near(t, "log ratio of exponential shares", shareLog(y, 0.2, uneven)-shareLog(1, 0.2, uneven), whole(y)-whole(1), 0.01)
	}
	rng, mean, square := num.Source(5), 0.0, 0.0
	for _, s := range shares(40000, 0, 2, rng) {
		mean, square = mean+s/40000, square+s*s/40000
	}
	near(t, "mean share", mean, 1, 0.006)
	near(t, "its variance", square-mean*mean, 1./9, 0.004)
	near(t, "mean uneven share, where kinks count more", num.Mean(shares(40000, 1, kinks, rng)), kinks, 0.03)
}

// A dead zone that bends more softly than the formula's, which knowns do not contradict: half of the draws follow the free curve,
// and half way between two knowns the middle 95 % of all hold what is true, which those of the formula do not.
func TestBentShapesMayBeOthers(t *testing.T) {
	c := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	truth := func(c float64) float64 { return 2.6 * math.Log1p(math.Exp((c-8)/2.6)) }
	y, u := make([]float64, len(c)), make([]float64, len(c))
	for i := range c {
		y[i], u[i] = truth(c[i]), 0.2
	}
	k := knowledge(c, y, u, make([]float64, len(c)), 4000, 16)
	r, err := Fit(k)
	if err != nil || r.Shape.Name != response.DeadZone {
		t.Fatalf("shape %v, %v", r.Shape.Name, err)
	}
	const at = 9
	all, formula := make([]float64, len(k.Draw)), []float64{}
	for d := range k.Draw {
		all[d] = r.Draw(d, at)
		if all[d] == r.Found(d, at) {
			formula = append(formula, all[d])
		}
	}
	near(t, "share of the formula", float64(len(formula))/float64(len(all)), 0.5, 0.03)
	for name, draws := range map[string][]float64{"all": all, "of the formula": formula} {
		q := num.QuantilesOf(draws, 0.025, 0.975)
		if holds := q[0] <= truth(at) && truth(at) <= q[1]; holds != (name == "all") {
			t.Errorf("%s: %.2f to %.2f, truth %.2f", name, q[0], q[1], truth(at))
		}
	}
	straight := knowledge(c, c, u, make([]float64, len(c)), 100, 16)
	if l, err := Fit(straight); err != nil || l.Shape.Name != response.Line || l.free != nil {
		t.Errorf("draws of a line follow another curve as well: %v", err)
	}
	few := r.Thin([]int{3, 7, 8})
	for i, d := range []int{3, 7, 8} {
		near(t, "a draw that was kept", few.Draw(i, at), r.Draw(d, at), 0)
	}
}

// Where three knowns in four say nothing of where a dead zone ends, steps of a formula's draws run off: those follow the free curve.
func TestNoDrawRunsOff(t *testing.T) {
	k := knowledge([]float64{0, 1.7, 9.6, 54.9}, []float64{0, 0, 0, 42}, []float64{0.2, 0.2, 0.2, 0.2}, make([]float64, 4), 2000, 8)
	r, err := Fit(k)
	if err != nil {
		t.Fatal(err)
	}
	off := 0
	for d := range k.Draw {
		if y := r.Found(d, 20); !(math.Abs(y) < 100) {
			off++
		}
		if y := r.Draw(d, 20); !(math.Abs(y) < 100) {
			t.Fatalf("draw %d reads %g at 20", d, y)
		}
	}
	if off == 0 {
		t.Error("no draw of the formula ran off: this shows nothing")
	}
}
