package posterior

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// point maximises the likelihood over group means and effects together, with
// the spread at its posterior medians: for exact readings without shared parts
// the average, for intervals the maximum-likelihood mean under normal scatter.
// Coordinate-wise Newton steps; the common offset that means and effects trade
// is put to zero after each round, which is where its prior wants it. Where a
// slip draws that away from what the draws say, it is their median.
func (l *layout) point(p *Posterior, share int) []float64 {
	c := &climber{layout: l, share: share, m: make([]float64, l.Groups), s: make([]float64, l.Groups), sum: make([]float64, len(l.Cells))}
	for g := range c.m {
		c.m[g], c.s[g] = l.group[g].mean, num.Exp(middleOf(p.Wide.LogSD[g]))
	}
	for f, fac := range l.Factors {
		c.height = append(c.height, p.Wide.middleHeight(f, l.Groups))
		c.tau = append(c.tau, middleOf(p.Wide.Ratio[f]))
		c.effect = append(c.effect, make([]float64, fac.Members))
	}
	c.look()
	for range 60 {
		moved := 0.0
		for g := range c.m {
			step := c.meanStep(g)
			c.m[g] += step
			moved = math.Max(moved, math.Abs(step)/c.s[g])
		}
		for f := range c.effect {
			for j := range c.effect[f] {
				step := c.effectStep(f, j)
				c.shift(f, c.byMember[f][j], step, &c.effect[f][j])
				moved = math.Max(moved, math.Abs(step)) // means of exact readings start where they need not move until effects have
			}
			c.centre(f)
		}
		if moved < 1e-10 {
			break
		}
	}
	for g := range c.m {
		c.m[g] = math.Min(math.Max(c.m[g], l.group[g].low), l.group[g].high)
		if low, high := tails(p.Wide.Mean[g], 0.1); c.m[g] < low || c.m[g] > high {
			c.m[g] = middleOf(p.Wide.Mean[g]) // a slip drew it away
		}
	}
	return c.m
}

// middleHeight is the average of Height over the draws, by group; nil where effects go along with the repeatability.
func (d *Draws) middleHeight(f, groups int) []float64 {
	if d.Along[f] == nil {
		return nil
	}
	h := make([]float64, groups)
	for k := range d.Len() {
		for g := range h {
			h[g] += d.Height(f, g, k) / float64(d.Len())
		}
	}
	return h
}

func middleOf(v []float64) float64 { return num.Quantile(slices.Sorted(slices.Values(v)), 0.5) }

type climber struct {
	*layout
	share    int
	m, s     []float64   // by group
	tau      []float64   // by factor
	effect   [][]float64 // by factor and member, ÷ s
	sum      []float64   // by cell: its effects
	height   [][]float64 // by factor and group: what one unit of an effect is on average, where they do not go along with the spread
	byMember [][][]int
}

func (c *climber) look() {
	for _, fac := range c.Factors {
		c.byMember = append(c.byMember, make([][]int, fac.Members))
	}
	for i, cell := range c.Cells {
		for f, j := range cell.Member {
			if j >= 0 {
				c.byMember[f][j] = append(c.byMember[f][j], i)
			}
		}
	}
}

// climb gives the first derivative of the cells' log likelihood to a common
// shift of the standardised latent mean, and minus the second.
func (c *climber) climb(cells []int, group func(g int) float64) (slope, bend float64) {
	for _, i := range cells {
		cell := &c.Cells[i]
		g := cell.Group
		mu := c.m[g] + c.s[g]*c.sum[i]
		a, b := scoreAndBend((cell.Seen[c.share][0]-mu)/c.s[g], (cell.Seen[c.share][1]-mu)/c.s[g])
		r := group(g)
		slope += cell.Count * a * r
		bend += cell.Count * b * r * r
	}
	return slope, bend
}

func (c *climber) meanStep(g int) float64 {
	slope, bend := c.climb(c.group[g].cells, func(g int) float64 { return 1 / c.s[g] })
	if !(bend > 0) {
		return 0 // all readings in one interval and far inside it: nothing to climb
	}
	limit := 3 / math.Sqrt(bend) // beyond it the quadratic is not to be trusted
	return math.Max(-limit, math.Min(limit, slope/bend))
}

func (c *climber) effectStep(f, j int) float64 {
	slope, bend := c.climb(c.byMember[f][j], func(g int) float64 { return c.unitOver(f, g) })
	precision := 1 / (c.tau[f]*c.tau[f] + 1e-12)
	return (slope - c.effect[f][j]*precision) / (bend + precision)
}

func (c *climber) shift(f int, cells []int, by float64, effect *float64) {
	*effect += by
	for _, i := range cells {
		c.sum[i] += by * c.unitOver(f, c.Cells[i].Group)
	}
}

// unitOver is what one unit of an effect is in a group, ÷ s.
func (c *climber) unitOver(f, g int) float64 {
	if c.Factors[f].Along != nil {
		return c.height[f][g] / c.s[g]
	}
	return 1
}

// centre puts the average effect of a factor (of a group's vials) to zero and
// gives it to the means.
func (c *climber) centre(f int) {
	if c.Factors[f].Nested {
		sum, n := make([]float64, c.Groups), make([]float64, c.Groups)
		for j, cells := range c.byMember[f] {
			if len(cells) > 0 {
				g := c.Cells[cells[0]].Group
				sum[g] += c.effect[f][j]
				n[g]++
			}
		}
		for j, cells := range c.byMember[f] {
			if len(cells) > 0 {
				g := c.Cells[cells[0]].Group
				c.shift(f, cells, -sum[g]/n[g], &c.effect[f][j])
			}
		}
		for g := range sum {
			if n[g] > 0 {
				c.m[g] += c.s[g] * sum[g] / n[g] * c.unitOver(f, g)
			}
		}
		return
	}
	mean := num.Mean(c.effect[f])
	for j, cells := range c.byMember[f] {
		c.shift(f, cells, -mean, &c.effect[f][j])
	}
	for g := range c.m {
		c.m[g] += mean * c.s[g] * c.unitOver(f, g)
	}
}

// scoreAndBend are the first derivative of log(Φ(b) − Φ(a)) to a shift of the
// mean in standard deviations, and minus the second.
func scoreAndBend(a, b float64) (score, bend float64) {
	if b-a < 1e-4 { // as good as exact, and free of cancellation
		return a + (b-a)/2, 1
	}
	log := num.LogPhiDiff(a, b)
	pa, pb := ratio(a, log), ratio(b, log)
	score = pa - pb
	za, zb := 0.0, 0.0
	if !math.IsInf(a, 0) {
		za = a * pa
	}
	if !math.IsInf(b, 0) {
		zb = b * pb
	}
	return score, math.Max(0, score*score-za+zb)
}

// ratio is φ(z)/(Φ(b) − Φ(a)) from the logarithm of the difference.
func ratio(z, logDiff float64) float64 {
	if math.IsInf(z, 0) {
		return 0
	}
	return num.Exp(num.LogNormalPDF(z) - logDiff)
}
