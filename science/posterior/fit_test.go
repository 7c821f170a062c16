package posterior

import (
	"errors"
	"math"
	"reflect"
	"testing"

	"knownwater/science/num"
)

func exactly(group int, ys ...float64) []Cell {
	var cells []Cell
	for _, y := range ys {
		cells = append(cells, Cell{Group: group, Seen: [][2]float64{{y, y}}, Count: 1})
	}
	return cells
}

func open(d Data) Data {
	d.MeanFloor, d.MeanTop = math.Inf(-1), math.Inf(1)
	d.Technique = make([]int, d.Groups)
	if d.Level == nil {
		for g := range d.Groups {
			d.Level = append(d.Level, float64(g+1))
		}
	}
	return d
}

// normals are fixed standard normal draws.
func normals(n int, task uint64) []float64 {
	rng := num.Source(11, task)
	v := make([]float64, n)
	for i := range v {
		v[i] = rng.NormFloat64()
	}
	return v
}

// alone is the fit of one kind of scatter.
func alone(t *testing.T, d Data, k Kind) *Draws {
	t.Helper()
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	m := &mixture{l: l, fits: []*levels{fitLevels(l, k, 0)}, kind: []Kind{k}, at: []int{0}, log: make([][priors]float64, 1)}
	return m.draws(Wide, wideDraws)
}

