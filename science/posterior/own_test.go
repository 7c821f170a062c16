package posterior

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// What one level says by itself of how far its readings scatter, held against the integral
// over mean and log spread on a plain grid: nine readings of one swatch between others that
// scatter little, of a chart whose hands' share is 0.1 or 0.4 of a gap of 8. Levels that all
// gave one answer said nothing, and the others' spread was taken for theirs: of a coarse chart
// whose spread grows the upper limit missed in 4 to 5 % of trials (docs/accuracy.md).
func TestOwnLimitOfOneAnswer(t *testing.T) {
	d := Data{Groups: 3, Level: []float64{1, 5, 20}, Coarse: true, Shares: []float64{0.5, 0.5}, OneVial: make([]bool, 3), Technique: make([]int, 3)}
	seen := func(g int, n, low, high float64) {
		d.Cells = append(d.Cells, Cell{Group: g, Count: n, Seen: [][2]float64{{low, high}, {low, high}}})
	}
	seen(0, 4, 0.8, 1.2)
	seen(0, 5, 1.2, 1.6)
	seen(1, 5, 4.8, 5.2)
	seen(1, 4, 5.2, 5.6)
	d.Cells = append(d.Cells, Cell{Group: 2, Count: 9, Seen: [][2]float64{{19.2, 20.8}, {16.8, 23.2}}})
	p, err := Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	whole := func(half float64) func(u float64) float64 { // share of the spread's distribution below u
		density := func(u float64) float64 {
			s, sum := math.Exp(u), 0.0
			const n = 800
			for i := range n {
				m := (float64(i) + 0.5 - n/2) * 8 / n * (half + s)
				sum += 8 / float64(n) * (half + s) * math.Pow(num.Phi((half-m)/s)-num.Phi((-half-m)/s), 9)
			}
			r := s / l.group[2].width
			return sum * math.Exp(-3.0/3*math.Log1p(1/r)-2.0/3*math.Log1p(r*r/4))
		}
		var cum []float64
		sum := 0.0
		for u := -7.0; u < 5; u += 0.02 {
			sum += density(u)
			cum = append(cum, sum)
		}
		return func(u float64) float64 {
			return cum[min(max(int((u+7)/0.02), 0), len(cum)-1)] / sum
		}
	}
	narrow, wide := whole(0.8), whole(3.2)
	u := -7.0
	for ; u < 5 && p.Share[0]*narrow(u)+p.Share[1]*wide(u) < 1-ownTail; u += 0.002 {
	}
	if got := p.Own[2].SDHigh; !(math.Abs(math.Log(got)-u) <= 0.03) {
		t.Errorf("the upper limit is %.3f, by a plain grid %.3f (weights %.2f)", got, math.Exp(u), p.Share)
	}
	if o := p.Own[2]; !math.IsInf(o.SDLow, 1) || !math.IsInf(o.MeanLow, 1) || !math.IsInf(o.MeanHigh, -1) {
		t.Errorf("one answer tells more than an upper limit: %+v", o)
	}
}

// What two answers that meet say of a mean by themselves, held against the integral over mean and log spread on a plain grid. The quantile
// of 400 draws, which it was, lay up to half an answer off.
func TestOwnLimitsOfTwoAnswers(t *testing.T) {
	d := Data{Groups: 2, Level: []float64{5, 20}, OneVial: make([]bool, 2), Technique: make([]int, 2), MeanFloor: math.Inf(-1), MeanTop: math.Inf(1)}
	for _, c := range []struct {
		group int
		at, n float64
	}{{0, 4, 1}, {0, 5, 2}, {1, 17, 1}, {1, 20, 2}} {
		d.Cells = append(d.Cells, Cell{Group: c.group, Count: c.n, Seen: [][2]float64{{c.at, c.at + 1}}})
	}
	p, err := Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	const n, reach = 3000, 30.0
	mass, sum := make([]float64, n), 0.0
	for u := -7.0; u < 4.5; u += 0.02 {
		s := math.Exp(u)
		prior := math.Pow(s/(s+1), 3.0/2)
		for i := range mass {
			m := (float64(i) + 0.5 - n/2) * 2 * reach / n
			v := prior * (num.Phi(-m/s) - num.Phi((-1-m)/s)) * math.Pow(num.Phi((1-m)/s)-num.Phi(-m/s), 2)
			mass[i], sum = mass[i]+v, sum+v
		}
	}
	upTo := 0.0
	var low, high float64
	for i, v := range mass {
		m := 5 + (float64(i)+0.5-n/2)*2*reach/n
		before := upTo
		if upTo += v / sum; before < ownTail && upTo >= ownTail {
			low = m
		} else if before < 1-ownTail && upTo >= 1-ownTail {
			high = m
		}
	}
	if o := p.Own[0]; !(math.Abs(o.MeanLow-low) <= 0.03 && math.Abs(o.MeanHigh-high) <= 0.03) {
		t.Errorf("two answers leave means of %.3f to %.3f, by a plain grid %.3f to %.3f", o.MeanLow, o.MeanHigh, low, high)
	}
}

