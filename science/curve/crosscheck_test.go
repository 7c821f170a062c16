package curve

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// R's lm and nls on the points of testdata/crosscheck.R; nls (its derivatives in closed form) stops at a relative
// offset of 1e-9, so its figures are good to about seven digits.
func TestAgainstR(t *testing.T) {
	points := pointsFrom(t, "crosscheck_points.csv", "level", "signal")
	f, err := os.Open("testdata/crosscheck.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, row := range rows[1:] {
		cut := strings.LastIndex(row[0], " ")
		o := Options{Shape: Shape(row[0][:cut]), Weights: Weights(row[0][cut+1:]), Light: true}
		first := 0
		if o.Weights == "zero" {
			o.Weights, o.ThroughZero, first = Equal, true, 1
		}
		c := mustFit(t, points, o)
		want, err := strconv.ParseFloat(row[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		rel := 1e-9
		if !c.form.Linear {
			rel = 1e-7
		}
		var got float64
		switch q := row[1]; {
		case q == "s":
			got = c.ResidualSD
		case q == "lack_of_fit_p":
			got = c.LackOfFit
		case q == "cov_first_last":
			got = c.Cov[first][len(c.Coef)-1]
		case strings.HasPrefix(q, "se"):
			j, _ := strconv.Atoi(q[2:])
			got = c.SE(j + first)
		default:
			j, _ := strconv.Atoi(q[1:])
			got = c.Coef[j+first]
		}
		near(t, row[0]+" "+row[1], got, want, rel)
		seen[row[0]] = true
	}
	if len(seen) != 10 {
		t.Errorf("%d fits were compared", len(seen))
	}
}

// Davidian & Giltinan's DNase assay: ten runs fitted, the eleventh read; the
// optical density saturates. Every run in turn is the one that is read.
func TestDNase(t *testing.T) {
	col := columns(t, "dnase.csv", "Run", "conc", "density")
	in, all, outside, closed, inClosed := 0, 0, 0, 0, 0
	for left := 1.0; left <= 11; left++ {
		var points []Point
		var later [][2]float64
		for i, run := range col[0] {
			p := Point{Level: col[1][i], Signal: col[2][i], Dilution: 1, Session: strconv.Itoa(int(run))}
			if run == left {
				later = append(later, [2]float64{p.Level, p.Signal})
			} else {
				points = append(points, p)
			}
		}
		c := mustFit(t, points, Options{Light: true})
		for _, p := range later {
			r := c.Read(Sample{Signals: []float64{p[1]}})
			all++
			if r.Outside != "" {
				outside++
			}
			hit := !(p[0] < r.Low) && !(p[0] > r.High)
			if hit {
				in++
			}
			if r.Outside == "" && !math.IsNaN(r.High) {
				closed++
				if hit {
					inClosed++
				}
			}
		}
		if left == 11 {
			t.Logf("ten runs: %s, lack of fit p = %.3g", c.Shape, c.LackOfFit)
			found := false
			for _, n := range c.Notes {
				found = found || n.Code == "sessions-differ"
			}
			if !found {
				t.Error("runs differ, and nothing says so")
			}
		}
	}
	share := float64(in) / float64(all)
	t.Logf("covered %d of %d (%.1f %%), %d outside the range", in, all, 100*share, outside)
	t.Logf("of those with both limits %d of %d (%.1f %%)", inClosed, closed, 100*float64(inClosed)/float64(closed))
	if float64(inClosed) < 0.90*float64(closed) {
		t.Errorf("with both limits covered %d of %d", inClosed, closed)
	}
	if share < 0.90 || math.IsNaN(share) {
		t.Errorf("covered %.3f", share)
	}
}
