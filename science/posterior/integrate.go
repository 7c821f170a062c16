package posterior

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// levels is the fit level by level of one kind of scatter and one sharing:
// nodes of (shape, ω) with the distribution of log φ on the grid.
type levels struct {
	l      *layout
	shapes []shape
	table  []*level
	smooth [][][]float64 // [ω][group][grid]: log ∫ L(u) N(u; v, ω²) du, plus the group's top
	nodes  []node
	prior  [priors]float64 // log evidence under each prior
}

// node is one (shape, ω): the largest log density over log φ and the sum.
type node struct {
	shape, freedom int
	log            float64 // log of the integral over log φ, prior not in it
	phi            []float64
	first          int
}

func fitLevels(l *layout, k Kind, share int) *levels {
	f := &levels{l: l, shapes: shapes(l.Level, l.weight)}
	for g := range l.group {
		f.table = append(f.table, newLevel(l, g, k, share))
	}
	f.smoothAll(k)
	free := freedomPrior(k)
	for w := range f.smooth {
		for s := range f.shapes {
			f.addNode(s, w)
		}
	}
	for p := range f.prior {
		logs := make([]float64, len(f.nodes))
		for i, n := range f.nodes {
			logs[i] = n.log + num.Log(f.shapes[n.shape].prior[p]*free.of(Prior(p), &f.shapes[n.shape], n.freedom))
		}
		f.prior[p] = logSum(logs)
	}
	return f
}

// smoothAll convolves every level with every ω.
func (f *levels) smoothAll(k Kind) {
	most := len(freedoms)
	for most > 1 && k != Normal && freedoms[most-1] > slipFreedom {
		most--
	}
	f.smooth = make([][][]float64, most)
	for w := range f.smooth {
		f.smooth[w] = make([][]float64, len(f.table))
	}
	for g, t := range f.table {
		like := t.relative()
		for w := range f.smooth {
			f.smooth[w][g] = t.smoothed(like, freedoms[w], f.l)
		}
	}
}

// relative is L over its largest.
func (t *level) relative() []float64 {
	like := make([]float64, len(t.logL))
	for j, v := range t.logL {
		like[j] = fallen(t.top - v)
	}
	return like
}

// smoothed is log Σ L(u_j)·N(v; u_j, ω)·gap at every grid point v.
func (t *level) smoothed(like []float64, omega float64, l *layout) []float64 {
	out := make([]float64, l.points)
	log, q := t.top+num.Log(t.gap/(omega*math.Sqrt(2*math.Pi))), num.Exp(-t.gap*t.gap/(omega*omega))
	for i := range out {
		v := l.floor + float64(i)*step
		sum := 0.0
		first := max(0, int(math.Ceil((v-6*omega-t.u0)/t.gap)))
		last := min(len(like)-1, int(math.Floor((v+6*omega-t.u0)/t.gap)))
		if first <= last {
			// N at steps of gap by a recurrence: each factor is the last times a constant ratio
			z, d := (t.u(first)-v)/omega, t.gap/omega
			e := num.Exp(-0.5 * z * z)
			r := num.Exp(-z*d - 0.5*d*d)
			for _, v := range like[first : last+1] {
				sum += v * e
				e *= r
				r *= q
			}
		}
		out[i] = log + num.Log(sum)
	}
	return out
}

// addNode sums over log φ, and over each technique's factor t with its prior.
func (f *levels) addNode(s, w int) {
	l := f.l
	low, high := 0, l.points
	for _, o := range f.shapes[s].offset {
		low, high = max(low, -o), min(high, l.points-o)
	}
	if low >= high {
		return
	}
	sum := make([][]float64, l.techs)
	for t := range sum {
		sum[t] = make([]float64, high-low)
	}
	for g := range l.group {
		table, o := f.smooth[w][g], f.shapes[s].offset[g]
		row := sum[l.Technique[g]]
		for i := range row {
			row[i] += table[low+i+o]
		}
	}
	total := sum[0]
	for t := 1; t < l.techs; t++ {
		for i, v := range convolved(sum[t]) {
			total[i] += v
		}
	}
	n := node{shape: s, freedom: w, first: low, phi: total}
	if n.log = logSum(total); math.IsInf(n.log, -1) || math.IsNaN(n.log) {
		return
	}
	f.nodes = append(f.nodes, n)
}

// techniqueSD is the prior standard deviation of log t: within a factor of
// four, 95 %.
const techniqueSD = 0.7

// techniqueKernel is that prior at the steps of the grid, out to four standard deviations.
var techniqueKernel = func() (kernel []float64) {
	reach := int(4 * techniqueSD / step)
	for j := -reach; j <= reach; j++ {
		x := float64(j) * step / techniqueSD
		kernel = append(kernel, num.Exp(-0.5*x*x+num.Log(step/(techniqueSD*math.Sqrt(2*math.Pi)))))
	}
	return kernel
}()

// convolved integrates a technique's factor out.
func convolved(v []float64) []float64 {
	out := make([]float64, len(v))
	reach := len(techniqueKernel) / 2
	top := slices.Max(v)
	like := make([]float64, len(v))
	for i := range v {
		like[i] = num.Exp(v[i] - top)
	}
	for i := range out {
		s, first := 0.0, max(0, i-reach)
		for j, l := range like[first:min(len(like), i+reach+1)] {
			s += l * techniqueKernel[first+j-i+reach]
		}
		out[i] = top + num.Log(s)
	}
	return out
}

func logSum(v []float64) float64 {
	top := math.Inf(-1)
	for _, x := range v {
		top = max(top, x)
	}
	if math.IsInf(top, -1) {
		return top
	}
	s := 0.0
	for _, x := range v {
		s += fall(top - x)
	}
	return top + num.Log(s)
}

// lattice is a set of fixed points: every coordinate of the n points takes each
// of n equal shares of the unit interval once, in an order of its own that
// never changes. With it two runs, and two seeds, are the same.
type lattice struct {
	n     int
	order [][]int32
}

func newLattice(n, dims int) *lattice {
	rng := num.Source(2026, uint64(n))
	p := &lattice{n: n}
	for range dims {
		order := make([]int32, n)
		for i := range order {
			order[i] = int32(i)
		}
		rng.Shuffle(n, func(i, j int) { order[i], order[j] = order[j], order[i] })
		p.order = append(p.order, order)
	}
	return p
}

func (p *lattice) at(k, dim int) float64 { return (float64(p.order[dim][k]) + 0.5) / float64(p.n) }

// Normals are n standard normal values, each of n equal chances once, in an
// order that the task names and that never changes.
func Normals(n int, task uint64) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = num.PhiInv((float64(i) + 0.5) / float64(n))
	}
	num.Source(2027, task).Shuffle(n, func(i, j int) { v[i], v[j] = v[j], v[i] })
	return v
}

func sortedDistinct(v []float64) []float64 {
	slices.Sort(v)
	return slices.Compact(v)
}
