package posterior

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/num"
)

// Draws are equally weighted draws from the posterior under one prior. Draw k of
// every quantity belongs together.
type Draws struct {
	Mean  [][]float64 // by group: the mean of what would be read there, vials and people on average
	LogSD [][]float64 // by group: log of the normal-equivalent repeatability standard deviation
	Ratio [][]float64 // by factor: τ, its standard deviation ÷ repeatability, or ÷ Along
	// Along is by factor what its effects go along with instead (Factor.Along), Way by factor and draw which of these it is; nil: with the repeatability, in all draws or in those that go this way.
	Along [][][]float64
	Way   [][]uint8
	// Effect is, by crossed factor and member, its effect ÷ repeatability, or ÷ Along; nil
	// for nested factors.
	Effect [][][]float64
	// Unseen is τ of the vial where no level shows two of them (Data.OneVial):
	// drawn from its prior, as the data say nothing. Nil else.
	Unseen []float64
	// Share is, by draw, which of Data.Shares the readings were seen by.
	Share []int
}

// Flat says whether any factor's effects go along with something else than the repeatability, in any draw.
func (d *Draws) Flat() bool {
	return slices.ContainsFunc(d.Along, func(ways [][]float64) bool { return ways != nil })
}

// FlatIn says it of one factor, in any draw.
func (d *Draws) FlatIn(f int) bool { return d.Along != nil && d.Along[f] != nil }

// Height is what one unit of a factor's effects is in a group in draw k, where in some draws they go along with something else than the repeatability.
func (d *Draws) Height(f, g, k int) float64 {
	if h := d.Along[f][d.Way[f][k]]; h != nil {
		return h[g]
	}
	return num.Exp(d.LogSD[g][k])
}

// WithSpread says whether a factor's effects go along with the repeatability in draw k.
func (d *Draws) WithSpread(f, k int) bool { return !d.FlatIn(f) || d.Along[f][d.Way[f][k]] == nil }

// Len is how many draws there are.
func (d *Draws) Len() int { return len(d.Mean[0]) }

// Whole is the factor by which the whole spread of a single reading exceeds
// repeatability in draw k, where all effects go along with that.
func (d *Draws) Whole(k int) float64 {
	return d.WholeOf(k, func(f int) float64 { return d.Ratio[f][k] })
}

// WholeOf is the same of parts that stand in repeatabilities; 0 leaves a factor out.
func (d *Draws) WholeOf(k int, part func(f int) float64) float64 {
	s := 1.0
	for f := range d.Ratio {
		p := part(f)
		s += p * p
	}
	if d.Unseen != nil {
		s += d.Unseen[k] * d.Unseen[k]
	}
	return math.Sqrt(s)
}

func newDraws(l *layout, n int) *Draws {
	d := &Draws{Mean: table(l.Groups, n), LogSD: table(l.Groups, n), Ratio: table(len(l.Factors), n), Along: make([][][]float64, len(l.Factors)), Way: make([][]uint8, len(l.Factors)), Effect: make([][][]float64, len(l.Factors)), Share: make([]int, n)}
	for f, fac := range l.Factors {
		for _, h := range fac.Along {
			d.Along[f] = append(d.Along[f], slices.Clone(h))
		}
		if fac.Along != nil {
			d.Way[f] = make([]uint8, n)
		}
		if !fac.inside() {
			d.Effect[f] = table(fac.Members, n)
		}
	}
	return d
}

