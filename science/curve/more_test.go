package curve

import (
	"math"
	"math/rand/v2"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/response"
)

// The demo's sample syringe delivers 0.88 of a mL: diluted 1 + 7 it is really
// (7 + 0.88)/0.88 = 8.955, so what is diluted reads 10.7 % low.
func TestJoinFindsTheFactor(t *testing.T) {
	r := num.Source(5)
	a := func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010) }
	for _, truth := range []float64{8, 8.955} {
		var points []Point
		for _, c := range []float64{0, 1, 2, 4, 6, 8} {
			for range 3 {
				points = append(points, Point{Level: c, Dilution: 1, Signal: a(c) + 0.003*r.NormFloat64()})
			}
		}
		for _, c := range []float64{0, 8, 16, 24, 32, 40} {
			for range 3 {
				points = append(points, Point{Level: c, Dilution: 8, Signal: a(c/truth) + 0.003*r.NormFloat64()})
			}
		}
		s, err := Fits(points, Options{Light: true})
		if err != nil {
			t.Fatal(err)
		}
		j := Joins(s, points, Options{Light: true})[0]
		if want := 8 / truth; !(j.RatioLow <= want && want <= j.RatioHigh) || j.RatioHigh-j.RatioLow > 0.1 {
			t.Errorf("true ratio %.4f, found %.4f (%.4f to %.4f)", want, j.Ratio, j.RatioLow, j.RatioHigh)
		}
		if off := j.Says.Code == "join-is-off"; off != (truth != 8) {
			t.Errorf("factor %g: %+v", truth, j.Says)
		}
		// Its own segment reads a diluted sample right whatever the factor really is.
		d := Document{Curve: s[0].Curve, Segments: s, Conversion: Conversion{Kind: Absorbance}}
		got, _ := d.Read(Sample{Signals: []float64{a(20 / truth)}, Dilution: 8})
		if !(math.Abs(got.Level-20) <= 1) {
			t.Errorf("20 is read as %g", got.Level)
		}
	}
}

func TestVersions(t *testing.T) {
	old := mustFit(t, bent(8), Options{Shape: StrayLight, Light: true})
	again := mustFit(t, bent(9), Options{Shape: StrayLight, Light: true})
	if k := Compare(old, again, nil); k.Verdict != NotSeen {
		t.Error(k.Verdict)
	}
	weaker := old.WithSlope(0.8, 0.01)
	k := Compare(old, weaker, nil)
	if k.Verdict != Different {
		t.Error(k.Verdict)
	}
	for _, s := range k.Shifts { // what the old one takes for x is really x/0.8
		if !(math.Abs(s.New-s.Level/0.8) <= 1e-9) {
			t.Errorf("the old curve's %g is now %g", s.Level, s.New)
		}
	}
	need := &knownwater.Need{Permitted: []knownwater.Permit{{At: 0, Error: 5}}}
	if k := Compare(old, weaker, need); k.Verdict != SameForNeed {
		t.Error(k.Verdict)
	}
	need.Permitted[0].Error = 0.3
	if k := Compare(old, weaker, need); k.Verdict != Different {
		t.Error(k.Verdict)
	}
}

// Two curves from one truth are called different in 5 of 100, not in one of ten as by the
// intervals of thirteen places each: 300 pairs of lines, at most 22 (binomial, 97 %), and of
// lines whose slopes differ by 6 standard errors nine of ten are.
func TestVersionsOfOneTruth(t *testing.T) {
	one := func(seed uint64, slope float64) Curve {
		rng := num.Source(seed, 5)
		var p []Point
		for _, x := range []float64{0, 2, 5, 10, 15, 20} {
			for range 2 {
				p = append(p, Point{Level: x, Signal: 0.01 + slope*x + 0.004*rng.NormFloat64(), Dilution: 1})
			}
		}
		return mustFit(t, p, Options{Shape: Line})
	}
	const runs = 300
	called := map[string]int{}
	for i := range uint64(runs) {
		old := one(2*i, 0.05)
		called["same truth "+Compare(old, one(2*i+1, 0.05), nil).Verdict]++
		called["other slope "+Compare(old, one(2*i+1, 0.0514), nil).Verdict]++
	}
	t.Log(called)
	if n := called["same truth "+Different]; n > 22 || n < 3 {
		t.Errorf("of one truth %d of %d are called different, want 3 to 22", n, runs)
	}
	if n := called["other slope "+Different]; n < 270 {
		t.Errorf("with another slope %d of %d are called different, want 270", n, runs)
	}
}

// A verdict for a need speaks of the need's range: not of what lies beyond it, and never of a
// part of it as of the whole.
func TestVersionsForANeed(t *testing.T) {
	old := mustFit(t, bent(8), Options{Shape: StrayLight, Light: true})
	weaker := old.WithSlope(0.8, 0.01)
	low, high := old.Range.LevelLow, old.Range.LevelHigh
	part := &knownwater.Need{Low: low, High: low + (high-low)/10, Permitted: []knownwater.Permit{{At: 0, Error: (high - low) / 30}}}
	k := Compare(old, weaker, part) // differs by a quarter of the level: too much beyond the need only
	if k.Verdict != SameForNeed || k.To != part.High {
		t.Errorf("%s up to %g, want the same up to %g", k.Verdict, k.To, part.High)
	}
	beyond := &knownwater.Need{Low: low, High: 2 * high, Permitted: []knownwater.Permit{{At: 0, Error: high}}}
	if k := Compare(old, weaker, beyond); k.Verdict != Undecided {
		t.Errorf("%s, though the curves end in the middle of the need", k.Verdict)
	}
}

