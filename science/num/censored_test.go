package num

import (
	"errors"
	"math"
	"testing"
)

// censoredSet reads one of the reference sets; an empty end is open.
func censoredSet(t testing.TB, name string) (X [][]float64, lo, hi []float64) {
	v, text := rows(t, "censored/"+name+".csv")
	inf := math.Inf(1)
	for i, r := range v {
		l, h := r[len(r)-2], r[len(r)-1]
		row := []float64{1}
		switch name {
		case "tobin":
			row = []float64{1, r[1], r[2]}
			l, h = r[0], r[0]
			if l <= 0 {
				l = -inf
			}
		case "chart_calibration":
			row = append(row, r[0])
		case "mixed_lognormal":
			l, h = math.Log(l), math.Log(h)
		case "two_methods_left":
			b := 0.0
			if text[i][0] == "b" {
				b = 1
			}
			row = append(row, b)
		}
		if math.IsNaN(l) {
			l = -inf
		}
		if math.IsNaN(h) {
			h = inf
		}
		X, lo, hi = append(X, row), append(lo, l), append(hi, h)
	}
	return X, lo, hi
}

func censoredAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Interval-censored likelihood (`Censored`)", "coefficients, scale", "standard errors", "log-likelihood")
	var exact struct {
		Solutions map[string]struct {
			Coefficients []float64
			Scale        float64
			SE           []float64
			SELogScale   float64 `json:"se_log_scale"`
			LogLik       float64
		}
	}
	readJSON(t, "censored/exact_mle.json", &exact)
	for _, name := range []string{"tobin", "chart_single_level", "chart_calibration", "mixed_lognormal", "two_methods_left"} {
		X, lo, hi := censoredSet(t, name)
		f, err := Censored(X, lo, hi, nil)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		s := exact.Solutions[name]
		note := "made up; Newton in 40-digit arithmetic"
		if name == "tobin" {
			note = "Tobin 1958; Newton in 40-digit arithmetic"
		}
		a.set(name, 15, note)
		for j := range s.Coefficients {
			a.add("coefficients, scale", f.Coef[j], s.Coefficients[j])
			a.add("standard errors", f.SE(j), s.SE[j])
		}
		a.add("coefficients, scale", f.Scale, s.Scale)
		a.add("standard errors", f.SELogScale(), s.SELogScale)
		a.add("log-likelihood", f.LogLik, s.LogLik)
		t.Logf("%s: %d steps", name, f.Steps)
	}
	X, lo, hi, count := largeCells(t)
	f, err := Censored(X, lo, hi, count)
	if err != nil {
		t.Fatal(err)
	}
	_, text := rows(t, "censored/large_survreg.csv")
	a.set("300 000 readings", 15, "made up, in 1167 cells; R survreg on every reading")
	for i, got := range []float64{f.Coef[0], f.Coef[1], f.Coef[2], f.Scale, f.SE(0), f.SE(1), f.SE(2), f.SELogScale(), f.LogLik} {
		a.add([]string{"coefficients, scale", "standard errors", "log-likelihood"}[i/4], got, parse(text[i][1]))
	}
	return a
}

func largeCells(t testing.TB) (X [][]float64, lo, hi, count []float64) {
	v, _ := rows(t, "censored/large_cells.csv")
	for _, r := range v {
		X = append(X, []float64{1, r[0], r[1]})
		lo, hi, count = append(lo, r[2]), append(hi, r[3]), append(count, r[4])
	}
	return X, lo, hi, count
}

// Moments of narrow and wide intervals must meet where the ways of computing
// them change, and be right against numbers from a fine sum.
func TestTruncatedMoments(t *testing.T) {
	for _, c := range [][2]float64{{-1, 2}, {0.3, 0.56}, {0.3, 0.54}, {0.3, 0.3001}, {-3, -2.8}, {-3, -2.86}, {4, 4.2}, {-6, -5}, {-0.1, 0.1}, {1.9, 2.16}} {
		a, b := c[0], c[1]
		const n = 200000
		var mass, m1, m2, v, cov, q float64
		for pass := range 2 { // the second about the means of the first
			for i := range n {
				z := a + (b-a)*(float64(i)+0.5)/n
				w := math.Exp(-0.5 * z * z)
				if pass == 0 {
					mass, m1, m2 = mass+w, m1+w*z, m2+w*z*z
					continue
				}
				d1, d2 := z-m1, z*z-m2
				v, cov, q = v+w*d1*d1, cov+w*d1*d2, q+w*d2*d2
			}
			if pass == 0 {
				m1, m2 = m1/mass, m2/mass
			}
		}
		got := truncate(a, b)
		for _, q := range []struct {
			name      string
			got, want float64
		}{
			{"m1", got.m1, m1}, {"m2", got.m2, m2}, {"v", got.v, v / mass}, {"c", got.c, cov / mass}, {"q", got.q, q / mass},
		} {
			if e := math.Abs(q.got - q.want); !(e < 1e-9*math.Abs(q.want) || e < 1e-9*v/mass) {
				t.Errorf("(%g, %g) %s = %.12g, want %.12g", a, b, q.name, q.got, q.want)
			}
		}
	}
	open := truncate(math.Inf(-1), math.Inf(1))
	if open.logP != 0 || open.m1 != 0 || open.m2 != 1 || open.v != 1 || open.q != 2 {
		t.Errorf("all of the normal distribution: %+v", open)
	}
}

