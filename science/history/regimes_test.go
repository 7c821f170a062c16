package history

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// Levels of six spans, one of which shares an error with three others, against testdata/regimes.R: dense algebra, which for
// one change is held against nlme::gls.
func TestRegimes(t *testing.T) {
	day := []float64{0, 28, 56, 84, 119, 147}
	level := []float64{4.1, 3.8, 4.4, 7.9, 9.2, 8.7}
	own := []float64{.10, .12, .09, .20, .25, .22}
	kept := []float64{.8, .82, .81, .79, .8, .78}
	shared := []float64{.2, .2, .2, -.1, -.1, -.1}
	var list []*span
	for i := range day {
		s := &span{day: day[i], kept: kept[i], steady: steady{level: level[i], variance: own[i], spread: ones}}
		for d := range draws {
			s.errors = append(s.errors, shared[i]*float64(1-d%2*2))
		}
		list = append(list, s)
	}
	r := windows(list)
	if len(r) != 1 {
		t.Fatalf("%d windows of six spans", len(r))
	}
	for i, w := range []float64{0, 0.05, 0.5, 3} {
		want := []float64{-2.36684606141, -2.41562605380, -2.91374002185, -4.12446048437}[i]
		if got := r[0].logLikelihood(w); math.Abs(got-want) > 1e-10 {
			t.Errorf("w = %v: %.12f, should be %.12f", w, got, want)
		}
	}
}

// made is a water of twelve spans of four readings of scatter 1, a level every four weeks.
func made(seed uint64, level func(i int) float64) (list []*span) {
	rng := num.Source(seed, 5)
	away := rng.NormFloat64()
	const departs = 0.6
	for i := range 12 {
		s := &span{errors: make([]float64, draws), kept: 0.8, more: 1, day: 28 * float64(i), points: make([]point, 4)}
		s.steady = steady{level: level(i) + departs*math.Sqrt(s.kept)*away + 0.5*rng.NormFloat64(), variance: 0.25, spread: ones, degrees: 3}
		for range 3 {
			z := rng.NormFloat64()
			s.steady.misfit += (1 + departs*departs*(1-s.kept)) * z * z
		}
		phi := remembered(28)
		away = phi*away + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		list = append(list, s)
	}
	return list
}

// How far a water wanders is found as well where it changed as where it did not, and more of it is not
// taken for less.
func TestWanderBesideChanges(t *testing.T) {
	mean := func(level func(i int) float64) (sum float64) {
		for seed := range uint64(30) {
			sum += num.Mean(wander(made(seed, level))) / 30
		}
		return sum
	}
	still := mean(func(int) float64 { return 4 })
	for name, level := range map[string]func(i int) float64{
		"a step": func(i int) float64 { return 4 + 5*math.Min(1, float64(i/6)) },
		"up and down": func(i int) float64 {
			if i > 3 && i < 8 {
				return 10
			}
			return 4
		},
		"a slope": func(i int) float64 { return 4 + float64(i) },
	} {
		if got := mean(level); got > 2*still || got < still/2 {
			t.Errorf("%s: the water is said to wander by a variance of %.2f, as it would without a change by %.2f", name, got, still)
		}
	}
	if still < 0.2 || still > 1 {
		t.Errorf("a variance of 0.36 is taken for %.2f", still)
	}
}

// Three differences of which the first is clear: what is left of the 5 % goes to the others.
func TestCallAllStepsDown(t *testing.T) {
	rng := num.Source(9)
	var nulls [][]float64
	for range 4000 {
		nulls = append(nulls, []float64{math.Abs(rng.NormFloat64()), math.Abs(rng.NormFloat64()), math.Abs(rng.NormFloat64())})
	}
	var limits []float64
	called := func(differences ...float64) (out []Change) {
		var told []couple
		for i, d := range differences {
			out = append(out, Change{Difference: d, U: 1, Verdict: Undecided, Whole: i == 0})
			told = append(told, couple{at: i})
		}
		limits = callAll(out, told, nulls, 0)
		return out
	}
	// Half of 5 % for one: 2.24; for the two others 2.49, together; when the first is called 2.24 for them.
	if c := called(2.15, 2.4, 0); c[0].Verdict == Rose || c[1].Verdict == Rose {
		t.Errorf("called without cause: %v, %v", c[0].Verdict, c[1].Verdict)
	}
	if c := called(2.35, -2.4, 0); c[0].Verdict != Rose || c[1].Verdict != Fell || c[2].Verdict != Undecided {
		t.Errorf("not stepped down: %v, %v, %v", c[0].Verdict, c[1].Verdict, c[2].Verdict)
	}
	if called(0, 0, 0); math.Abs(limits[0]-2.24) > 0.06 || math.Abs(limits[1]-2.49) > 0.06 {
		t.Errorf("called from %v on", limits)
	}
}
