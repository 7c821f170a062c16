package posterior

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"knownwater/science/num"
)

// peopleAt is a trial of exact readings by some people, three each at eight levels, whose scatter and whose differences go as given; these
// are by how much each reads otherwise, in units of differ.
func peopleAt(scatter, differ func(c float64) float64, people []float64, unit float64, first uint64) Data {
	levels := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	d := open(Data{Groups: len(levels), Level: levels, Factors: []Factor{{Name: "reader", Members: len(people), Scale: 1}}})
	d.Technique = make([]int, len(levels))
	z := normals(len(levels)*len(people)*3, first)
	for g, c := range levels {
		for j, who := range people {
			for range 3 {
				y := unit * (c + who*differ(c) + scatter(c)*z[0])
				z = z[1:]
				d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Member: []int{j}, Count: 1})
			}
		}
	}
	return d
}

// What people differ by goes along with what it was made to go along with, in any unit and whoever is called first; where nobody differs
// it goes along with the scatter, in all but few trials.
func TestEffectsGoAlong(t *testing.T) {
	even, rising := func(float64) float64 { return 0.3 }, func(c float64) float64 { return 0.01 + 0.05*c }
	for _, c := range []struct {
		name            string
		scatter, differ func(c float64) float64
		want            float64 // the power
		otherwise       bool    // than the scatter
	}{
		{"in proportion, even scatter", even, func(c float64) float64 { return 0.1 * c }, 1, true},
		{"in proportion, scatter too", rising, rising, 1, false},
		{"by as much, scatter that rises", rising, even, 0, true},
		{"by as much, scatter too", even, even, 0, false},
		{"by the root", even, func(c float64) float64 { return 0.5 * math.Sqrt(c) }, 0.5, true},
	} {
		for _, x := range []struct {
			people []float64
			unit   float64
		}{{[]float64{-1, 0.2, 1}, 1}, {[]float64{-1, 0.2, 1}, 62}, {[]float64{-0.9, 1}, 1}} {
			l, err := lay(peopleAt(c.scatter, c.differ, x.people, x.unit, 3))
			if err != nil {
				t.Fatal(err)
			}
			l.goAlong()
			flat := l.Factors[0].Along != nil
			if c.otherwise && !flat {
				t.Errorf("%s, %v: along with the scatter", c.name, x)
			}
			if !flat || x.unit != 1 || len(x.people) < 3 { // these take their time
				continue
			}
			d := sample(l).Wide // the power that the draws have from 3 to 40, and how many go along with the scatter
			power, scatter := 0.0, 0.0
			for k := range d.Len() {
				power += math.Log(d.Height(0, 7, k)/d.Height(0, 3, k)) / math.Log(40.0/3) / float64(d.Len())
				if d.WithSpread(0, k) {
					scatter += 1 / float64(d.Len())
				}
			}
			if math.Abs(power-c.want) > 0.15 || c.otherwise && scatter > 0.05 {
				t.Errorf("%s, %v: along with the power %.2f, not %.1f, in %.2f of draws with the scatter", c.name, x, power, c.want, scatter)
			}
		}
	}
	apart := peopleAt(even, even, []float64{-1, 1}, 1, 3) // one reads the lower levels, the other the upper ones, both two of them
	apart.Cells = slices.DeleteFunc(apart.Cells, func(c Cell) bool { return c.Group > 4 && c.Member[0] == 0 || c.Group < 3 && c.Member[0] == 1 })
	l, err := lay(apart)
	if err != nil {
		t.Fatal(err)
	}
	if l.goAlong(); len(l.Factors[0].Along) != len(powers) {
		t.Errorf("who reads levels alone differs there in %d ways", len(l.Factors[0].Along))
	}
	otherwise := 0
	for first := range uint64(60) {
		l, err := lay(peopleAt(even, even, []float64{0, 0, 0}, 1, first))
		if err != nil {
			t.Fatal(err)
		}
		if l.goAlong(); l.Factors[0].Along != nil {
			otherwise++
		}
	}
	if otherwise > 5 { // 2 % of many
		t.Errorf("of 60 trials of people who do not differ %d go along with something else than the scatter", otherwise)
	}
}

