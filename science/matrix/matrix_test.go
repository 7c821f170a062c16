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
	a, err := Additions(points, 0, 0, nil)
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

// Additions to a method whose answers bend, too little for these few to show it: the water is said to hold too much, and
// it is said that nothing tells the line from a bend; not beside a curve that is straight.
func TestAdditionsMayBend(t *testing.T) {
	const runs, holds = 200, 4.
	above, quiet := 0, 0
	for run := range runs {
		r := num.Source(7, uint64(run))
		water := func(from float64) (out []curve.Point) {
			for _, c := range []float64{0, 2, 4, 8} {
				for range 2 {
					x := c + from
					out = append(out, curve.Point{Level: c, Dilution: 1, Signal: 0.012 + 0.08*x/(1+0.006*x) + 0.006*r.NormFloat64()})
				}
			}
			return out
		}
		a, err := Additions(water(holds), 0.012, 0.001, nil)
		if err != nil {
			t.Fatal(err)
		}
		if a.bent() == noted(a, "additions-as-straight") {
			t.Fatalf("lack of fit %g, notes %v", a.BentP, a.Notes)
		}
		if !a.bent() {
			quiet++
			if a.Low > holds {
				above++
			}
		}
	}
	if quiet < runs*3/4 || above < quiet/8 {
		t.Errorf("of %d additions that no bend shows in, %d say that the water holds too much: a note says more than is so", quiet, above)
	}
	straight := []curve.Point{{Level: 0, Signal: 0.01}, {Level: 4, Signal: 0.33}, {Level: 8, Signal: 0.651}, {Level: 12, Signal: 0.969}, {Level: 4, Signal: 0.332}}
	for i := range straight {
		straight[i].Dilution = 1
	}
	line, err := curve.Fit(straight, curve.Options{Shape: curve.Line, Sure: true})
	if err != nil {
		t.Fatal(err)
	}
	if a, err := Additions(straight, 0, 0, &line); err != nil || noted(a, "additions-as-straight") {
		t.Errorf("%v: beside a straight curve %v", err, a.Notes)
	}
}

func noted(a Added, code string) bool {
	return slices.ContainsFunc(a.Notes, func(n note.Note) bool { return n.Code == code })
}