func ones(n int) [][]float64 {
	X := make([][]float64, n)
	for i := range X {
		X[i] = []float64{1}
	}
	return X
}

// Exact data: mean, SD with divisor n, σ/√n and 1/√(2n).
func TestCensoredExactData(t *testing.T) {
	y := []float64{4.1, 5.3, 3.9, 4.4, 5.0}
	f, err := Censored(ones(5), y, y, nil)
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := MeanSD(y)
	sigma := sd * math.Sqrt(0.8)
	needDigits(t, "mean", f.Coef[0], mean, 14)
	needDigits(t, "σ", f.Scale, sigma, 13)
	needDigits(t, "SE", f.SE(0), sigma/math.Sqrt(5), 13)
	needDigits(t, "SE of log σ", f.SELogScale(), 1/math.Sqrt(10), 13)
	needDigits(t, "log-likelihood", f.LogLik, -2.5*(1+math.Log(2*math.Pi*sigma*sigma)), 13)

	// Shrinking intervals approach it, from 0.1 (Sheppard: σ² less w²/12) downwards.
	for _, w := range []float64{0.1, 1e-3, 1e-6, 1e-9} {
		lo, hi := make([]float64, 5), make([]float64, 5)
		widths := 0.0 // of the intervals as float64 holds them
		for i := range y {
			lo[i], hi[i] = y[i]-w/2, y[i]+w/2
			widths += math.Log(hi[i] - lo[i])
		}
		g, err := Censored(ones(5), lo, hi, nil)
		if err != nil {
			t.Fatalf("width %g: %v", w, err)
		}
		if d := math.Abs(g.Coef[0] - mean); d > w*w+1e-12 {
			t.Errorf("width %g: mean off by %g", w, d)
		}
		want := math.Sqrt(sigma*sigma - w*w/12)
		if d := math.Abs(g.Scale/want - 1); d > w*w*w+1e-8 {
			t.Errorf("width %g: σ %g, want %g", w, g.Scale, want)
		}
		if d := math.Abs(g.LogLik - widths - f.LogLik); d > w*w*10+1e-15/w { // ends are held to 1e-16 of the spread
			t.Errorf("width %g: log-likelihood off by %g", w, d)
		}
	}
}

// A count is a cell written that often; order and units change nothing.
func TestCensoredCountsOrderUnits(t *testing.T) {
	X, lo, hi := censoredSet(t, "chart_calibration")
	base, err := Censored(X, lo, hi, nil)
	if err != nil {
		t.Fatal(err)
	}
	type cell [3]float64
	counts := map[cell]float64{}
	for i := range X {
		counts[cell{X[i][1], lo[i], hi[i]}]++
	}
	var CX [][]float64
	var clo, chi, n []float64
	for c, k := range counts { // in no order at all
		CX, clo, chi, n = append(CX, []float64{1, c[0]}), append(clo, c[1]), append(chi, c[2]), append(n, k)
	}
	byCell, err := Censored(CX, clo, chi, n)
	if err != nil {
		t.Fatal(err)
	}
	const unit, offset = 4.4268, 1e5
	for i := range X {
		lo[i], hi[i] = offset+unit*lo[i], offset+unit*hi[i]
	}
	moved, err := Censored(X, lo, hi, nil)
	if err != nil {
		t.Fatal(err)
	}
	needDigits(t, "cells: intercept", byCell.Coef[0], base.Coef[0], 12)
	needDigits(t, "cells: slope", byCell.Coef[1], base.Coef[1], 12)
	needDigits(t, "cells: σ", byCell.Scale, base.Scale, 12)
	needDigits(t, "cells: SE", byCell.SE(1), base.SE(1), 12)
	needDigits(t, "units: intercept", moved.Coef[0]-offset, unit*base.Coef[0], 9)
	needDigits(t, "units: slope", moved.Coef[1], unit*base.Coef[1], 9)
	needDigits(t, "units: σ", moved.Scale, unit*base.Scale, 9)
	needDigits(t, "units: SE of the slope", moved.SE(1), unit*base.SE(1), 9)
}