// The largest likelihood is that of readings: no other effects, means and spreads make it larger, and those that it
// is at come as near as the search does. Worked out reading by reading.
func TestLikelihoodOfEffects(t *testing.T) {
	d := peopleAt(func(c float64) float64 { return 0.2 + 0.02*c }, func(c float64) float64 { return 0.1 * c }, []float64{-1, 0.2, 1}, 1, 4)
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	of := l.averages(0)
	for name, h := range map[string][]float64{"scatter": nil, "level": l.ways(of, false)[len(powers)-1]} {
		at := func(p []float64) float64 { // means, log spreads, two effects
			sum, n := 0.0, l.Groups
			effect := []float64{p[2*n], p[2*n+1], -p[2*n] - p[2*n+1]}
			for _, c := range l.Cells {
				s := math.Exp(p[n+c.Group])
				height := s
				if h != nil {
					height = h[c.Group]
				}
				z := (c.Seen[0][0] - p[c.Group] - height*effect[c.Member[0]]) / s
				sum -= 0.5*z*z + math.Log(s)
			}
			return sum
		}
		p := make([]float64, 2*l.Groups+2)
		for g := range l.Groups {
			p[g], p[l.Groups+g] = l.group[g].mean, l.group[g].guess
		}
		now, rng := at(p), num.Source(8)
		for step := 0.3; step > 1e-5; step *= 0.8 { // a search that knows nothing
			for range 40 {
				for i := range p {
					was := p[i]
					p[i] += step * rng.NormFloat64()
					if v := at(p); v > now {
						now = v
					} else {
						p[i] = was
					}
				}
			}
		}
		if got := of.likelihood(h); math.Abs(got-now) > 2e-3 {
			t.Errorf("%s: %.5f, by search %.5f", name, got, now)
		}
	}
}

// What readings say for each way is what their normal distribution says, with every covariance written out and the groups' means taken off by
// restricted likelihood (D. A. Harville, J. Am. Stat. Assoc. 72 (1977) 320):
//
//	−½·(log|Σ| + log|XᵀΣ⁻¹X| + yᵀΣ⁻¹y − (XᵀΣ⁻¹y)ᵀ(XᵀΣ⁻¹X)⁻¹(XᵀΣ⁻¹y))
func TestWaysByRestrictedLikelihood(t *testing.T) {
	ways := [][]float64{{0, 0.7, 4}, {4, 0.7, 0}, {1, 2, 1}}
	d := open(Data{Groups: 3, Level: []float64{0, 3, 9}, Technique: make([]int, 3), Factors: []Factor{{Name: "reader", Members: 2, Scale: 1, Along: ways},
		{Name: "lot", Members: 2, Scale: 0.5}, {Name: "vial", Members: 6, Scale: 1, Nested: true}}})
	for i, z := range normals(24, 7) {
		g := i % 3
		d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{float64(g) + 2*z, float64(g) + 2*z}}, Member: []int{i / 3 % 2, i / 6 % 2, 2*g + i/12}, Count: 1})
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	c := newChain(l, l.units(), 3, 0)
	c.at.kind = Normal
	copy(c.u, []float64{math.Log(0.8), math.Log(1.3), math.Log(2)})
	copy(c.tau, []float64{0.9, 0.4, 0.7})
	c.share()
	c.drawLatent() // of exact readings: their weights
	c.blockSums()
	c.groupSums()
	got := c.ofWays(0)
	n := len(l.Cells)
	y, x := mat.NewVecDense(n, nil), mat.NewDense(n, l.Groups, nil)
	for i, cell := range l.Cells {
		y.SetVec(i, cell.Seen[0][0])
		x.Set(i, cell.Group, 1)
	}
	want := make([]float64, len(ways))
	for way, h := range ways {
		s := func(i int) float64 { return math.Exp(c.u[l.Cells[i].Group]) }
		sigma := mat.NewSymDense(n, nil)
		for i, a := range l.Cells {
			for j, b := range l.Cells[:i+1] {
				v := 0.0
				if i == j {
					v += s(i) * s(i)
				}
				if a.Member[0] == b.Member[0] {
					v += c.tau[0] * c.tau[0] * h[a.Group] * h[b.Group]
				}
				for _, f := range []int{1, 2} {
					if a.Member[f] == b.Member[f] {
						v += c.tau[f] * c.tau[f] * s(i) * s(j)
					}
				}
				sigma.SetSym(i, j, v)
			}
		}
		var whole, means mat.Cholesky
		if !whole.Factorize(sigma) {
			t.Fatal("no covariance")
		}
		var sx, xsx mat.Dense
		var sy, xsy, b mat.VecDense
		whole.SolveTo(&sx, x)
		whole.SolveVecTo(&sy, y)
		xsx.Mul(x.T(), &sx)
		xsy.MulVec(x.T(), &sy)
		square := mat.NewSymDense(l.Groups, nil)
		for g := range l.Groups {
			for h := range g + 1 {
				square.SetSym(g, h, xsx.At(g, h))
			}
		}
		if !means.Factorize(square) {
			t.Fatal("no covariance of means")
		}
		means.SolveVecTo(&b, &xsy)
		want[way] = -0.5 * (whole.LogDet() + means.LogDet() + mat.Dot(y, &sy) - mat.Dot(&xsy, &b))
	}
	for way := range ways {
		near(t, "what is said for a way beyond the first", got[way]-got[0], want[way]-want[0], 1e-9)
	}
	if math.Abs(want[1]-want[0]) < 0.1 || math.Abs(want[2]-want[0]) < 0.1 {
		t.Errorf("nothing is told: %v", want)
	}
}

