package posterior

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/num"
)

// What the marginals say of each quantity is what the walk's own draws say: its quantiles,
// but for the draws' noise. Of a walk through a chart with readers and vials.
func TestMarginalsAreThoseOfTheWalk(t *testing.T) {
	d := chartData([]float64{3, 9, 20, 35}, 4, 3, 0.5, 0.5, 6, false)
	l, err := lay(d.in(d.unit()))
	if err != nil {
		t.Fatal(err)
	}
	w := newWalk(newChain(l, l.units(), 9, 0))
	w.burn(200)
	w.on(3000)
	total := func(a, b []float64) []float64 {
		s := make([]float64, len(a))
		for k := range a {
			s[k] = a[k] + b[k]
		}
		return s
	}
	logs := func(v []float64) []float64 {
		s := make([]float64, len(v))
		for k := range v {
			s[k] = math.Log(v[k])
		}
		return s
	}
	for p := range priors {
		compare := func(what string, m *marginal, raw []float64) {
			t.Helper()
			order := make([]int, len(raw))
			weight := 0.0
			for k := range order {
				order[k] = k
				weight += w.weight[p][k]
			}
			slices.SortFunc(order, func(a, b int) int { return int(math.Copysign(1, raw[a]-raw[b])) })
			at := make([]float64, 999) // what the marginal has at the chances of a thousandth and so on
			for k := range at {
				at[k] = float64(k)
			}
			m.order(p, at)
			quantile := func(p float64) float64 { return at[int(p*999)] }
			spread := quantile(0.9) - quantile(0.1)
			sum, next := 0.0, 0
			for _, chance := range []float64{0.05, 0.25, 0.5, 0.75, 0.95} {
				for sum < chance*weight {
					sum += w.weightOf(p, order[next])
					next++
				}
				near(t, what, quantile(chance), raw[order[next-1]], 0.12*spread)
			}
		}
		for g := range l.group {
			compare("a mean", &w.marginals.mean[g], w.mean[g])
			compare("log of a whole spread", &w.marginals.whole[g], total(w.logSD[g], w.whole))
		}
		for f := range l.Factors {
			compare("log τ of "+l.Factors[f].Name, &w.marginals.tau[f], logs(w.ratio[f]))
		}
	}
}

func (w *walk) weightOf(p Prior, k int) float64 { return w.weight[p][k] }

// Many alike readings inside an interval, drawn as one: average and sum of squares of n draws
// from a truncated normal, whose moments are in closed form (N. L. Johnson and S. Kotz,
// Continuous Univariate Distributions 1, ch. 13).
func TestSeveralReadingsAsOne(t *testing.T) {
	l, err := lay(open(Data{Groups: 1, Cells: exactly(0, 1, 2, 3)}))
	if err != nil {
		t.Fatal(err)
	}
	c := newChain(l, l.units(), 1, 1)
	for _, ends := range [][2]float64{{-0.4, 1.3}, {0.5, math.Inf(1)}, {-2, 2}} {
		a, b := ends[0], ends[1]
		z := num.Phi(b) - num.Phi(a)
		edge := func(x float64) float64 {
			if math.IsInf(x, 0) {
				return 0
			}
			return x * num.NormalPDF(x)
		}
		mean := (num.NormalPDF(a) - num.NormalPDF(b)) / z
		variance := 1 + (edge(a)-edge(b))/z - mean*mean
		scatter := 0.0
		for _, n := range []float64{3, 12, 13, 400} {
			const runs = 6000
			means, sums := make([]float64, runs), make([]float64, runs)
			for k := range means {
				means[k], sums[k] = c.several(n, a, b)
			}
			m, sd := num.MeanSD(means)
			near(t, "average", m, mean, 5*math.Sqrt(variance/n/runs))
			near(t, "standard deviation of the average", sd, math.Sqrt(variance/n), 0.05*math.Sqrt(variance/n))
			s, ssd := num.MeanSD(sums)
			near(t, "sum of squares", s, (n-1)*variance, 5*ssd/math.Sqrt(runs))
			if n == 12 {
				scatter = ssd * ssd / n
			}
			if n == 400 { // of many it grows with their number
				near(t, "scatter of the sum of squares", ssd*ssd/n, scatter, 0.15*scatter)
			}
		}
	}
}

// Moments between two ends by Simpson's rule.
func TestMomentsBetweenEnds(t *testing.T) {
	for _, ends := range [][2]float64{{-1, 2}, {0.3, 0.34}, {0.3, 0.36}, {-3, -2.9}, {1, 6}, {-9, 9}, {4, 4.5}, {6, 6.2}, {-0.001, 0.001}} {
		a, b := ends[0], ends[1]
		over := func(f func(x float64) float64) float64 {
			const n = 4000
			sum := 0.0
			for i := range n + 1 {
				w := 2.0 + 2*float64(i%2)
				if i == 0 || i == n {
					w = 1
				}
				x := a + (b-a)*float64(i)/n
				sum += w * f(x) * math.Exp(-0.5*(x*x-a*a)) // less the density at an end: far out it is small
			}
			return sum
		}
		p := over(func(float64) float64 { return 1 })
		m1 := over(func(x float64) float64 { return x }) / p
		m2 := over(func(x float64) float64 { return (x - m1) * (x - m1) }) / p
		m4 := over(func(x float64) float64 { return math.Pow(x-m1, 4) }) / p
		loose := 1e-3
		if a > 5 {
			loose = 0.07 // by quantiles
		}
		mean, variance, fourth := moments(a, b)
		near(t, "mean", mean, m1, loose*math.Sqrt(m2))
		near(t, "variance", variance, m2, loose*m2)
		near(t, "fourth moment", fourth, m4, 2*loose*m4)
	}
}

