package assess

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

func about(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) && got != want {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

// Half of the middle of a normal that is off by b: 1.96 without bias, b + 1.645 far off, and
// in between what holds 95 %.
func TestHalfOfTheMiddle(t *testing.T) {
	about(t, "without bias", half95(0), 1.959964, 1e-5)
	about(t, "far off", half95(7), 7+1.644854, 1e-5)
	for _, b := range []float64{0.1, 0.37, 1, 1.9, 2.5, 3.7, 3.9999, 4, 5} {
		about(t, "share within", num.Phi(half95(b)-b)-num.Phi(-half95(b)-b), 0.95, 1e-5)
	}
}

// Whatever the guess, what is found is where a rising chance reaches 95 %; where it never does
// there is no such place.
func TestWhereAChanceReaches(t *testing.T) {
	for _, guess := range []float64{1e-6, 0.1, 1.9, 1.96, 2, 7, 300} {
		about(t, "of a normal", solve95(func(e float64) (p, slope float64) { return 2*num.Phi(e) - 1, 2 * num.NormalPDF(e) }, guess, 0), 1.959964, 3e-4)
		about(t, "of an even chance", solve95(func(e float64) (p, slope float64) {
			if e > 8 {
				return 1, 0
			}
			return e / 8, 0.125
		}, guess, 0), 7.6, 2e-3)
		for at, want := range map[float64]float64{1: 1.644854, 1.8: 1.8, 2.5: 1.959964} { // one side alone from there on
			got := solve95(func(e float64) (p, slope float64) {
				p, slope = num.Phi(e), num.NormalPDF(e)
				if e < at {
					p, slope = 2*p-1, 2*slope
				}
				return p, slope
			}, guess, at)
			about(t, "of a chance that leaps", got, want, 3e-4)
		}
		if e := solve95(func(e float64) (p, slope float64) { return 0.9 * (1 - math.Exp(-e)), 0.9 * math.Exp(-e) }, guess, 0); !math.IsInf(e, 1) {
			t.Errorf("a chance that stays below: %v", e)
		}
	}
}

// Answers at 0, 5, 10 whose ends lie between: the smallest error that 95 of 100 keep within,
// by hand from the normal.
func TestErrorOfAnswers(t *testing.T) {
	inf := math.Inf(1)
	a := nestOf([]float64{4, 1, 6}, []float64{-inf, 2.5, 7.5, inf}) // of a truth of 4
	for _, x := range []struct{ mean, sd, want float64 }{
		{5, 1, 1},     // within 2.5 sd on either side: 98.8 %
		{5, 2, 6},     // 78.9 % at 5, and half of the rest on either side: only all three
		{3, 1, 4},     // 69.1 %, and 30.9 % at 0
		{9, 0.5, 6},   // nearly all at 10
		{2.5, 0.1, 4}, // half and half
	} {
		about(t, "error", a.within(record.Normal{Mean: x.mean, SD: x.sd}), x.want, 0)
	}
	some := nestOf([]float64{1}, []float64{2.5, 7.5})
	if e := some.within(record.Normal{Mean: 9, SD: 1}); !math.IsInf(e, 1) {
		t.Errorf("answers that are seldom given: %v", e)
	}
}

// nestOf are answers side by side, each with how far off it is.
func nestOf(miss, ends []float64) *nested {
	answers := make([]record.Answer, len(miss))
	for i := range miss {
		answers[i].Seen = interval.Interval{Low: ends[i], High: ends[i+1]}
		answers[i].Value = miss[i]
	}
	order, all := byMiss(answers, func(a record.Answer) float64 { return a.Value })
	return nest(answers, all, order)
}

// The band below two places whose draws go up and down together is that of one: the tail
// quantile itself; of two that have nothing to do with each other it lies lower, the same
// number of units below each middle, and holds at both at once.
func TestBandBelow(t *testing.T) {
	const n = 4001
	z, other := posterior.Normals(n, 1), posterior.Normals(n, 2)
	scaled := func(v []float64, at, by float64) []float64 {
		out := make([]float64, n)
		for i, x := range v {
			out[i] = at + by*x
		}
		return out
	}
	r := rule{tail: 0.025}
	band := func(r rule, places ...[]float64) []float64 {
		var all []sample
		for _, p := range places {
			errors := make([]float64, len(p))
			for k, v := range p {
				errors[k] = math.Exp(v)
			}
			all = append(all, sampleOf(errors, r.steps))
		}
		return lowerBand(all, r)
	}
	together := band(r, scaled(z, 1, 0.5), scaled(z, -2, 3))
	about(t, "first of two alike", together[0], 1-0.5*1.96, 0.01)
	about(t, "second of two alike", together[1], -2-3*1.96, 0.06)
	a, b := scaled(z, 1, 0.5), scaled(other, -2, 3)
	apart := band(r, a, b)
	k := num.PhiInv(math.Sqrt(0.975)) // of the larger of two
	about(t, "first of two apart", apart[0], 1-0.5*k, 0.02)
	about(t, "second of two apart", apart[1], -2-3*k, 0.12)
	below := 0.0
	for i := range a {
		if a[i] < apart[0] || b[i] < apart[1] {
			below += 1.0 / n
		}
	}
	about(t, "share below at either", below, 0.025, 0.002)
	about(t, "another tail", band(rule{tail: 0.075}, scaled(z, 1, 0.5))[0], 1-0.5*1.4395, 0.01)
	steps := band(rule{steps: true}, []float64{1, 1, 1, 2, 2, 2, 2, 2, 2, 2}, []float64{5, 4, 5, 5, 5, 5, 5, 5, 5, 4})
	about(t, "first of steps", steps[0], 1, 1e-12)
	about(t, "second of steps", steps[1], 4, 1e-12)
}

// Limits of draws: equal tails, or, where they pile up against a bound, the bound and one tail.
func TestLimitsOfDraws(t *testing.T) {
	v := make([]float64, 1001)
	for i := range v {
		v[i] = float64(i) / 1000
	}
	inf := math.Inf(1)
	for _, x := range []struct{ floor, top, low, high float64 }{
		{-inf, inf, 0.025, 0.975}, {-5, 5, 0.025, 0.975}, {0.01, inf, 0.01, 0.95}, {-inf, 0.99, 0.05, 0.99}, {0.01, 0.99, 0.01, 0.99},
	} {
		low, high := limits(v, 0.025, x.floor, x.top)
		about(t, "low", low, x.low, 1e-9)
		about(t, "high", high, x.high, 1e-9)
	}
}

// Where a curve last rises through a height, by hand.
func TestCrossesUp(t *testing.T) {
	grid := []float64{0, 1, 2, 3, 4}
	for _, x := range []struct {
		curve    []float64
		y, want  float64
		none     bool
		describe string
	}{
		{[]float64{0, 1, 2, 3, 4}, 2.5, 2.5, false, "a line"}, {[]float64{0, 3, 1, 3, 5}, 2, 2.5, false, "twice"},
		{[]float64{2, 3, 4, 5, 6}, 1, 0, false, "above from the start"}, {[]float64{0, 1, 2, 3, 4}, 5, 0, true, "never"}, {[]float64{0, 0, 4, 4, 4}, 1, 1.25, false, "a jump"},
	} {
		got, ok := crossesUp(grid, x.curve, x.y)
		if ok == x.none || ok && math.Abs(got-x.want) > 1e-12 {
			t.Errorf("%s: %v %v, want %v", x.describe, got, ok, x.want)
		}
	}
}

// Two verdicts make one.
func TestTogether(t *testing.T) {
	for _, x := range [][3]string{
		{Fit, Fit, Fit}, {Fit, NotFit, Fit}, {Fit, Undecided, Fit}, {Undecided, Fit, FitWhenCorrected}, {NotFit, Fit, FitWhenCorrected},
		{NotFit, NotFit, NotFit}, {NotFit, Undecided, Undecided}, {Undecided, NotFit, Undecided}, {Undecided, Undecided, Undecided},
	} {
		if got := together(ErrorWithin{Verdict: x[0]}, ErrorWithin{Verdict: x[1]}); got != x[2] {
			t.Errorf("%s as read, %s corrected: %s, want %s", x[0], x[1], got, x[2])
		}
	}
	for _, x := range [][2]string{{NotFit, Undecided}, {Undecided, FitWhenCorrected}, {FitWhenCorrected, Fit}, {NotTried, Undecided}} {
		if !sayLess(x[0], x[1]) || sayLess(x[1], x[0]) || sayLess(x[0], x[0]) {
			t.Errorf("%s says less than %s", x[0], x[1])
		}
	}
}

// A display that scatters alike everywhere, 48 readings at each of nine levels: critical value and
// detection limit are 1.645 and 3.29 spreads (L. A. Currie, Pure Appl. Chem. 67 (1995) 1699), the
// quantification limit is where a spread is a tenth; of a method that shows half of what there is all
// twice that.
func TestLimitsOfAConstantSpread(t *testing.T) {
	for _, slope := range []float64{1, 0.5} {
		tr := scored([]float64{0, 0.5, 1, 2, 3, 4, 6, 8, 10}, 48, 0.2, func(c float64) float64 { return 1 + slope*c }, 1)
		l := Run(tr, Options{Brief: true}).Methods[0].Limits
		u := 0.2 / slope
		about(t, "critical value ÷ spread", float64(l.Critical)/u, 1.645, 0.12)
		about(t, "detection limit ÷ spread", float64(l.Detection)/u, 3.29, 0.25)
		about(t, "quantification limit ÷ spread", float64(l.Quantification)/u, 10, 0.7)
	}
}

// The two-component description of a spread that has two components, and the spread itself.
func TestTwoComponents(t *testing.T) {
	levels := []float64{0, 1, 2, 4, 8, 16}
	var tr knownwater.Trial
	for i, c := range levels { // scored has one spread: a trial a level, put together
		one := scored([]float64{c, c + 1}, 40, math.Hypot(0.2, 0.1*c), func(c float64) float64 { return c }, 1)
		if i == 0 {
			tr = one
			tr.Observations = nil
		}
		tr.Observations = append(tr.Observations, one.Observations[:40]...)
	}
	s := Run(tr, Options{Brief: true}).Methods[0].Spread
	about(t, "constant part", float64(s.Sigma0), 0.2, 0.03)
	about(t, "proportional part", float64(s.Kappa), 0.1, 0.012)
	about(t, "repeatability in the middle", float64(s.RepeatabilitySD)/math.Hypot(0.2, 0.1*float64(s.At)), 1, 0.12)
}

// The error of a result turned round is where its chance is 95 %, by the normal itself (not the
// table): for a bent response, off by more or less, near nothing too, where no result lies below; shown
// finely and in steps that are coarser than the scatter.
func TestCorrectedErrorHolds95(t *testing.T) {
	grid, mean := []float64{}, []float64{}
	for i := range 41 {
		c := float64(i) / 2
		grid, mean = append(grid, c), append(mean, 0.3+4*c/(1+c/9))
	}
	r := turn{grid, mean}
	met := 0 // the leap where results below nothing end
	for _, c := range []float64{0, 0.2, 1, 5, 19, 24} {
		for _, in := range []struct{ sd, step float64 }{{0.02, 0}, {0.3, 0}, {1, 0}, {2.5, 0}, {0.02, 1}, {0.3, 1}, {1, 1.5}} {
			e, sd, step := newCorrectedError(r, c), in.sd, in.step
			for _, bias := range []float64{-6, -1, 0, 0.4, 3, 9} {
				m := r.at(c) + bias*sd
				inside := func(e float64) float64 {
					p := madeup.ShownBelow(r.at(c+e)-m, sd, step, 400)
					if c-e > 0 {
						p -= madeup.ShownBelow(r.at(c-e)-m, sd, step, 400)
					}
					return p
				}
				got := e.of(m, roundedBy(sd, step))
				if inside(0) >= 0.95 { // nothing is left of it
					about(t, "error of what reads below nothing", got, 0, 1e-9)
					continue
				}
				if inside(got*1.0003) < 0.95-1e-5 || inside(got*0.9997) > 0.95+1e-5 {
					t.Errorf("at %g, off by %g of %g: %g holds %g", c, bias, sd, got, inside(got))
				}
				if c > 0 && got == c {
					met++
				}
			}
		}
	}
	if met < 3 {
		t.Errorf("%d leaps met", met)
	}
}

// Half of the middle of what is shown in steps: of a scatter that is next to nothing 95 % of half a step (a rectangular
// distribution, JCGM 100:2008, 4.3.7), of one that is wider than them as if there were none but for their variance.
func TestHalfOfWhatIsShownInSteps(t *testing.T) {
	about(t, "steps alone", roundedBy(1e-9, 1).half95(0), 0.475, 1e-4)
	about(t, "steps alone, off", roundedBy(1e-9, 1).half95(0.2), 0.65, 1e-4)
	for _, step := range []float64{0, 0.3, 1, 1.001, 3, 10, 100} {
		for _, off := range []float64{0, 0.1, 0.5, 2, 7} {
			h := roundedBy(1, step).half95(off)
			about(t, fmt.Sprintf("share within, steps of %g, off by %g", step, off), madeup.ShownBelow(h-off, 1, step, 400)-madeup.ShownBelow(-h-off, 1, step, 400), 0.95, 5e-4)
		}
	}
}

// Averages of two and three readings in steps, against what they are when every reading is worked out, wherever the
// steps lie.
func TestAveragesOfWhatIsShownInSteps(t *testing.T) {
	for _, n := range []int{2, 3} {
		for _, scatter := range []float64{0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 1} {
			for _, off := range []float64{0, 0.2, 1} {
				want := madeup.AverageError(n, off, scatter, 1)
				root := math.Sqrt(float64(n))
				average := func(int) record.Normal { return record.Normal{SD: scatter / root} }
				got := averageShown(average, []float64{1 / root}, use{n, 1}, 1, 0)(0).half95(off)
				about(t, fmt.Sprintf("%d readings of scatter %g, off by %g", n, scatter, off), got/want, 1, 0.015)
			}
		}
	}
}

// The grid against what it stands for, at its nodes and between, in any unit.
func TestErrorGridIsTheError(t *testing.T) {
	direct := func(mean, sd float64) float64 { return sd * half95(math.Abs(mean-3)/sd) }
	for _, scale := range []float64{1, 7, 1e-4} {
		g := &errorGrid{centre: 3, scale: scale, direct: direct}
		for sd := 1e-3 * scale; sd < 1e3*scale; sd *= 1.037 {
			for bias := -9.0; bias < 9; bias += 0.37 {
				want := direct(3+bias*sd, sd)
				if got := g.at(3+bias*sd, sd); math.Abs(got-want) > 2e-3*want {
					t.Fatalf("sd %g, off by %g of it: %g, want %g", sd, bias, got, want)
				}
			}
		}
	}
}

// Beyond the limit readings of a display fall in one step in less than 4 of 100 cases: counted on 20,000, the mean in the middle of a
// step; and of so many that all but one step is far off the chance is that of one step alone.
func TestMostInOneStep(t *testing.T) {
	for _, n := range []int{3, 4, 5, 9} {
		s, rng, one := mostInOneStep(float64(n)), num.Source(8, uint64(n)), 0
		for range 20000 {
			first, alike := math.Round(s*rng.NormFloat64()), true
			for range n - 1 {
				alike = math.Round(s*rng.NormFloat64()) == first && alike
			}
			if alike {
				one++
			}
		}
		if got := float64(one) / 20000; math.Abs(got-0.04) > 0.0045 {
			t.Errorf("%d in one step: %.4f", n, got)
		}
	}
	s := mostInOneStep(200)
	if got := math.Pow(2*num.Phi(0.5/s)-1, 200); math.Abs(got-0.04) > 1e-6 {
		t.Errorf("200 in one step: %g", got)
	}
}
