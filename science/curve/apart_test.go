package curve

import (
	"fmt"
	"math"
	"testing"

	"knownwater/science/num"
)

// A replicate of 0.39 among 0.30 and 0.301 is named, wherever it stands; so is one at the top
// of a curve whose scatter grows.
func TestAReplicateThatDisagreesIsNamed(t *testing.T) {
	triplets := func(top, odd float64) []Point {
		return pointsOf([]float64{0, 0, 0, 2, 2, 2, 4, 4, 4, 8, 8, 8},
			[]float64{0.010, 0.012, 0.011, 0.155, 0.153, 0.156, 0.30, 0.301, odd, top, top + 0.004, top - 0.003})
	}
	for _, c := range []struct {
		points []Point
		row    string
	}{{triplets(0.59, 0.39), "row 10"}, {triplets(0.59, 0.302), ""}, {pointsOf([]float64{0, 1, 2, 4, 4, 4, 8}, []float64{0.01, 0.08, 0.155, 0.30, 0.301, 0.39, 0.60}), "row 7"}} {
		curve := mustFit(t, c.points, Options{})
		found := ""
		for _, n := range curve.Notes {
			if n.Code == "point-apart" {
				found += fmt.Sprintf("row %.0f", float64(n.Numbers["row"][0]))
			}
		}
		if found == "" != (c.row == "") || found != c.row {
			t.Errorf("want %q, found %q", c.row, found)
		}
	}
}

// Clean curves are asked about in at most 5 %, also where the scatter grows.
func TestCleanReplicatesAreNotNamed(t *testing.T) {
	rng := num.Source(31)
	for _, share := range []float64{0, 0.03} {
		named := 0
		const runs = 400
		for range runs {
			var points []Point
			for _, c := range []float64{0, 1, 2, 4, 8} {
				for range 3 {
					y := 0.01 + 0.08*c
					points = append(points, Point{Level: c, Signal: y + math.Hypot(0.004, share*y)*rng.NormFloat64(), Dilution: 1, Row: len(points) + 2})
				}
			}
			if len(standApart(points)) > 0 {
				named++
			}
		}
		if rate := float64(named) / runs; rate > 0.05+2*math.Sqrt(0.05*0.95/runs) {
			t.Errorf("share %g: %.1f %% of clean curves are asked about", share, 100*rate)
		}
	}
}
