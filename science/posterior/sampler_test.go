package posterior

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// sharedData are exact readings, each with its member of one factor.
func sharedData(groups int, name string, nested bool, rows [][]float64, group func(member int) int) Data {
	d := open(Data{Groups: groups, Factors: []Factor{{Name: name, Members: len(rows), Scale: 1, Nested: nested}}})
	for j, row := range rows {
		for _, y := range row {
			d.Cells = append(d.Cells, Cell{Group: group(j), Seen: [][2]float64{{y, y}}, Member: []int{j}, Count: 1})
		}
	}
	return d
}

// dyestuff is the yield of six batches, five samples each (Davies & Goldsmith 1972,
// Statistical Methods in Research and Production, table 6.3; the data set Dyestuff of R's lme4).
var dyestuff = [][]float64{
	{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
	{1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445},
}

// Batches as readers: the sampled answer meets the one-way analysis of variance, which
// for balanced data is REML: mean square between 11271.5, within 2451.25, hence 49.51 within,
// 42.00 between and 1527.5 ± 19.38 with five degrees of freedom, t = 2.571 (closed
// form; lmer(Yield ~ 1 + (1 | Batch), Dyestuff) prints the same, from memory). Medians
// of a half-t prior with six members lie near REML, not on it.
func TestSamplerMeetsOneWayAnalysis(t *testing.T) {
	p := fitted(t, sharedData(1, "reader", false, dyestuff, func(int) int { return 0 }))
	near(t, "the mean", p.Point[0], 1527.5, 1)
	low, high := tails(p.Wide.Mean[0], 0.025)
	half := 2.571 * 19.38
	near(t, "lower limit of the mean", low, 1527.5-half, 0.2*half)
	near(t, "upper limit of the mean", high, 1527.5+half, 0.2*half)
	within, between := p.Wide.LogSD[0], make([]float64, p.Wide.Len())
	for k := range between {
		between[k] = math.Exp(within[k]) * p.Wide.Ratio[0][k]
	}
	near(t, "spread within a batch", math.Exp(middleOf(within)), 49.51, 0.08*49.51)
	near(t, "spread between batches", middleOf(between), 42, 0.2*42)
	_, top := tails(between, 0.025)
	if top < 75 || top > 170 {
		t.Errorf("spread between batches up to %v: six of them leave it open to about a hundred", top)
	}
	for j, row := range dyestuff { // a batch's mean, drawn towards the average by τ²/(τ² + s²/5) = 0.78
		effect := make([]float64, p.Wide.Len())
		for k := range effect {
			effect[k] = math.Exp(within[k]) * p.Wide.Effect[0][j][k]
		}
		near(t, "a batch's effect", middleOf(effect), 0.78*(num.Mean(row)-1527.5), 12)
	}
}

// Vials that differ three times as much as their readings: the ratio of the analysis
// of variance, √((MSB/MSW − 1)/n), and the limits of a level's mean by t over its vials.
func TestSamplerFindsTheVials(t *testing.T) {
	vial, noise := normals(24, 31), normals(72, 32)
	var rows [][]float64
	for j := range 24 {
		row := make([]float64, 3)
		for i := range row {
			row[i] = 100 + 3*vial[j] + noise[3*j+i]
		}
		rows = append(rows, row)
	}
	group := func(j int) int { return j / 12 }
	p := fitted(t, sharedData(2, "vial", true, rows, group))
	msw, msb := 0.0, 0.0
	for g := range 2 {
		means := make([]float64, 12)
		for j := range 12 {
			m, sd := num.MeanSD(rows[12*g+j])
			means[j], msw = m, msw+sd*sd/24
		}
		mean, sd := num.MeanSD(means)
		msb += 3 * sd * sd / 2
		low, high := tails(p.Wide.Mean[g], 0.025)
		half := num.TQuantile(0.975, 15) * sd / math.Sqrt(12) // both levels tell of the vials
		near(t, "lower limit of a mean", low, mean-half, 0.3*half)
		near(t, "upper limit of a mean", high, mean+half, 0.3*half)
	}
	want := math.Sqrt((msb/msw - 1) / 3)
	near(t, "vials ÷ repeatability", middleOf(p.Wide.Ratio[0]), want, 0.15*want)
}

// The sampled means and spreads of a chart with readers who do not differ are those
// of the chart without readers, integrated, but for what readers might be. The highest level
// shows two answers, whose spread is sampled with much noise: the limits are averages over three walks.
func TestSamplerOnACoarseChart(t *testing.T) {
	d := chartData([]float64{0, 4, 9, 20, 35}, 8, 3, 0, 0, 4, false)
	for i := range d.Cells {
		d.Cells[i].Member = d.Cells[i].Member[:1]
	}
	d.Factors = d.Factors[:1]
	alone := d
	alone.Factors, alone.Cells = nil, nil
	for _, c := range d.Cells {
		c.Member = nil
		alone.Cells = append(alone.Cells, c)
	}
	a, b := fitted(t, alone), fitted(t, d)
	walks := []*Posterior{b}
	for name := range uint64(2) {
		l, err := lay(d.in(d.unit()))
		if err != nil {
			t.Fatal(err)
		}
		walks = append(walks, sampled(l, name))
		walks[1+name].times(d.unit())
	}
	for g := range a.Point {
		la, ha := tails(a.Wide.LogSD[g], 0.1)
		lb, hb := 0.0, 0.0
		for _, w := range walks {
			low, high := tails(w.Wide.LogSD[g], 0.1)
			lb, hb = lb+low/3, hb+high/3
		}
		near(t, "log spread, low", lb, la, 0.2*(ha-la))
		near(t, "log spread, high", hb, ha, 0.2*(ha-la))
		if g == 0 { // nearly all its readings are open below: what readers might be moves it
			continue
		}
		near(t, "a mean", middleOf(b.Wide.Mean[g]), middleOf(a.Wide.Mean[g]), 0.35*math.Exp(middleOf(a.Wide.LogSD[g])))
	}
	if b.ErrorShare > 0.25 { // what readers of nothing might be has a long tail: walks differ by 5 to 20 %
		t.Errorf("Monte Carlo error %.3f of an interval", b.ErrorShare)
	}
}

// Every latent reading stays inside what was seen, and the chain's memory of what
// the intervals say is what they say.
func TestChainKeepsItsBooks(t *testing.T) {
	d := chartData([]float64{0, 3, 9, 20}, 4, 3, 0.5, 0.5, 6, false)
	l, err := lay(d.in(d.unit()))
	if err != nil {
		t.Fatal(err)
	}
	c := newChain(l, l.units(), 5, 0)
	for range 300 {
		c.sweep()
		for i, u := range c.units {
			s := u.seen[c.at.share]
			if c.z[i] < s[0]-1e-12 || c.z[i] > s[1]+1e-12 {
				t.Fatalf("a latent reading of %v lies outside %v", c.z[i], s)
			}
		}
		c.share()
		c.moveAround()
		for g := range c.m {
			if c.told[g] {
				near(t, "what a group's intervals say", c.ll[g], c.chances(g, c.m[g], c.u[g], c.at, 1), 1e-7)
			}
		}
	}
}

// summed is a chain that has drawn its latent readings and summed them up, before anything else moved.
func summed(t *testing.T, d Data) *chain {
	t.Helper()
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	c := newChain(l, l.units(), 3, 0)
	c.share()
	c.drawLatent()
	c.blockSums()
	c.groupSums()
	return c
}
