package curve

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/response"
)

// Miller & Miller, ch. 5: 17.3 µg/mL, s 0.749 (0.748 without rounding on the way),
// ± 1.9; Fieller's interval recomputed in R.
func TestStandardAdditions(t *testing.T) {
	a, err := Additions(pointsFrom(t, "miller_standard_addition.csv", "added_Ag_ug_per_mL", "absorbance"), 0, 0, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := values(t, "miller_standard_addition.json")
	printed(t, "x_E", a.Value, 17.3, 0.1)
	near(t, "x_E", a.Value, dig(t, d, "x_E"), 1e-11)
	near(t, "s(x_E)", a.U, dig(t, d, "s_xE"), 1e-10)
	near(t, "low", a.Low, dig(t, d, "fieller95", 0), 1e-9)
	near(t, "high", a.High, dig(t, d, "fieller95", 1), 1e-9)
}

// A table's worst error is held against every other choice of knots.
func TestPairsAreTheBest(t *testing.T) {
	c := mustFit(t, bent(3), Options{Shape: StrayLight, Light: true})
	c.setTop(10)
	d := Digits{Level: 0, Signal: 3} // levels 0 … 10: few enough to try every choice
	for n := 2; n <= 5; n++ {
		got, err := c.Pairs(n, d)
		if err != nil {
			t.Fatal(err)
		}
		level, signal := c.trace()
		best := math.Inf(1)
		var try func(at []int)
		try = func(at []int) {
			if len(at) == n-1 {
				table := Table{}
				for _, k := range append(append([]int{}, at...), 10) {
					table.Pairs = append(table.Pairs, Pair{float64(k), round(c.At(float64(k)), 3)})
				}
				worst, _ := table.added(level, signal)
				best = math.Min(best, worst)
				return
			}
			for k := at[len(at)-1] + 1; k < 10; k++ {
				try(append(append([]int{}, at...), k))
			}
		}
		try([]int{0})
		near(t, "worst error", got.Worst, best, 1e-12)
		for _, e := range got.Expected {
			if math.Abs(e.Level-c.levelOf(e.Signal)) > got.Worst*1.000001 {
				t.Errorf("check sheet: %v is off by more than %g", e, got.Worst)
			}
		}
	}
	coarse, _ := c.Pairs(5, Digits{Level: 0, Signal: 2})
	if !(coarse.Worst > coarse.Unrounded) {
		t.Error("rounding added nothing")
	}
}

func TestPolynomialForInstrument(t *testing.T) {
	c := mustFit(t, bent(4), Options{Shape: StrayLight, Light: true})
	last := math.Inf(1)
	for order := 1; order <= 4; order++ {
		p, err := c.Polynomial(order, Digits{Level: 2, Signal: 3, Coefficient: 6})
		if err != nil {
			t.Fatal(err)
		}
		if !(p.Worst < last) {
			t.Errorf("order %d adds %g, a lower one %g", order, p.Worst, last)
		}
		last = p.Worst
		level, signal := c.trace()
		for i := range level { // the coefficients by themselves, as an instrument would
			x := 0.0
			for j, k := range p.Coefficients {
				x += k * math.Pow(signal[i], float64(j))
			}
			if math.Abs(x-level[i]) > p.Worst*(1+1e-9) {
				t.Fatalf("at %g it shows %g", level[i], x)
			}
		}
	}
	line := mustFit(t, pointsOf([]float64{0, 0, 5, 5, 10, 10}, []float64{0.01, 0.012, 0.41, 0.412, 0.81, 0.813}), plain)
	p, _ := line.Polynomial(1, Digits{Level: 2, Signal: 3, Coefficient: 9})
	if p.Worst > 1e-6 {
		t.Errorf("a line as a line adds %g", p.Worst)
	}
}

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
		j := Joins(s)[0]
		if want := 8 / truth; !(j.RatioLow <= want && want <= j.RatioHigh) || j.RatioHigh-j.RatioLow > 0.1 {
			t.Errorf("true ratio %.4f, found %.4f (%.4f to %.4f)", want, j.Ratio, j.RatioLow, j.RatioHigh)
		}
		if off := strings.Contains(j.Words, "The join is off"); off != (truth != 8) {
			t.Errorf("factor %g: %s", truth, j.Words)
		}
		// Its own segment reads a diluted sample right whatever the factor really is.
		d := Document{Curve: s[0].Curve, Segments: s, Conversion: Conversion{Kind: Absorbance}}
		got, _ := d.Read(Sample{Signals: []float64{a(20 / truth)}, Dilution: 8})
		if math.Abs(got.Level-20) > 1 {
			t.Errorf("20 is read as %g", got.Level)
		}
	}
}

