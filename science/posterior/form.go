package posterior

import (
	"math"
	"sort"

	"knownwater/science/num"
)

// moveAll moves all spreads together: up or down; and to another shape and ω
// drawn from their prior, each group's distance from its form kept in units of ω.
func (c *chain) moveAll(of []given, now []float64) {
	try := func(to func(g int) float64, gain float64) bool {
		next := c.scratch.groups[2]
		for g := range next {
			next[g] = c.logSpread(g, to(g), of[g])
			gain += next[g] - now[g]
		}
		if !c.accept(gain, nil) {
			return false
		}
		for g := range next {
			c.u[g] = to(g)
		}
		copy(now, next)
		return true
	}
	c.moveUp(of, try)
	if len(c.shapes) == 1 {
		return
	}
	{
		to := c.at
		to.shape, to.omega = c.fromPrior()
		ratio := freedoms[to.omega] / freedoms[c.at.omega]
		h := c.shapes[to.shape].logH
		old := c.scratch.groups[3]
		for g := range old {
			old[g] = c.u[g] - c.expected(g)
		}
		if try(func(g int) float64 { return c.x + h[g] + c.logT[c.l.Technique[g]] + ratio*old[g] }, 0) {
			c.at = to
		}
	}
}

// moveUp moves all spreads by as much, about as the readings have it (aboutSpread), wherever
// they are.
func (c *chain) moveUp(of []given, try func(to func(g int) float64, gain float64) bool) {
	n, q, i := 0.0, 0.0, 0.0
	for g := range c.u {
		inv := c.inverse(g)
		n += c.count[g] - 1
		q += of[g].square * inv * inv
		i += of[g].inner * inv
	}
	mode, sd, ok := aboutScale(n, q, i, 0, 0)
	if !ok {
		mode, sd = 0, 2.4/math.Sqrt(2*n+1)
	}
	by := mode + sd*c.rng.NormFloat64()
	gain := 0.0
	if ok {
		z0, z1 := -mode/sd, (by-mode)/sd
		gain = 0.5 * (z1*z1 - z0*z0)
	}
	if try(func(g int) float64 { return c.u[g] + by }, gain) {
		c.x += by
	}
}

// fromPrior draws a shape and an ω from the prior that the chain walks under.
func (c *chain) fromPrior() (shape, omega int) {
	p, k := Wide, c.at.kind
	wide, form := c.wide*kindPrior[Wide][k], (1-c.wide)*kindPrior[FormFavouring][k]
	if c.rng.Float64()*(wide+form) > wide {
		p = FormFavouring
	}
	q := c.rng.Float64()
	for shape = range c.shapes {
		if q -= c.shapes[shape].prior[p]; q <= 0 {
			break
		}
	}
	q = c.rng.Float64()
	for omega = range freedoms {
		if q -= c.free[k].of(p, &c.shapes[shape], omega); q <= 0 {
			break
		}
	}
	if c.mixed(c.at.kind, shape, omega) == 0 { // rounding at the end of a list
		return c.at.shape, c.at.omega
	}
	return shape, omega
}

// moveForm draws shape, ω and log φ from what the groups with more than two
// answers say of them, and lets the others move along, their distance from the form kept
// in units of ω: their spread is hardly seen, and latent readings would hold it fast.
func (c *chain) moveForm() {
	n := 0.0
	for g := range c.u {
		if !c.loose[g] {
			n++
		}
	}
	if len(c.shapes) == 1 || n == 0 {
		return
	}
	to, x := c.formOf(func(g int) bool { return !c.loose[g] }, n)
	t := c.scratch.trial
	copy(t.m, c.m)
	gain, next, about := 0.0, t.u, c.rng.IntN(2) == 0
	for g, u := range c.u {
		next[g] = u
		if !c.loose[g] {
			t.ll[g] = c.now(g)
			continue
		}
		next[g] = x + c.shapes[to.shape].logH[g] + c.logT[c.l.Technique[g]] + freedoms[to.omega]/freedoms[c.at.omega]*(u-c.expected(g))
		if next[g] < c.l.floor || next[g] > c.l.floor+float64(c.l.points)*step {
			return
		}
		if e := &c.edges[c.at.share][g]; about && e.low == e.high && !math.IsInf(e.low, 0) {
			t.m[g] = e.low + (c.m[g]-e.low)*num.Exp(next[g]-u)
			gain += next[g] - u
		}
		if t.m[g] < c.l.group[g].low || t.m[g] > c.l.group[g].high {
			return
		}
		t.ll[g] = c.chances(g, t.m[g], next[g], c.at, 1)
		gain += t.ll[g] - c.now(g) + c.priorSpread(g, next[g]) - c.priorSpread(g, u)
	}
	if c.accept(gain, nil) {
		c.take(t, to)
		c.x = x
	}
}