func table(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	t := make([][]float64, rows)
	for i := range t {
		t[i] = all[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return t
}

// unseenVials adds the part of vials that no reading shows: half-t with 3
// degrees of freedom and scale 1 (common practice, no source).
func (d *Draws) unseenVials(l *layout, points *lattice, dim int) {
	any := false
	for _, one := range l.OneVial {
		any = any || one
	}
	if !any {
		return
	}
	n := d.Len()
	if l.nested == None {
		d.Unseen = make([]float64, n)
		for k := range d.Unseen {
			d.Unseen[k] = -tQuantile3((1 - points.at(k, dim)) / 2)
		}
	}
	for g, one := range l.OneVial {
		dim++
		if !one || l.nested != None {
			continue
		}
		for k := range n {
			d.Mean[g][k] += num.Exp(d.LogSD[g][k]) * d.Unseen[k] * quantile(points.at(k, dim))
		}
	}
}

// HalfT3 is the chance of a value below x ≥ 0 of a half-t with 3 degrees of freedom, the prior of a τ ÷ its scale, in closed form.
func HalfT3(x float64) float64 {
	y := x / math.Sqrt(3)
	return (math.Atan(y) + y/(1+y*y)) * 2 / math.Pi
}

// tQuantile3 is the lower quantile of t with 3 degrees of freedom, p ≤ ½, by halving.
func tQuantile3(p float64) float64 {
	lo, hi := -1e3, 0.0
	for range 60 {
		if mid := (lo + hi) / 2; (1-HalfT3(-mid))/2 < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// mixture is the fits of all kinds of scatter and sharings, each with its evidence.
type mixture struct {
	l    *layout
	fits []*levels
	kind []Kind
	at   []int             // sharing
	log  [][priors]float64 // prior weight
}

// weights are the normalised weights of the fits under a prior.
func (m *mixture) weights(p Prior) []float64 {
	logs := make([]float64, len(m.fits))
	for i, f := range m.fits {
		logs[i] = m.log[i][p] + f.prior[p]
	}
	total := logSum(logs)
	for i := range logs {
		logs[i] = num.Exp(logs[i] - total)
	}
	return logs
}

// draws takes n draws along the lattice's fixed points: the node from the
// cumulated weights, then log φ, then each group's spread and mean, each by its
// inverse distribution. nil where no node has any weight: readings that span more
// than numbers can carry.
func (m *mixture) draws(p Prior, n int) *Draws {
	l := m.l
	d := newDraws(l, n)
	points := newLattice(n, 2+l.techs+3*l.Groups+1)
	type choice struct {
		fit   *levels
		node  *node
		share int
		cum   float64
	}
	var all []choice
	total := 0.0
	fitWeight := m.weights(p)
	for i, f := range m.fits {
		free := freedomPrior(m.kind[i])
		for j := range f.nodes {
			nd := &f.nodes[j]
			w := num.Exp(nd.log-f.prior[p]) * f.shapes[nd.shape].prior[p] * free.of(p, &f.shapes[nd.shape], nd.freedom) * fitWeight[i]
			if w > 1e-9 {
				total += w
				all = append(all, choice{f, nd, m.at[i], total})
			}
		}
	}
	if len(all) == 0 {
		return nil
	}
	cum := make([]float64, l.points)
	for k := range n {
		want := points.at(k, 0) * total
		c := all[min(sort.Search(len(all), func(i int) bool { return all[i].cum >= want }), len(all)-1)]
		d.Share[k] = c.share
		c.fit.draw(d, k, c.node, points, cum)
	}
	d.unseenVials(l, points, 2+l.techs+2*l.Groups)
	return d
}

// draw is draw k from one node.
func (f *levels) draw(d *Draws, k int, nd *node, points *lattice, cum []float64) {
	l := f.l
	cum = cum[:len(nd.phi)]
	top := math.Inf(-1)
	for _, v := range nd.phi {
		top = max(top, v)
	}
	sum := 0.0
	for i, v := range nd.phi {
		sum += fall(top - v)
		cum[i] = sum
	}
	x := l.floor + (float64(nd.first)+stepped(cum, points.at(k, 1)))*step
	for t := range l.techs {
		at := x
		if t > 0 {
			at += f.drawTechnique(nd, x, t, points.at(k, 1+t))
		}
		for g := range l.group {
			if l.Technique[g] != t {
				continue
			}
			u := f.table[g].drawSpread(at+f.shapes[nd.shape].logH[g], freedoms[nd.freedom], points.at(k, 2+l.techs+g))
			d.LogSD[g][k] = u
			d.Mean[g][k] = f.table[g].draw(u, points.at(k, 2+l.techs+l.Groups+g))
		}
	}
}

// stepped inverts a cumulated sum of point masses, each spread over its step:
// from −½ to n − ½.
func stepped(cum []float64, p float64) float64 {
	want := p * cum[len(cum)-1]
	i := sort.SearchFloat64s(cum, want)
	if i >= len(cum) {
		i = len(cum) - 1
	}
	before := 0.0
	if i > 0 {
		before = cum[i-1]
	}
	if cum[i] == before {
		return float64(i)
	}
	return float64(i) - 0.5 + (want-before)/(cum[i]-before)
}

// drawTechnique draws log t of a technique given log φ = x.
func (f *levels) drawTechnique(nd *node, x float64, t int, p float64) float64 {
	l := f.l
	reach := int(4 * techniqueSD / step)
	logs := make([]float64, 2*reach+1)
	base := int(math.Round((x - l.floor) / step))
	for j := range logs {
		z := float64(j-reach) * step / techniqueSD
		logs[j] = -0.5 * z * z
		for g := range l.group {
			if l.Technique[g] != t {
				continue
			}
			at := base + j - reach + f.shapes[nd.shape].offset[g]
			if at < 0 || at >= l.points {
				logs[j] = math.Inf(-1)
				break
			}
			logs[j] += f.smooth[nd.freedom][g][at]
		}
	}
	top, sum := math.Inf(-1), 0.0
	for _, v := range logs {
		top = max(top, v)
	}
	if math.IsInf(top, -1) {
		return 0
	}
	for j, v := range logs {
		sum += num.Exp(v - top)
		logs[j] = sum
	}
	return (stepped(logs, p) - float64(reach)) * step
}

// drawSpread draws log s given that it scatters about v by ω.
func (t *level) drawSpread(v, omega, p float64) float64 {
	first := max(0, int(math.Ceil((v-6*omega-t.u0)/t.gap)))
	last := min(len(t.logL)-1, int(math.Floor((v+6*omega-t.u0)/t.gap)))
	if first > last {
		return math.Min(math.Max(v, t.u0), t.u(len(t.logL)-1))
	}
	var space [256]float64
	cum := space[:0]
	sum := 0.0
	z, d := (t.u(first)-v)/omega, t.gap/omega
	for j := first; j <= last; j++ {
		sum += fall(t.top - t.logL[j] + 0.5*z*z)
		cum = append(cum, sum)
		z += d
	}
	if sum == 0 {
		return math.Min(math.Max(v, t.u0), t.u(len(t.logL)-1))
	}
	return t.u0 + (float64(first)+stepped(cum, p))*t.gap
}