// Slopes and offsets of two waters come back within their intervals, 95 times in 100.
func TestMatrixCovers(t *testing.T) {
	for _, tc := range []struct {
		shape Shape
		at    func(c float64) float64
	}{
		{Line, func(c float64) float64 { return 0.01 + 0.08*c }},
		{StrayLight, func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010) }},
	} {
		matrixCovers(t, tc.shape, tc.at)
	}
}

func matrixCovers(t *testing.T, shape Shape, at func(c float64) float64) {
	const runs = 400
	slopeIn, offsetIn := 0, 0
	for run := range runs {
		r := num.Source(6, uint64(run))
		water := func(slope, offset float64) (out []Point) {
			for _, c := range []float64{0, 2, 4, 8, 12} {
				for range 3 {
					out = append(out, Point{Level: c, Dilution: 1, Signal: at(slope*c+offset) + 0.006*r.NormFloat64()})
				}
			}
			return out
		}
		m, err := Matrix(water(1, 0), water(0.6, 0.3), Options{Shape: shape, Weights: Equal, Sure: true}, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if m.SlopeLow <= 0.6 && 0.6 <= m.SlopeHigh {
			slopeIn++
		}
		if m.OffsetLow <= 0.3 && 0.3 <= m.OffsetHigh {
			offsetIn++
		}
		if run == 0 && (m.Verdict != DifferentSlope || !strings.Contains(m.Words, "constant shift of")) {
			t.Error(m.Words)
		}
	}
	for what, n := range map[string]int{"slope": slopeIn, "offset": offsetIn} {
		if share := float64(n) / runs; share < 0.92 || share > 0.98 { // ± 3 standard errors
			t.Errorf("%s: %s covered %.3f", shape, what, share)
		}
	}
}

// Over many pairs of waters the words are right as often as 95 % limits promise.
func TestMatrixTellsProportionalFromConstant(t *testing.T) {
	const runs = 100
	for _, tc := range []struct {
		slope, offset float64
		verdict       string
		shift         bool
	}{{1, 0, SameSlope, false}, {0.6, 0, DifferentSlope, false}, {1, 0.5, SameSlope, true}, {0.7, 0.5, DifferentSlope, true}} {
		right := 0
		for run := range runs {
			r := num.Source(7, uint64(run))
			water := func(slope, offset float64) (out []Point) {
				for _, c := range []float64{0, 2, 4, 8, 12} {
					for range 4 {
						x := slope*c + offset
						out = append(out, Point{Level: c, Dilution: 1, Signal: 0.012 - math.Log10((math.Pow(10, -0.160*x)+0.010)/1.010) + 0.002*r.NormFloat64()})
					}
				}
				return out
			}
			m, err := Matrix(water(1, 0), water(tc.slope, tc.offset), Options{Light: true}, 0.05)
			if err != nil {
				t.Fatal(err)
			}
			if shift := m.OffsetLow > 0 || m.OffsetHigh < 0; m.Verdict == tc.verdict && shift == tc.shift {
				right++
			}
		}
		if right < 88 { // 95 less three standard errors
			t.Errorf("slope %g, offset %g: right %d times in %d", tc.slope, tc.offset, right, runs)
		}
	}
}

func TestVersions(t *testing.T) {
	old := mustFit(t, bent(8), Options{Shape: StrayLight, Light: true})
	again := mustFit(t, bent(9), Options{Shape: StrayLight, Light: true})
	if k := Compare(old, again, nil); k.Verdict != NotSeen {
		t.Error(k.Words)
	}
	weaker := old.WithSlope(0.8, 0.01)
	k := Compare(old, weaker, nil)
	if k.Verdict != Different {
		t.Error(k.Words)
	}
	for _, s := range k.Shifts { // what the old one takes for x is really x/0.8
		if math.Abs(s.New-s.Level/0.8) > 1e-9 {
			t.Errorf("the old curve's %g is now %g", s.Level, s.New)
		}
	}
	need := &knownwater.Need{Permitted: []knownwater.Permit{{At: 0, Error: 5}}}
	if k := Compare(old, weaker, need); k.Verdict != SameForNeed {
		t.Error(k.Words)
	}
	need.Permitted[0].Error = 0.3
	if k := Compare(old, weaker, need); k.Verdict != Different {
		t.Error(k.Words)
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
			t.Errorf("%s: %v %q %s", tc.what, err, r.Verdict, r.Words)
		}
	}
}