// formOf draws shape, ω and log φ from what the spreads of n groups say of them.
func (c *chain) formOf(tells func(g int) bool, n float64) (to place, x float64) {
	logs, mean, own := c.scratch.logs, c.scratch.shapes[0], c.scratch.groups[0][:0]
	told := c.scratch.told[:0]
	var tight [len(freedoms)]float64
	for g, u := range c.u {
		if tells(g) {
			told, own = append(told, g), append(own, u-c.logT[c.l.Technique[g]])
		}
	}
	for w := range freedoms {
		tight[w] = (n - 1) * logFreedom[w]
	}
	mix := c.logMix[c.at.kind]
	for s := range c.shapes {
		sum, square, h := 0.0, 0.0, c.shapes[s].logH
		for i, g := range told {
			d := own[i] - h[g]
			sum += d
			square += d * d
		}
		mean[s] = sum / n
		square = max(0, square-sum*sum/n)
		at, from := logs[s*len(freedoms):(s+1)*len(freedoms)], mix[s*len(freedoms):(s+1)*len(freedoms)]
		for w := range at {
			at[w] = from[w] - 0.5*square*invSquare[w] - tight[w]
		}
	}
	i := c.choose(logs)
	to = c.at
	to.shape, to.omega = i/len(freedoms), i%len(freedoms)
	return to, mean[to.shape] + freedoms[to.omega]/math.Sqrt(n)*c.rng.NormFloat64()
}

// moveOut draws shape, ω and log φ from what all groups but one say of them, and that one's spread
// from the form that they make: of a group of few different answers large spreads are as likely as
// the form has them, and a form that such a spread has drawn along holds it out there. Half the time its
// mean keeps its distance from the boundary between its answers, in standard deviations.
func (c *chain) moveOut(g int) {
	n := float64(c.l.Groups - 1)
	if n == 0 {
		return
	}
	to, x := c.formOf(func(other int) bool { return other != g }, n)
	now, m, u := c.now(g), c.m[g], x+c.shapes[to.shape].logH[g]+c.logT[c.l.Technique[g]]+freedoms[to.omega]*c.rng.NormFloat64()
	if u < c.l.floor || u > c.l.floor+float64(c.l.points)*step {
		return
	}
	gain := c.priorSpread(g, u) - c.priorSpread(g, c.u[g])
	if edge := c.edges[c.at.share][g].boundary; c.rng.IntN(2) == 0 && !math.IsInf(edge, 0) {
		m = edge + (m-edge)*num.Exp(u-c.u[g])
		gain += u - c.u[g]
	}
	if gr := &c.l.group[g]; m < gr.low || m > gr.high {
		return
	}
	next := c.chances(g, m, u, c.at, 1)
	if c.accept(gain+next-now, nil) {
		c.m[g], c.u[g], c.ll[g] = m, u, next
		c.at, c.x = to, x
	}
}