// Where one vial a level was read again and again nothing shows how vials differ: their part
// is its prior, a half-t with 3 degrees of freedom in repeatabilities, and the means carry it.
func TestVialsThatNobodySaw(t *testing.T) {
	d := open(Data{Groups: 2, Cells: append(exactly(0, 9.2, 10.1, 10.4, 9.9, 10.6, 9.8, 10.3, 9.7), exactly(1, 19.2, 20.1, 20.4, 19.9, 20.6, 19.8, 20.3, 19.7)...)})
	seen := fitted(t, d)
	if seen.Wide.Unseen != nil {
		t.Error("vials that were seen are drawn from their prior")
	}
	d.OneVial = []bool{true, false}
	p := fitted(t, d)
	for name, draws := range map[string]*Draws{"wide": p.Wide, "form": p.Form} {
		tau := slices.Sorted(slices.Values(draws.Unseen))
		for _, chance := range []float64{0.1, 0.5, 0.9} {
			want := num.TQuantile((1+chance)/2, 3)
			near(t, name+": vials ÷ repeatability", num.Quantile(tau, chance), want, 0.03*want)
		}
	}
	// the first mean is that of its readings and a vial's part: t with 3 degrees of freedom, times a repeatability
	alone := tailsOf(seen.Wide.Mean[0])
	s := math.Exp(middleOf(seen.Wide.LogSD[0]))
	want := math.Hypot(alone, s*num.TQuantile(0.75, 3)*1.15) // a normal times half-t is wider than t: between the quartiles by about that much
	if got := tailsOf(p.Wide.Mean[0]); !(got > 0.6*want && got < 1.4*want) || !(got > 2*alone) {
		t.Errorf("half of a mean's values lie within %.3f of its middle, with a vial seen %.3f", got, alone)
	}
	near(t, "the mean of the other level", tailsOf(p.Wide.Mean[1]), tailsOf(seen.Wide.Mean[1]), 1e-9)
	for k := range 5 {
		near(t, "the whole spread", p.Wide.Whole(k), math.Hypot(1, p.Wide.Unseen[k]), 1e-12)
	}
}

// tailsOf is half of what lies between the quartiles.
func tailsOf(v []float64) float64 {
	low, high := tails(v, 0.25)
	return (high - low) / 2
}

// Where all readings of a level are open on one side its mean is bounded there: by what the
// method can show, and by what a spread so large would need.
func TestBoundsOfAMean(t *testing.T) {
	cells := func(g int, s [2]float64, n float64) Cell { return Cell{Group: g, Seen: [][2]float64{s}, Count: n} }
	d := Data{Groups: 3, Level: []float64{0, 5, 50}, Technique: make([]int, 3), MeanFloor: 0, MeanTop: 60,
		Cells: []Cell{cells(0, [2]float64{math.Inf(-1), 1}, 4), cells(1, [2]float64{4, 6}, 3), cells(1, [2]float64{6, 8}, 1), cells(2, [2]float64{40, math.Inf(1)}, 4)}}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	for g, want := range [][2]float64{{0, math.Inf(1)}, {0, math.Inf(1)}, {0, 60}} {
		if gr := l.group[g]; gr.low != want[0] || gr.high != want[1] {
			t.Errorf("level %d: a mean from %v to %v, want %v", g, gr.low, gr.high, want)
		}
	}
	if !l.group[2].open || l.group[0].open || l.group[1].open {
		t.Error("what is open above is told wrongly")
	}
	near(t, "width of a closed level's readings", l.group[1].width, 2, 1e-12)
	near(t, "its middles' average", l.group[1].mean, (3*5+7)/4., 1e-12)
	near(t, "their squares about it", l.group[1].ss, 3*0.25+2.25, 1e-12)
	d.MeanTop = math.Inf(1)
	if l, err = lay(d); err != nil || !(l.group[2].high > 40 && l.group[2].high < 1000) {
		t.Errorf("without an end to what is shown a mean up to %v", l.group[2].high)
	}
	d.MeanFloor = math.Inf(-1)
	if l, err = lay(d); err != nil || !(l.group[0].low < 1 && l.group[0].low > -1000) || !math.IsInf(l.group[1].low, -1) {
		t.Errorf("without a floor means from %v and %v", l.group[0].low, l.group[1].low)
	}
}

// Where sources cross the levels a level's own readings give Student's limits of its mean and the
// chi-square limits of its spread, 4 % on each side, whatever the others say of how spreads go: of
// five exact readings of twelve sessions that do not differ, four times as wide as all others.
func TestOwnLimitsBesideSharedParts(t *testing.T) {
	d := open(Data{Groups: 7, Factors: []Factor{{Name: "session", Members: 12, Scale: 0.5}}})
	z := normals(77, 51)
	add := func(g, session int, y float64) {
		d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Member: []int{session}, Count: 1})
	}
	for i := range 72 {
		add(i/12, i%12, 10*float64(i/12+1)+z[i])
	}
	var five []float64
	for i, y := range z[72:] {
		five = append(five, 80+4*y)
		add(6, i, five[i])
	}
	p := fitted(t, d)
	mean, s := num.MeanSD(five)
	half := num.TQuantile(0.96, 4) * s / math.Sqrt(5)
	near(t, "the mean's lower limit", p.Own[6].MeanLow, mean-half, 0.12*half)
	near(t, "the mean's upper limit", p.Own[6].MeanHigh, mean+half, 0.12*half)
	near(t, "log of the spread's lower limit", math.Log(p.Own[6].SDLow), math.Log(s*math.Sqrt(4/num.ChiSquareQuantile(0.96, 4))), 0.08)
	near(t, "log of the spread's upper limit", math.Log(p.Own[6].SDHigh), math.Log(s*math.Sqrt(4/num.ChiSquareQuantile(0.04, 4))), 0.1)
}