// A dye band of 90 nm about 543 nm, noise that grows towards blue, and a yellow
// interferent that absorbs there.
func TestScan(t *testing.T) {
	r := num.Source(13)
	band := func(nm, centre, width float64) float64 {
		z := (nm - centre) / (width / 2.3548)
		return math.Exp(-z * z / 2)
	}
	s := Spectra{}
	for nm := 440.0; nm <= 660; nm += 2 {
		s.Wavelength = append(s.Wavelength, nm)
	}
	add := func(name string, level float64, interferent bool, a func(nm float64) float64) {
		v := Vial{Name: name, Level: level, Interferent: interferent}
		for _, nm := range s.Wavelength {
			v.Absorbance = append(v.Absorbance, a(nm)+0.003*r.NormFloat64())
		}
		s.Vials = append(s.Vials, v)
	}
	for _, c := range []float64{0, 2, 4, 6, 8} {
		for range 3 {
			add("", c, false, func(nm float64) float64 { return 0.16*c*band(nm, 543, 90) + 0.01 })
		}
	}
	add("yellow", 0, true, func(nm float64) float64 { return 0.3*band(nm, 430, 120) + 0.01 })
	got, err := ScanSpectra(s)
	if err != nil {
		t.Fatal(err)
	}
	if got.Best.Wavelength < 530 || got.Best.Wavelength > 580 {
		t.Errorf("chose %g nm", got.Best.Wavelength)
	}
	if len(got.Wide) != 3 {
		t.Fatalf("%d wide sources", len(got.Wide))
	}
	last := got.Best.Slope * 1.02 // noise alone may move one wavelength this much
	for _, w := range got.Wide {
		if w.Slope > last {
			t.Errorf("a source of %g nm is steeper: %g after %g", w.Width, w.Slope, last)
		}
		last = w.Slope
	}
	if !(got.Wide[2].Bend > got.Wide[0].Bend) {
		t.Error("a wider source bends less")
	}
	// At little colour a normal source of width s over a normal band of width w
	// sees ∫S·band/∫S = w/√(w² + s²) of the slope, where absorbances add.
	small := Spectra{Wavelength: s.Wavelength}
	for _, c := range []float64{0, 0.01, 0.02} {
		v := Vial{Level: c}
		for _, nm := range s.Wavelength {
			v.Absorbance = append(v.Absorbance, 0.16*c*band(nm, 543, 90))
		}
		small.Vials = append(small.Vials, v)
	}
	b, _ := small.wide(542, 40)
	near(t, "slope of a wide source", b.Slope, 0.16*90/math.Hypot(90, 40), 2e-3)
}
