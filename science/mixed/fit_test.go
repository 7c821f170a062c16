package mixed

import (
	"errors"
	"math"
	"reflect"
	"sort"
	"testing"

	"knownwater/science/num"
)

func values(group int, ys ...float64) []Cell {
	var cells []Cell
	for _, y := range ys {
		cells = append(cells, Cell{Group: group, Low: y, High: y, Count: 1})
	}
	return cells
}

func open(d Data) Data {
	d.MeanFloor, d.MeanTop = math.Inf(-1), math.Inf(1)
	d.Technique = make([]int, d.Groups)
	return d
}

// normals are 30 standard normal draws, fixed.
func normals(n int, task uint64) []float64 {
	rng := num.Source(11, task)
	v := make([]float64, n)
	for i := range v {
		v[i] = rng.NormFloat64()
	}
	return v
}

// Shrinking intervals approach the exact-data formula: the t limits of a mean.
// The prior of φ is a little heavier than 1/φ (φ^0.7 more), which lowers the
// degrees of freedom from n − 1 to n − 1.7, and the reference is that t.
func TestExactReadingsGiveStudentLimits(t *testing.T) {
	ys := normals(30, 1)
	for i := range ys {
		ys[i] = 10 + 2*ys[i]
	}
	mean, sd := num.MeanSD(ys)
	for _, width := range []float64{0, 1e-6, 0.02} {
		d := open(Data{Groups: 1})
		for _, y := range ys {
			d.Cells = append(d.Cells, Cell{Low: y - width/2, High: y + width/2, Count: 1})
		}
		p, err := Fit(d, Options{Seed: 1, Draws: 60000})
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Point[0]; math.Abs(got-mean) > 1e-9+width {
			t.Errorf("width %v: point %v, want the average %v", width, got, mean)
		}
		df := 29 - 0.7
		half := num.TQuantile(0.975, df) * sd * math.Sqrt(29/df) / math.Sqrt(30)
		lo, hi := tails(p.Mean[0])
		if math.Abs(lo-(mean-half)) > 0.05*half || math.Abs(hi-(mean+half)) > 0.05*half {
			t.Errorf("width %v: %v to %v, want %v to %v within 5 %% of the half-width", width, lo, hi, mean-half, mean+half)
		}
	}
}

func tails(draws []float64) (low, high float64) {
	s := append([]float64(nil), draws...)
	sort.Float64s(s)
	return num.Quantile(s, 0.025), num.Quantile(s, 0.975)
}

