package curve

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// Of two curves by the same instrument, which differ by nothing, the interval that is printed where they differ most holds
// 0: it is the largest of thirteen differences, and the interval of one of them held 0 in 88 of 100.
func TestWhereTwoCurvesDifferMost(t *testing.T) {
	const runs = 120
	held := 0
	for run := range runs {
		r := num.Source(21, uint64(run))
		made := func() Curve {
			var points []Point
			for _, c := range []float64{0, 2, 4, 8, 12} {
				for range 2 {
					y := 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010)
					points = append(points, Point{Level: c, Dilution: 1, Signal: y + math.Hypot(0.004, 0.03*y)*r.NormFloat64()})
				}
			}
			c, err := Fit(points, Options{Light: true})
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		if w := Compare(made(), made(), nil).Worst; w.Low <= 0 && 0 <= w.High {
			held++
		}
	}
	if held < runs*94/100 {
		t.Errorf("held in %d of %d", held, runs)
	}
}

// Of two curves from one truth with 1 % of stray light, seven knowns five times each, some choose a line and others the bend. By the chosen ones alone
// 16 of 100 pairs were called different, by all that the points do not tell apart 1. These are the first five of the 16; of a slope that is 7 % less it is said.
func TestCurvesOfOneBentTruth(t *testing.T) {
	at := func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.09*c)+0.01)/1.01) }
	for _, run := range []uint64{12, 14, 20, 21, 27} {
		rng := num.Source(run, 52)
		made := func() Document {
			var points []Point
			for _, c := range []float64{0, 1, 2, 4, 6, 9, 12} {
				for range 5 {
					points = append(points, Point{Level: c, Dilution: 1, Signal: at(c) + math.Hypot(0.002, 0.02*(at(c)-0.012))*rng.NormFloat64()})
				}
			}
			c := mustFit(t, points, Options{Light: true})
			return Document{Curve: c, Conversion: Conversion{Kind: Absorbance}, Points: c.PointsBack(points)}
		}
		a, b := made(), made()
		if k := a.Compare(b, nil); k.Verdict != NotSeen {
			t.Errorf("pair %d, %s and %s: %s", run, a.Shape, b.Shape, k.Verdict)
		}
		if k := compare(a.Alike(), []Curve{b.WithSlope(0.93, 0)}, nil); k.Verdict != Different {
			t.Errorf("pair %d, the second with another slope: %s", run, k.Verdict)
		}
	}
}