func TestCensoredFlat(t *testing.T) {
	inf := math.Inf(1)
	level := [][]float64{{1, 0}, {1, 0}, {1, 0}, {0, 1}, {0, 1}, {0, 1}}
	for _, c := range []struct {
		name   string
		X      [][]float64
		lo, hi []float64
		count  []float64
	}{
		{"all on one swatch", ones(3), []float64{5, 5, 5}, []float64{10, 10, 10}, nil},
		{"one reading", ones(1), []float64{5}, []float64{10}, nil},
		{"all below", ones(3), []float64{-inf, -inf, -inf}, []float64{1, 1, 2}, nil},
		{"all above", ones(2), []float64{3, 4}, []float64{inf, inf}, nil},
		{"open on both sides", ones(2), []float64{-inf, -inf}, []float64{inf, inf}, nil},
		{"two neighbouring swatches, nothing beside them", ones(2), []float64{5, 10}, []float64{10, 20}, []float64{8, 2}},
		{"below here, above there", ones(2), []float64{-inf, 3}, []float64{3, inf}, []float64{4, 5}},
		{"the same value three times", ones(3), []float64{2, 2, 2}, []float64{2, 2, 2}, nil},
		{"one level all open below", level, []float64{-inf, -inf, -inf, 2, 5, 5}, []float64{1, 1, 1, 5, 9, 9}, nil},
		{"intervals that one line runs through", [][]float64{{1, 0}, {1, 1}, {1, 2}}, []float64{0, 1, 2}, []float64{1, 2, 3}, nil},
	} {
		f, err := Censored(c.X, c.lo, c.hi, c.count)
		if err == nil {
			t.Errorf("%s: a maximum at %v, σ %g", c.name, f.Coef, f.Scale)
		} else if !errors.Is(err, ErrFlat) && c.name != "open on both sides" {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// one reading on each side makes it possible
	f, err := Censored(ones(3), []float64{2, 5, 10}, []float64{5, 10, 20}, []float64{1, 1e6, 1})
	if err != nil || !(f.Coef[0] > 5 && f.Coef[0] < 10 && f.Scale > 0.2 && f.Scale < 1) {
		t.Errorf("a million in the middle and one on each side: %+v %v", f, err)
	}
}

func TestCensoredRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		X             [][]float64
		lo, hi, count []float64
	}{
		{ones(2), []float64{1}, []float64{2, 3}, nil},
		{ones(2), []float64{3, 1}, []float64{2, 3}, nil},
		{ones(2), []float64{1, nan}, []float64{2, 3}, nil},
		{ones(2), []float64{1, 1}, []float64{2, 3}, []float64{1, -1}},
		{[][]float64{{1, nan}, {1, 1}, {1, 2}}, []float64{1, 1, 4}, []float64{2, 3, 5}, nil},
		{[][]float64{{1, 2}, {1, 2}, {1, 2}}, []float64{1, 1, 4}, []float64{2, 3, 5}, nil},
	} {
		if f, err := Censored(c.X, c.lo, c.hi, c.count); err == nil {
			t.Errorf("%v: fitted %+v", c, f)
		}
	}
}

// Many small trials of chart readings: wherever the fit succeeds no point near
// it may be likelier, and every failure must be a flat likelihood.
func TestCensoredIsTheMaximum(t *testing.T) {
	rng := Source(77)
	tiles := []float64{math.Inf(-1), 0, 3, 6, 12, 20, 35, 70, math.Inf(1)}
	failed := 0
	for trial := range 500 {
		n := 3 + rng.IntN(40)
		var lo, hi []float64
		mu, sigma := rng.Float64()*40, 0.5+rng.Float64()*6
		for range n {
			y := mu + sigma*rng.NormFloat64()
			for k := 1; k < len(tiles); k++ {
				if y < tiles[k] {
					lo, hi = append(lo, tiles[k-1]), append(hi, tiles[k])
					break
				}
			}
		}
		f, err := Censored(ones(n), lo, hi, nil)
		distinct := map[float64]bool{}
		for _, v := range lo {
			distinct[v] = true
		}
		if err != nil {
			failed++
			if !errors.Is(err, ErrFlat) || len(distinct) > 2 {
				t.Fatalf("trial %d: %v on %v", trial, err, lo)
			}
			continue
		}
		at := func(m, s float64) float64 {
			v := 0.0
			for i := range lo {
				v += LogPhiDiff((lo[i]-m)/s, (hi[i]-m)/s)
			}
			return v
		}
		best := at(f.Coef[0], f.Scale)
		needDigits(t, "log-likelihood", f.LogLik, best, 12)
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			if v := at(f.Coef[0]+1e-4*d[0]*f.SE(0), f.Scale*math.Exp(1e-4*d[1]*f.SELogScale())); v > best+1e-13*math.Abs(best) {
				t.Errorf("trial %d: %g beside %g", trial, v, best)
			}
		}
	}
	if failed == 0 || failed > 400 {
		t.Errorf("%d of 500 flat: the trial no longer covers both cases", failed)
	}
}

func BenchmarkCensored(b *testing.B) {
	X, lo, hi, count := largeCells(b)
	for range b.N {
		if _, err := Censored(X, lo, hi, count); err != nil {
			b.Fatal(err)
		}
	}
}

// SE is the standard error of coefficient j; SELogScale that of log σ.
func (f CensoredFit) SE(j int) float64 { return math.Sqrt(f.Cov[j][j]) }

func (f CensoredFit) SELogScale() float64 { return f.SE(len(f.Coef)) }