// A row written twice is weight two, and the order of rows changes nothing.
func TestCountsAndOrder(t *testing.T) {
	a := open(Data{Groups: 2, Cells: append(values(0, 1, 1, 2, 3), values(1, 9, 10, 10, 12)...)})
	b := open(Data{Groups: 2, Cells: []Cell{
		{Group: 1, Low: 12, High: 12, Count: 1}, {Group: 0, Low: 3, High: 3, Count: 1}, {Group: 1, Low: 10, High: 10, Count: 2},
		{Group: 0, Low: 2, High: 2, Count: 1}, {Group: 1, Low: 9, High: 9, Count: 1}, {Group: 0, Low: 1, High: 1, Count: 2},
	}})
	a.Cells[1].Count, a.Cells[0].Count = 1, 1
	pa, err := Fit(b, Options{Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	shuffled := b
	shuffled.Cells = append([]Cell(nil), b.Cells...)
	shuffled.Cells[0], shuffled.Cells[5] = shuffled.Cells[5], shuffled.Cells[0]
	pb, err := Fit(shuffled, Options{Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(pa.Mean, pb.Mean) {
		t.Error("another order of the cells gave other draws")
	}
	pc, err := Fit(a, Options{Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	for g := range pa.Point { // the same likelihood, other draws: equal up to Monte Carlo error of the spread
		if math.Abs(pa.Point[g]-pc.Point[g]) > 1e-9 {
			t.Errorf("group %d: point %v with counts, %v with rows", g, pa.Point[g], pc.Point[g])
		}
		la, ha := tails(pa.Mean[g])
		lc, hc := tails(pc.Mean[g])
		if math.Abs(la-lc) > 0.15*(ha-la) || math.Abs(ha-hc) > 0.15*(ha-la) {
			t.Errorf("group %d: %v to %v with counts, %v to %v with rows", g, la, ha, lc, hc)
		}
	}
}

// Means by intervals with many readings are the maximum-likelihood ones of
// num.Censored, which stands against R survreg.
func TestManyIntervalsMeetMaximumLikelihood(t *testing.T) {
	d := open(Data{Groups: 1})
	var lo, hi, count []float64
	var x [][]float64
	for _, c := range []struct{ lo, hi, n float64 }{{-1e300, 2, 15000}, {2, 4, 34000}, {4, 6, 34000}, {6, 8, 14000}, {8, 1e300, 3000}} {
		l, h := c.lo, c.hi
		if l < -1e200 {
			l = math.Inf(-1)
		}
		if h > 1e200 {
			h = math.Inf(1)
		}
		d.Cells = append(d.Cells, Cell{Low: l, High: h, Count: c.n})
		lo, hi, count = append(lo, l), append(hi, h), append(count, c.n)
		x = append(x, []float64{1})
	}
	p, err := Fit(d, Options{Seed: 5, Draws: 8000})
	if err != nil {
		t.Fatal(err)
	}
	fit, err := num.Censored(x, lo, hi, count)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.Point[0]-fit.Coef[0]) > 0.02*fit.SE(0) {
		t.Errorf("point %v, maximum likelihood %v ± %v", p.Point[0], fit.Coef[0], fit.SE(0))
	}
	_, sd := num.MeanSD(p.Mean[0])
	if math.Abs(sd/fit.SE(0)-1) > 0.1 {
		t.Errorf("posterior sd %v, standard error %v", sd, fit.SE(0))
	}
}

// Everything in one interval: an upper limit of the spread, a mean anywhere in
// the interval, nothing zero.
func TestAllInOneInterval(t *testing.T) {
	d := open(Data{Groups: 1, Cells: []Cell{{Low: 6, High: 15, Count: 9}}})
	p, err := Fit(d, Options{Seed: 2, Draws: 20000})
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := tails(p.Mean[0])
	if lo > 7.5 || hi < 13.5 {
		t.Errorf("mean %v to %v: it should reach over most of 6 to 15", lo, hi)
	}
	_, top := tails(p.Phi)
	if top < 1 || top > 12 {
		t.Errorf("spread at most %v: it should be a few times less than the interval's 9, and not 0", top)
	}
}

// A vial read by three people is one vial: nine readings of three vials whose
// vials differ say less than nine readings of nine vials.
func TestSharedVialsWidenTheMean(t *testing.T) {
	vials, noise := normals(6, 7), normals(18, 8)
	d := open(Data{Groups: 2, Factors: []Factor{{Name: "vial", Members: 6, Scale: 1, Nested: true}}})
	for i := range 18 {
		y := 10 + 3*vials[i/3] + 0.3*noise[i]
		d.Cells = append(d.Cells, Cell{Group: i / 9, Low: y, High: y, Member: []int{i / 3}, Count: 1})
	}
	shared, err := Fit(d, Options{Seed: 4, Draws: 8000})
	if err != nil {
		t.Fatal(err)
	}
	alone := d
	alone.Factors = nil
	alone.Cells = append([]Cell(nil), d.Cells...)
	for i := range alone.Cells {
		alone.Cells[i].Member = nil
	}
	blind, err := Fit(alone, Options{Seed: 4, Draws: 8000})
	if err != nil {
		t.Fatal(err)
	}
	for g := range 2 {
		ls, hs := tails(shared.Mean[g])
		lb, hb := tails(blind.Mean[g])
		if hs-ls < 1.3*(hb-lb) {
			t.Errorf("group %d: %v wide with vials, %v without", g, hs-ls, hb-lb)
		}
	}
}

func TestNoRepeats(t *testing.T) {
	d := open(Data{Groups: 2, Cells: append(values(0, 1), values(1, 2)...)})
	if _, err := Fit(d, Options{}); !errors.Is(err, ErrNoRepeats) {
		t.Errorf("got %v, want ErrNoRepeats", err)
	}
}
