package matrix

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Miller & Miller, ch. 5: 17.3 µg/mL, s 0.749 (0.748 without rounding on the way),
// ± 1.9; Fieller's interval recomputed in R.
func TestStandardAdditions(t *testing.T) {
	var points []curve.Point
	for i, y := range []float64{0.32, 0.41, 0.52, 0.60, 0.70, 0.77, 0.89} { // added: 0, 5, … 30 µg/mL
		points = append(points, curve.Point{Level: 5 * float64(i), Signal: y, Dilution: 1})
	}
	a, err := Additions(points, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{{"x_E as printed", a.Value, 17.3, 0.05}, {"x_E", a.Value, 17.2605363984674, 1e-9}, {"s(x_E)", a.U, 0.747870636049862, 1e-9}, {"low", a.Low, 15.4369587058635, 1e-8}, {"high", a.High, 19.2938337994115, 1e-8}} {
		if !(math.Abs(x.got-x.want) <= x.tol) {
			t.Errorf("%s: %.12g, want %.12g", x.what, x.got, x.want)
		}
	}
}

// Slopes and offsets of two waters come back within their intervals, 95 times in 100.
func TestMatrixCovers(t *testing.T) {
	for _, tc := range []struct {
		shape curve.Shape
		at    func(c float64) float64
	}{
		{curve.Line, func(c float64) float64 { return 0.01 + 0.08*c }},
		{curve.StrayLight, func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010) }},
	} {
		matrixCovers(t, tc.shape, tc.at)
	}
}