// By hand: a spread s, others' parts of half of it together, and a flat part of 0.9 × 2 make √(1 + 0.25 + (1.8/s)²) of it.
func TestWholeSpreadOfFlatEffects(t *testing.T) {
	d := open(Data{Groups: 2, Level: []float64{1, 2}, Technique: make([]int, 2), Factors: []Factor{{Name: "reader", Members: 2, Scale: 1, Along: [][]float64{{1, 2}}}}})
	for i, z := range normals(12, 8) {
		d.Cells = append(d.Cells, Cell{Group: i % 2, Seen: [][2]float64{{z, z}}, Member: []int{i / 2 % 2}, Count: 1})
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	c := newChain(l, l.units(), 3, 0)
	m := newMarginals(c)
	m.square[5], m.flat[0][5] = 1.25, 0.81
	for _, s := range []float64{0.5, 1, 4} {
		near(t, "the whole spread", m.logWholeAt(c, 1, 5, math.Log(s)), 0.5*math.Log(1.25+1.8*1.8/s/s), 1e-12)
	}
}

// Where several met at nothing alone no power of it tells how they differ elsewhere; and where one of two read a level two million times the
// only one that both did, numbers carry no effects there: none is made up.
func TestEffectsThatNothingTells(t *testing.T) {
	for _, c := range []struct {
		levels []float64
		flat   bool
	}{{[]float64{0, 3, 1e6}, false}, {[]float64{0.5, 0.6, 1e6}, true}} {
		d := open(Data{Groups: 3, Level: c.levels, Technique: make([]int, 3), Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}}})
		for i, z := range normals(18, 9) {
			g, j := i%3, i/3%2
			if g > 0 {
				j = g - 1
			}
			y := c.levels[g] + 20*z
			d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Member: []int{j}, Count: 1})
		}
		p, err := Fit(d)
		if err != nil {
			t.Fatal(err)
		}
		if p.Wide.Flat() != c.flat {
			t.Errorf("%v: along with something else than the scatter: %v", c.levels, p.Wide.Flat())
		}
		for k, a := range p.Wide.Effect[0][0] {
			if math.IsNaN(a+p.Wide.Effect[0][1][k]+p.Wide.Ratio[0][k]) || math.IsNaN(p.Wide.Mean[2][k]) {
				t.Fatalf("%v, draw %d: effects %v and %v, ratio %v, mean %v", c.levels, k, a, p.Wide.Effect[0][1][k], p.Wide.Ratio[0][k], p.Wide.Mean[2][k])
			}
		}
	}
}

// By hand: crossings at 2, 4 and 8 of the levels 1, 4 and 16, whatever nothing adds; each way of vials is in the geometric mean as large as the standard
// deviation of a level's two averages, which lie 4 apart: √8, beside readings that scatter by less.
func TestWaysOfVials(t *testing.T) {
	d := open(Data{Groups: 4, Level: []float64{0, 1, 4, 16}, Technique: make([]int, 4), Factors: []Factor{{Name: "vial", Members: 8, Scale: 1, Nested: true}}})
	for g := range 4 {
		for i := range 4 {
			y := 10*float64(g) + 4*float64(i/2) + 0.1*float64(i%2)
			d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Member: []int{2*g + i/2}, Count: 1})
		}
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	ways := l.ways(l.averages(0), true)
	if len(ways) != 7 || ways[6] != nil {
		t.Fatalf("%d ways", len(ways))
	}
	for i, x := range []float64{2, 4, 8} {
		near(t, "from nothing to the top", ways[3+i][3]/ways[3+i][0], math.Hypot(x, 16)/x, 1e-12)
	}
	for i, rises := range []float64{1, 4, 16} { // by the powers 0, ½ and 1
		near(t, "from the lowest to the top", ways[i][3]/ways[i][1], rises, 1e-12)
	}
	for i, h := range ways[:6] {
		log, n := 0.0, 0.0
		for _, v := range h {
			if v > 0 {
				log, n = log+math.Log(v), n+1
			}
		}
		near(t, fmt.Sprint("the geometric mean of way ", i), math.Exp(log/n), math.Sqrt(8), 1e-9)
	}
}