func TestWithSlopeKeepsTheShape(t *testing.T) {
	for _, f := range response.All {
		if f.Name == DeadZone {
			continue
		}
		for _, w := range []Weights{"", Equal, OverX, OverX2} {
			c := mustFit(t, bent(10), Options{Shape: f.Name, Weights: w, Light: true})
			n := c.WithSlope(0.8, 0)
			for _, x := range []float64{0.5, 3, 7} {
				near(t, string(f.Name), n.At(x), c.At(0.8*x), 1e-12)
			}
			y := []float64{c.At(2.4)}
			a, b := c.Read(Sample{Signals: y}), n.Read(Sample{Signals: y})
			near(t, "level", b.Level, a.Level/0.8, 1e-9)
			near(t, "u", b.U, a.U/0.8, 1e-9)
			near(t, "low", b.Low, a.Low/0.8, 1e-7)
			near(t, "high", b.High, a.High/0.8, 1e-7)
		}
	}
	p := deadZonePoints(num.Source(11))
	c := mustFit(t, p, Options{Shape: DeadZone})
	n := c.WithSlope(0.8, 0)
	near(t, "dead zone", n.At(10), c.At(8), 1e-12)
}

// deadZonePoints are displays of a fresh-water program in salt water: nothing
// shows below about 2.
func deadZonePoints(r *rand.Rand) (out []Point) {
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20} {
		for range 3 {
			y := 2.4 + 0.58*0.25*math.Log1p(math.Exp((c-1.8)/0.25))
			out = append(out, Point{Level: c, Dilution: 1, Signal: math.Round(10*(y+0.05*r.NormFloat64())) / 10})
		}
	}
	return out
}

func TestTwoPoint(t *testing.T) {
	c := mustFit(t, bent(12), Options{Shape: StrayLight, Light: true})
	signals := func(x float64, n int) (out []float64) {
		for range n {
			out = append(out, c.At(x))
		}
		return out
	}
	for _, tc := range []struct {
		what    string
		blank   float64
		knowns  []Retest
		verdict string
	}{
		{"nothing changed", c.At(0), []Retest{{6, 0, signals(6, 4)}}, Holds},
		{"slope at 80 %", c.At(0), []Retest{{6, 0, signals(4.8, 4)}}, UpdateSlope},
		{"slope at 80 %, two knowns", c.At(0), []Retest{{3, 0, signals(2.4, 4)}, {9, 0, signals(7.2, 4)}}, UpdateSlope},
		{"shape changed", c.At(0), []Retest{{3, 0, signals(3, 4)}, {9, 0, signals(6.5, 4)}}, NewCurve},
		{"blank moved", c.At(0) + 0.1, []Retest{{6, 0, signals(6, 4)}}, NewCurve},
		{"known too unsure to tell", c.At(0), []Retest{{6, 0.6, signals(6, 4)}}, Undecided},
	} {
		r, err := c.TwoPoint([]float64{tc.blank, tc.blank}, tc.knowns, 0.05)
		if err != nil || r.Verdict != tc.verdict {
			t.Errorf("%s: %v %q", tc.what, err, r.Verdict)
		}
	}
}

// A curve that holds is not to be made anew by chance: with two knowns two questions may say so, each asked at 2.5 %. A blank and a pair
// of knowns that lie just outside 95 % are let stand then, beyond 97.5 % they are not; a blank beside one known has 95 % of its own.
func TestTwoQuestionsOfARecheck(t *testing.T) {
	c, err := Fit(made(5, 0.004, []float64{0, 2, 4, 8, 12, 16}, func(c float64) float64 { return 0.02 + 0.05*c }), Options{Shape: Line, Weights: Equal})
	if err != nil {
		t.Fatal(err)
	}
	knowns := func(apart float64) []Retest {
		return []Retest{{Level: 4, Signals: []float64{c.At(4 * (1 - apart))}}, {Level: 12, Signals: []float64{c.At(12 * (1 + apart))}}}
	}
	verdict := func(blank float64, knowns []Retest) string {
		r, err := c.TwoPoint([]float64{c.At(0) + blank}, knowns, 0.5)
		if err != nil {
			t.Fatal(err)
		}
		return r.Verdict
	}
	// the largest blank and the farthest apart that stand where what is left out on both sides is alpha
	blank := func(alpha float64) float64 {
		x, err := num.Root(func(x float64) float64 {
			var r Recheck
			r.blank(c, []float64{c.At(0) + x}, alpha/2)
			return r.BlankLow
		}, 0, 0.1, 1e-9)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	apart := func(alpha float64) float64 {
		low, high := 0.0, 0.5
		for range 40 {
			mid := (low + high) / 2
			var fs factors
			var r Recheck
			for _, k := range knowns(mid) {
				fs.add(c, k)
			}
			if err := r.combine(fs, c, alpha); err != nil {
				t.Fatal(err)
			}
			if r.Agree {
				low = mid
			} else {
				high = mid
			}
		}
		return low
	}
	one := knowns(0)[:1]
	for _, x := range []struct {
		what  string
		said  string
		holds bool
	}{
		{"one known, blank just outside 95 %", verdict(1.01*blank(0.05), one), false},
		{"one known, blank just inside", verdict(0.99*blank(0.05), one), true},
		{"two knowns, blank just outside 95 %", verdict(1.01*blank(0.05), knowns(0)), true},
		{"two knowns, blank just outside 97.5 %", verdict(1.01*blank(0.025), knowns(0)), false},
		{"two knowns just apart at 5 %", verdict(0, knowns(1.01*apart(0.05))), true},
		{"two knowns just apart at 2.5 %", verdict(0, knowns(1.01*apart(0.025))), false},
	} {
		if (x.said != NewCurve) != x.holds {
			t.Errorf("%s: %s", x.what, x.said)
		}
	}
}