func matrixCovers(t *testing.T, shape curve.Shape, at func(c float64) float64) {
	const runs = 400
	slopeIn, offsetIn := 0, 0
	for run := range runs {
		r := num.Source(6, uint64(run))
		water := func(slope, offset float64) (out []curve.Point) {
			for _, c := range []float64{0, 2, 4, 8, 12} {
				for range 3 {
					out = append(out, curve.Point{Level: c, Dilution: 1, Signal: at(slope*c+offset) + 0.006*r.NormFloat64()})
				}
			}
			return out
		}
		m, err := Compare(water(1, 0), water(0.6, 0.3), curve.Options{Shape: shape, Weights: curve.Equal, Sure: true}, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if m.SlopeLow <= 0.6 && 0.6 <= m.SlopeHigh {
			slopeIn++
		}
		if m.OffsetLow <= 0.3 && 0.3 <= m.OffsetHigh {
			offsetIn++
		}
		if run == 0 && (m.Verdict != DifferentSlope || m.OffsetLow <= 0 && m.OffsetHigh >= 0) {
			t.Errorf("%s, shift %g to %g", m.Verdict, m.OffsetLow, m.OffsetHigh)
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
			water := func(slope, offset float64) (out []curve.Point) {
				for _, c := range []float64{0, 2, 4, 8, 12} {
					for range 4 {
						x := slope*c + offset
						out = append(out, curve.Point{Level: c, Dilution: 1, Signal: 0.012 - math.Log10((math.Pow(10, -0.160*x)+0.010)/1.010) + 0.002*r.NormFloat64()})
					}
				}
				return out
			}
			m, err := Compare(water(1, 0), water(tc.slope, tc.offset), curve.Options{Light: true}, 0.05)
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

// Two waters through points that start flat, as a parabola does and a dead zone: limits hold what either makes of them.
func TestMatrixThroughCurvesAlike(t *testing.T) {
	const runs = 40
	alike, held := 0, 0
	for run := range runs {
		r := num.Source(62, uint64(run))
		water := func(slope float64) (out []curve.Point) {
			for _, c := range []float64{0, 0.25, 0.5, 0.75, 1} {
				for range 3 {
					x := slope * c
					out = append(out, curve.Point{Level: c, Dilution: 1, Signal: 0.01 + 0.02*math.Log1p(math.Exp((x-0.14)/0.02)) + 0.004*r.NormFloat64()})
				}
			}
			return out
		}
		first, second := water(1), water(0.7)
		m, err := Compare(first, second, curve.Options{Light: true}, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if m.Curve.Beside == nil {
			continue
		}
		alike++
		for _, shape := range []curve.Shape{m.Curve.Shape, curve.DeadZone} {
			one, err := Compare(first, second, curve.Options{Light: true, Shape: shape}, 0.05)
			if err != nil {
				t.Fatal(err)
			}
			if one.SlopeLow < m.SlopeLow || one.SlopeHigh > m.SlopeHigh || one.OffsetLow < m.OffsetLow || one.OffsetHigh > m.OffsetHigh {
				t.Fatalf("%s: %+v, by all %+v", shape, one, m)
			}
		}
		if m.SlopeLow <= 0.7 && 0.7 <= m.SlopeHigh {
			held++
		}
	}
	if alike < runs/4 || held < alike*9/10 {
		t.Errorf("of %d curves that a dead zone follows as well %d hold the slope", alike, held)
	}
}

// Where it is not known how signals scatter, a shift is seen where there is none in no more than 1 of 20 pairs of
// waters: signals near nothing scatter least, and who weighs by one guess at that counts on too much (17 of 100).
func TestMatrixCoversWeightsFromSpread(t *testing.T) {
	const runs = 150
	slopeIn, offsetIn := 0, 0
	for run := range runs {
		r := num.Source(61, uint64(run))
		water := func(slope float64) (out []curve.Point) {
			for _, c := range []float64{0, 2, 4, 8, 12} {
				for range 2 {
					y := 0.012 + 0.08*slope*c
					out = append(out, curve.Point{Level: c, Dilution: 1, Signal: y + math.Hypot(0.004, 0.03*y)*r.NormFloat64()})
				}
			}
			return out
		}
		m, err := Compare(water(1), water(0.8), curve.Options{}, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if m.SlopeLow <= 0.8 && 0.8 <= m.SlopeHigh {
			slopeIn++
		}
		if m.OffsetLow <= 0 && 0 <= m.OffsetHigh {
			offsetIn++
		}
	}
	for what, n := range map[string]int{"slope": slopeIn, "offset": offsetIn} {
		if share := float64(n) / runs; share < 0.92 {
			t.Errorf("%s covered %.3f", what, share)
		}
	}
}

// Additions to a method that saturates, in a water that lets four fifths of its slope through, in either of the two ways: read through the
// curve of pure water they hold what is in it; by a line they said half as much again, 4 times in 100 the right thing.
func TestAdditionsThroughACurve(t *testing.T) {
	const runs, holds, share = 40, 2.5, 0.8
	at := func(c float64) float64 { return 0.012 + 0.1*c/(1+0.08*c) }
	for _, weakened := range []bool{false, true} {
		held, said := 0, 0
		for run := range runs {
			r := num.Source(71, uint64(run))
			points := func(levels []float64, times int, signal func(c float64) float64) (out []curve.Point) {
				for _, c := range levels {
					for range times {
						out = append(out, curve.Point{Level: c, Dilution: 1, Signal: signal(c) + 0.003*r.NormFloat64()})
					}
				}
				return out
			}
			pure := points([]float64{0, 1, 2, 4, 7, 10}, 3, at)
			c, err := curve.Fit(pure, curve.Options{Sure: true})
			if err != nil {
				t.Fatal(err)
			}
			d := curve.Document{Curve: c, Choices: curve.Choices{Shape: "auto", Weights: "auto"}, Conversion: curve.Conversion{Kind: curve.Other}}
			for _, p := range pure {
				d.Points = append(d.Points, curve.PointBack{Point: p})
			}
			water := points([]float64{0, 1, 2, 4}, 2, func(c float64) float64 {
				if weakened {
					return 0.012 + share*(at(c+holds)-0.012)
				}
				return at(share * (c + holds))
			})
			a, err := Additions(water, &Zero{0.012 + 0.001*r.NormFloat64(), 0.001}, d.Alike())
			if err != nil {
				t.Fatal(err)
			}
			if math.IsNaN(a.Value) {
				continue
			}
			if said++; a.Low <= holds && holds <= a.High {
				held++
			}
			if a.Straight || !(a.SlopeRatioLow < 1) {
				t.Fatalf("straight: %v, slope %g to %g", a.Straight, a.SlopeRatioLow, a.SlopeRatioHigh)
			}
		}
		if said < runs*9/10 || held < said*85/100 { // 95 of 100 less three standard errors
			t.Errorf("colour weakened %v: of %d additions %d have a level, and %d of these hold the water", weakened, runs, said, held)
		}
	}
}

// Beside a straight curve the set is Fieller's, as of a line by itself: the zero is told, and what the curve's slope is off by goes into the water's.
func TestAdditionsThroughALine(t *testing.T) {
	var curved, water []curve.Point
	for i, c := range []float64{0, 2, 4, 8, 12, 0, 2, 4, 8, 12} {
		curved = append(curved, curve.Point{Level: c, Dilution: 1, Signal: 0.01 + 0.08*c + 0.002*float64(i%3-1)})
	}
	for i, c := range []float64{0, 1, 2, 4, 0, 1, 2, 4} {
		water = append(water, curve.Point{Level: c, Dilution: 1, Signal: 0.01 + 0.06*(c+3) + 0.003*float64(i%3-1)})
	}
	c, err := curve.Fit(curved, curve.Options{Shape: curve.Line, Weights: curve.Equal, Sure: true})
	if err != nil {
		t.Fatal(err)
	}
	zero := &Zero{0.01, 0.001}
	a, err := Additions(water, zero, []curve.Curve{c})
	alone, err2 := Additions(water, zero, nil)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	for what, pair := range map[string][2]float64{"level": {a.Value, alone.Value}, "u": {a.U, alone.U}, "slope": {a.Slope, alone.Slope}, "signal at nothing": {a.At(-a.Value), 0.01}, "signal at 4": {a.At(4), alone.At(4)}} {
		if !(math.Abs(pair[0]-pair[1]) <= 2e-3*math.Abs(pair[1])) {
			t.Errorf("%s: %.8g, by the line alone %.8g", what, pair[0], pair[1])
		}
	}
	// what is stated, of zero and knowns, has no part in the degrees of freedom: a little narrower than with those of the readings alone
	if !(a.Low >= alone.Low && a.Low < alone.Low+0.1*alone.U && a.High <= alone.High && a.High > alone.High-0.1*alone.U) || a.Straight || !alone.Straight {
		t.Errorf("%.6g to %.6g, by the line alone %.6g to %.6g", a.Low, a.High, alone.Low, alone.High)
	}
}

// Where no curve tells the shape, additions that bend have no level, and others have one that a note and Straight make conditional.
func TestAdditionsWithoutACurve(t *testing.T) {
	water := func(bend float64) (out []curve.Point) {
		for i, c := range []float64{0, 2, 4, 8, 0, 2, 4, 8} {
			out = append(out, curve.Point{Level: c, Dilution: 1, Signal: 0.012 + 0.08*(c+4)/(1+bend*(c+4)) + 0.002*float64(i%3-1)})
		}
		return out
	}
	if a, err := Additions(water(0.05), nil, nil); err != nil || !math.IsNaN(a.Value) || !noted(a, "additions-bent") || !(a.BentP < 0.01) {
		t.Errorf("%v: bent, %g, p %g, %v", err, a.Value, a.BentP, a.Notes)
	}
	if a, err := Additions(water(0), nil, nil); err != nil || !(a.Low < 4.15 && 4.15 < a.High) || !a.Straight || !noted(a, "additions-as-straight") {
		t.Errorf("%v: straight, %g to %g, p %g, %v", err, a.Low, a.High, a.BentP, a.Notes)
	}
}

// Additions that leave the curve's range are left out, and where too few stay, the reason stands in place of a level.
func TestAdditionsBeyondACurve(t *testing.T) {
	var curved []curve.Point
	for i, c := range []float64{0, 2, 4, 6, 8, 0, 2, 4, 6, 8} {
		curved = append(curved, curve.Point{Level: c, Dilution: 1, Signal: 0.01 + 0.08*c + 0.002*float64(i%3-1)})
	}
	c, err := curve.Fit(curved, curve.Options{Shape: curve.Line, Sure: true})
	if err != nil {
		t.Fatal(err)
	}
	at := func(levels ...float64) (out []curve.Point) {
		for i, x := range levels {
			out = append(out, curve.Point{Level: x, Dilution: 1, Signal: 0.01 + 0.08*(x+3) + 0.001*float64(i%3-1)})
		}
		return out
	}
	if a, err := Additions(at(0, 0, 2, 2, 4, 4, 40, 40), nil, []curve.Curve{c}); err != nil || !(a.Low < 3 && 3 < a.High) || a.N != 6 || !noted(a, "additions-left-out") || !noted(a, "blank-by-curve") {
		t.Errorf("%v: %g to %g of %d, %v", err, a.Low, a.High, a.N, a.Notes)
	}
	if a, err := Additions(at(0, 0, 0, 40, 40), nil, []curve.Curve{c}); err != nil || !math.IsNaN(a.Value) || !noted(a, "additions-beyond-curve") {
		t.Errorf("%v: %g, %v", err, a.Value, a.Notes)
	}
}

func noted(a Added, code string) bool {
	return slices.ContainsFunc(a.Notes, func(n note.Note) bool { return n.Code == code })
}