func fitted(t *testing.T, d Data) *Posterior {
	t.Helper()
	p, err := Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

// Exact readings of one level, and readings so narrow that they are as good as
// exact, give Student's limits of the mean and the chi-square limits of the
// spread (num's quantiles, which stand against published tables).
func TestExactReadingsGiveTheTextbook(t *testing.T) {
	for _, n := range []int{2, 3, 5, 30} {
		ys := normals(n, 1)
		for i := range ys {
			ys[i] = 10 + 2*ys[i]
		}
		mean, sd := num.MeanSD(ys)
		df := float64(n - 1)
		for _, width := range []float64{0, 1e-6, 0.02} {
			d := open(Data{Groups: 1})
			for _, y := range ys {
				d.Cells = append(d.Cells, Cell{Seen: [][2]float64{{y - width/2, y + width/2}}, Count: 1})
			}
			near(t, "the point", fitted(t, d).Point[0], mean, 1e-9+width)
			draws := alone(t, d, Normal)
			half := num.TQuantile(0.975, df) * sd / math.Sqrt(float64(n))
			lo, hi := tails(draws.Mean[0], 0.025)
			loose := 0.06
			if n == 2 { // t with one degree of freedom: fifty draws beyond a limit scatter that much
				loose = 0.15
			}
			near(t, "the mean's lower limit", lo, mean-half, loose*half)
			near(t, "the mean's upper limit", hi, mean+half, loose*half)
			lo, hi = tails(draws.LogSD[0], 0.025)
			near(t, "log of the spread's lower limit", lo, math.Log(sd*math.Sqrt(df/num.ChiSquareQuantile(0.975, df))), 0.05)
			tolerance := 0.05
			if n == 2 { // the upper limit is 31 times the spread
				tolerance = 0.15
			}
			near(t, "log of the spread's upper limit", hi, math.Log(sd*math.Sqrt(df/num.ChiSquareQuantile(0.025, df))), tolerance)
		}
	}
}

// A row written twice is weight two, and the order of rows changes nothing; nor
// does another unit.
func TestCountsOrderAndUnit(t *testing.T) {
	for name, d := range map[string]Data{"levels": chartData([]float64{0, 3, 9, 20}, 4, 1, 0, 0, 5, false), "readers": chartData([]float64{0, 3, 9, 20}, 2, 3, 0.5, 0.5, 5, false)} {
		a := fitted(t, d)
		turned := d
		turned.Cells = nil
		for i := range d.Cells {
			turned.Cells = append(turned.Cells, d.Cells[len(d.Cells)-1-i])
		}
		if b := fitted(t, turned); !reflect.DeepEqual(a.Wide, b.Wide) || !reflect.DeepEqual(a.Point, b.Point) {
			t.Errorf("%s: another order of the cells gives other draws", name)
		}
		large := d
		large.MeanFloor, large.MeanTop, large.Cells = 16*d.MeanFloor, 16*d.MeanTop, nil
		for _, c := range d.Cells {
			s := c.Seen[0]
			c.Seen = [][2]float64{{16 * s[0], 16 * s[1]}}
			large.Cells = append(large.Cells, c)
		}
		b := fitted(t, large)
		for g := range a.Point {
			near(t, name+": a mean in another unit", b.Point[g], 16*a.Point[g], 1e-12*math.Abs(b.Point[g]))
			if b.Wide.Mean[g][7] != 16*a.Wide.Mean[g][7] {
				t.Errorf("%s: another unit gives other draws", name)
			}
		}
	}
	once := open(Data{Groups: 2, Cells: append(exactly(0, 1, 1, 2, 3), exactly(1, 9, 10, 10, 12)...)})
	weighed := open(Data{Groups: 2, Cells: []Cell{
		{Group: 1, Seen: [][2]float64{{12, 12}}, Count: 1}, {Seen: [][2]float64{{3, 3}}, Count: 1}, {Group: 1, Seen: [][2]float64{{10, 10}}, Count: 2},
		{Seen: [][2]float64{{2, 2}}, Count: 1}, {Group: 1, Seen: [][2]float64{{9, 9}}, Count: 1}, {Seen: [][2]float64{{1, 1}}, Count: 2}}})
	a, b := fitted(t, once), fitted(t, weighed)
	for g := range a.Point {
		near(t, "the point", b.Point[g], a.Point[g], 1e-12)
		la, ha := tails(a.Wide.Mean[g], 0.025)
		lb, hb := tails(b.Wide.Mean[g], 0.025)
		near(t, "the lower limit", lb, la, 1e-9)
		near(t, "the upper limit", hb, ha, 1e-9)
	}
}

// Means by intervals with many readings are the maximum-likelihood ones of
// num.Censored, which stands against R survreg.
func TestManyIntervalsMeetMaximumLikelihood(t *testing.T) {
	d := open(Data{Groups: 1})
	var lo, hi, count []float64
	var x [][]float64
	inf := math.Inf(1)
	for _, c := range []struct{ lo, hi, n float64 }{{-inf, 2, 15000}, {2, 4, 34000}, {4, 6, 34000}, {6, 8, 14000}, {8, inf, 3000}} {
		d.Cells = append(d.Cells, Cell{Seen: [][2]float64{{c.lo, c.hi}}, Count: c.n})
		lo, hi, count = append(lo, c.lo), append(hi, c.hi), append(count, c.n)
		x = append(x, []float64{1})
	}
	p := fitted(t, d)
	fit, err := num.Censored(x, lo, hi, count)
	if err != nil {
		t.Fatal(err)
	}
	se := math.Sqrt(fit.Cov[0][0])
	near(t, "the point", p.Point[0], fit.Coef[0], 0.02*se)
	_, sd := num.MeanSD(p.Wide.Mean[0])
	near(t, "the mean's doubt", sd/se, 1, 0.1)
	near(t, "the spread", math.Exp(middleOf(p.Wide.LogSD[0])), fit.Scale, 0.01*fit.Scale)
}

// Everything in one interval: an upper limit of the spread, a mean anywhere in
// the interval, nothing zero.
func TestAllInOneInterval(t *testing.T) {
	d := open(Data{Groups: 1, Cells: []Cell{{Seen: [][2]float64{{6, 15}}, Count: 9}}})
	p := fitted(t, d)
	lo, hi := tails(p.Wide.Mean[0], 0.025)
	if lo > 7.5 || hi < 13.5 {
		t.Errorf("mean %v to %v: it should reach over most of 6 to 15", lo, hi)
	}
	_, top := tails(p.Wide.LogSD[0], 0.025)
	if s := math.Exp(top); s < 1 || s > 18 {
		t.Errorf("spread at most %v: it should be of the order of the interval's 9, and not 0", s)
	}
}

// A vial read by three people is one vial: nine readings of three vials whose
// vials differ say less than nine readings of nine vials.
func TestSharedVialsWidenTheMean(t *testing.T) {
	vials, noise := normals(6, 7), normals(18, 8)
	d := open(Data{Groups: 2, Factors: []Factor{{Name: "vial", Members: 6, Scale: 1, Nested: true}}})
	for i := range 18 {
		y := 10 + 3*vials[i/3] + 0.3*noise[i]
		d.Cells = append(d.Cells, Cell{Group: i / 9, Seen: [][2]float64{{y, y}}, Member: []int{i / 3}, Count: 1})
	}
	shared := fitted(t, d)
	alone := d
	alone.Factors = nil
	alone.Cells = append([]Cell(nil), d.Cells...)
	for i := range alone.Cells {
		alone.Cells[i].Member = nil
	}
	blind := fitted(t, alone)
	for g := range 2 {
		ls, hs := tails(shared.Wide.Mean[g], 0.025)
		lb, hb := tails(blind.Wide.Mean[g], 0.025)
		if hs-ls < 1.3*(hb-lb) {
			t.Errorf("group %d: %v wide with vials, %v without", g, hs-ls, hb-lb)
		}
	}
}

func TestNoRepeats(t *testing.T) {
	d := open(Data{Groups: 2, Cells: append(exactly(0, 1), exactly(1, 2)...)})
	if _, err := Fit(d); !errors.Is(err, ErrNoRepeats) {
		t.Errorf("got %v, want ErrNoRepeats", err)
	}
}

// Both ways say the same where both can go: readings without shared parts,
// integrated level by level, and drawn.
func TestBothWaysAgree(t *testing.T) {
	for _, display := range []bool{true, false} {
		d := chartData([]float64{4, 9, 20, 35}, 6, 1, 0, 0, 2, display)
		d = d.in(d.unit())
		a, err := fit(d)
		if err != nil {
			t.Fatal(err)
		}
		l, err := lay(d)
		if err != nil {
			t.Fatal(err)
		}
		b := sample(l)
		for g := range a.Point {
			la, ha := tails(a.Wide.Mean[g], 0.025)
			lb, hb := tails(b.Wide.Mean[g], 0.025)
			near(t, "lower limit of a mean", lb, la, 0.15*(ha-la))
			near(t, "upper limit of a mean", hb, ha, 0.15*(ha-la))
			near(t, "log spread", middleOf(b.Wide.LogSD[g]), middleOf(a.Wide.LogSD[g]), 0.15)
			near(t, "log spread, form", middleOf(b.Form.LogSD[g]), middleOf(a.Form.LogSD[g]), 0.15)
		}
		for k := range a.Kind {
			near(t, "weight of a kind", b.Kind[k], a.Kind[k], 0.08)
		}
	}
}

// Two slips of fifteen standard deviations among forty readings: the spread is that of
// the other thirty-eight, at their own levels too, not half of a middle that they stretch.
func TestSlipsAreNoSpread(t *testing.T) {
	z := normals(40, 41)
	d := Data{Groups: 8}
	for g := range 8 {
		y := z[5*g : 5*g+5]
		if g == 2 || g == 5 {
			y[3] = 15
		}
		d.Cells = append(d.Cells, exactly(g, y...)...)
	}
	p := fitted(t, open(d))
	for g, u := range p.Wide.LogSD {
		low, _ := tails(u, 0.025)
		if s := math.Exp(middleOf(u)); s < 0.6 || s > 1.6 || math.Exp(low) > 1 {
			t.Errorf("level %d of spread 1: %.2f, from %.2f", g, s, math.Exp(low))
		}
	}
	if p.Kind[Normal] > 0.1 {
		t.Errorf("taken for normal with %.2f", p.Kind[Normal])
	}
}