// moveShape tries a shape near the one that stands, and the same ω or the one
// beside it, with the groups' distances from their form kept in units of ω and the
// latent readings integrated out: they would hold the spreads fast. Half the time
// a mean with two answers keeps its distance from the boundary between them, in
// standard deviations: that changes no chance of either.
func (c *chain) moveShape() {
	if len(c.shapes) == 1 {
		return
	}
	to := c.at
	to.shape = c.near.draw(c.at.shape, c.rng.Float64())
	gain := c.near.log(to.shape, c.at.shape) - c.near.log(c.at.shape, to.shape)
	to.omega += c.rng.IntN(3) - 1
	if to.omega < 0 || to.omega >= len(freedoms) {
		return
	}
	gain += c.logMix[to.kind][to.shape*len(freedoms)+to.omega] - c.logMix[c.at.kind][c.at.shape*len(freedoms)+c.at.omega]
	if math.IsInf(gain, -1) {
		return
	}
	t := c.scratch.trial
	ratio, about := freedoms[to.omega]/freedoms[c.at.omega], c.rng.IntN(2) == 0
	for g, u := range c.u {
		t.u[g] = c.x + c.shapes[to.shape].logH[g] + c.logT[c.l.Technique[g]] + ratio*(u-c.expected(g))
		t.m[g] = c.m[g]
		if e := &c.edges[c.at.share][g]; about && c.coarse[g] && e.low == e.high && !math.IsInf(e.low, 0) {
			t.m[g] = e.low + (c.m[g]-e.low)*num.Exp(t.u[g]-u)
			gain += t.u[g] - u
		}
	}
	if c.accept(gain+c.tried(t, to, 1), nil) {
		c.take(t, to)
	}
}

// nearness says how likely each shape is thought of from another: normal in
// their distance.
type nearness struct {
	n    int
	cum  []float64
	logs []float64
}

// nearStep is how far apart, in log spread on average over the groups, shapes
// are that are thought of from each other.
const nearStep = 0.15

func newNearness(shapes []shape) *nearness {
	n := len(shapes)
	k := &nearness{n, make([]float64, n*n), make([]float64, n*n)}
	for i, a := range shapes {
		total := 0.0
		for j, b := range shapes {
			d := 0.0
			for g := range a.logH {
				d += (a.logH[g] - b.logH[g]) * (a.logH[g] - b.logH[g])
			}
			w := num.Exp(-0.5*d/float64(len(a.logH))/(nearStep*nearStep)) + 1e-3
			total += w
			k.logs[i*n+j], k.cum[i*n+j] = num.Log(w), total
		}
		for j := range n {
			k.logs[i*n+j] -= num.Log(total)
			k.cum[i*n+j] /= total
		}
	}
	return k
}

func (k *nearness) draw(from int, p float64) int {
	return min(sort.SearchFloat64s(k.cum[from*k.n:(from+1)*k.n], p), k.n-1)
}

func (k *nearness) log(from, to int) float64 { return k.logs[from*k.n+to] }

// drawForm draws techniques, log φ, shape and ω given the groups' spreads.
func (c *chain) drawForm() {
	groups := float64(c.l.Groups)
	logs := c.scratch.logs[:len(c.shapes)]
	omega2 := freedoms[c.at.omega] * freedoms[c.at.omega]
	sum, square := c.scratch.shapes[0], c.scratch.shapes[1]
	clear(sum)
	clear(square)
	for s := range c.shapes {
		for g := range c.u {
			d := c.u[g] - c.shapes[s].logH[g] - c.logT[c.l.Technique[g]]
			sum[s] += d
			square[s] += d * d
		}
		square[s] = max(0, square[s]-sum[s]*sum[s]/groups)
		logs[s] = c.logMix[c.at.kind][s*len(freedoms)+c.at.omega] - 0.5*square[s]/omega2
	}
	c.at.shape = c.choose(logs)
	logs = logs[:0]
	for w := range freedoms {
		logs = append(logs, c.logMix[c.at.kind][c.at.shape*len(freedoms)+w]-(groups-1)*logFreedom[w]-0.5*square[c.at.shape]*invSquare[w])
	}
	c.at.omega = c.choose(logs)
	c.x = sum[c.at.shape]/groups + freedoms[c.at.omega]/math.Sqrt(groups)*c.rng.NormFloat64()
	omega2 = freedoms[c.at.omega] * freedoms[c.at.omega]
	for t := 1; t < c.l.techs; t++ {
		n, s := 0.0, 0.0
		for g := range c.u {
			if c.l.Technique[g] == t {
				n++
				s += c.u[g] - c.x - c.shapes[c.at.shape].logH[g]
			}
		}
		q := n/omega2 + 1/(techniqueSD*techniqueSD)
		c.logT[t] = s/omega2/q + c.rng.NormFloat64()/math.Sqrt(q)
	}
}