// Where one person, whom the readings do not tell apart, crosses the levels few answers of a level speak for themselves too, as if
// nobody had been noted. Of a fine chart that two read over a hump the lower limit of the blank's spread was told by the
// form of the others alone, and missed in 18 of 100 trials.
func TestOwnLimitsOfFewAnswersByPeople(t *testing.T) {
	of := func(people bool) *Posterior {
		d := Data{Groups: 3, Level: []float64{1, 5, 20}, Coarse: true, OneVial: make([]bool, 3), Technique: make([]int, 3), MeanTop: math.Inf(1)}
		if people {
			d.Factors = []Factor{{Name: "reader", Members: 2, Scale: 1}}
		}
		for g, low := range [3][4]float64{{3, 3, 3, 4}, {6, 5, 4, 7}, {19, 22, 16, 20}} {
			for k, v := range low {
				c := Cell{Group: g, Count: 1, Seen: [][2]float64{{v, v + 1}}}
				if people {
					c.Member = []int{k % 2}
				}
				d.Cells = append(d.Cells, c)
			}
		}
		p, err := Fit(d)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	alone, people := of(false).Own[0], of(true).Own[0]
	for _, x := range [][2]float64{{alone.SDLow, people.SDLow}, {alone.SDHigh, people.SDHigh}, {alone.MeanLow, people.MeanLow}, {alone.MeanHigh, people.MeanHigh}} {
		if !(math.Abs(x[0]-x[1]) <= 0.005*math.Abs(x[0])) { // the floor has room beneath it for people
			t.Errorf("by two people %+v, by nobody %+v", people, alone)
		}
	}
}

// What readings about a bound leave of the mean by themselves: it may be the bound, whatever the draws' quantile, which never is.
// Of fine charts read three times, their spread large at nothing, the lower limit there missed in 8 of 100 trials, so in 5.
func TestOwnLimitAtABound(t *testing.T) {
	own := func(ends ...[2]float64) float64 {
		d := Data{Groups: 2, Level: []float64{0, 8}, Coarse: true, OneVial: make([]bool, 2), Technique: make([]int, 2), MeanFloor: 0, MeanTop: math.Inf(1)}
		for _, e := range ends {
			d.Cells = append(d.Cells, Cell{Group: 0, Count: 1, Seen: [][2]float64{e}})
		}
		for k := range 3 {
			d.Cells = append(d.Cells, Cell{Group: 1, Count: 1, Seen: [][2]float64{{float64(6 + k), float64(7 + k)}}})
		}
		p, err := Fit(d)
		if err != nil {
			t.Fatal(err)
		}
		return p.Own[0].MeanLow
	}
	if low := own([2]float64{math.Inf(-1), 0.25}, [2]float64{0.25, 0.75}, [2]float64{0.75, 1.25}); low != 0 {
		t.Errorf("readings about nothing leave a mean of %.3g at least", low)
	}
	if low := own([2]float64{2.75, 3.25}, [2]float64{3.25, 3.75}, [2]float64{3.25, 3.75}); !(low > 1) {
		t.Errorf("readings well above nothing leave a mean of %.3g at least", low)
	}
}

// Exact readings have Student's and the chi-square limits, at 4 and 96 %; two readings say nothing by themselves, and how
// much weight normal scatter has is of no account, nor that it has none.
func TestOwnLimitsOfExactReadings(t *testing.T) {
	const unit = 300.0
	d := Data{Groups: 2, Level: []float64{0, 8}, OneVial: make([]bool, 2), Technique: make([]int, 2), MeanFloor: math.Inf(-1), MeanTop: math.Inf(1)}
	for g, readings := range [][]float64{{11, 12, 14, 15}, {30, 31}} {
		for _, y := range readings {
			d.Cells = append(d.Cells, Cell{Group: g, Count: 1, Seen: [][2]float64{{unit * y, unit * y}}})
		}
	}
	p, err := Fit(d)
	if err != nil {
		t.Fatal(err)
	}
	squares := 10 * unit * unit
	half := num.TQuantile(1-ownTail, 3) * math.Sqrt(squares/3/4)
	for _, x := range []struct {
		what              string
		got, want, within float64
	}{
		{"spread at least", p.Own[0].SDLow, math.Sqrt(squares / num.ChiSquareQuantile(1-ownTail, 3)), 0.01},
		{"spread at most", p.Own[0].SDHigh, math.Sqrt(squares / num.ChiSquareQuantile(ownTail, 3)), 0.01},
		{"mean below the middle", 13*unit - p.Own[0].MeanLow, half, 0.01},
		{"mean above the middle", p.Own[0].MeanHigh - 13*unit, half, 0.01},
	} {
		if !(math.Abs(x.got/x.want-1) <= x.within) {
			t.Errorf("%s: %.4g, by hand %.4g", x.what, x.got, x.want)
		}
	}
	if p.Own[1] != noOwn {
		t.Errorf("two readings: %v", p.Own[1])
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	fit := l.ownTables(0, []float64{1})
	sure := l.own(0, fit, []float64{1})
	for _, w := range []float64{0, 0.01} {
		if got := l.own(0, fit, []float64{w}); !(math.Abs(got.SDLow/sure.SDLow-1) <= 1e-9 && math.Abs(got.SDHigh/sure.SDHigh-1) <= 1e-9 && got.MeanLow == sure.MeanLow) {
			t.Errorf("weight %g of normal scatter: %v, not %v", w, got, sure)
		}
	}
}
