package posterior

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// chances of a group's intervals given its mean and log spread, the latent
// readings and their weights integrated out: Σ log P. by scales all effects.
func (c *chain) chances(g int, m, u float64, at place, by float64) float64 {
	s := 0.0
	if u == c.u[g] {
		s = c.sd(g)
	} else {
		s = num.Exp(u)
	}
	sc, sum := c.scatters[at.kind], product{0, 1}
	inv, normal := 1/s, at.kind == Normal
	first := c.start[g]
	units, z, shared, off := c.units[first:c.start[g+1]], c.z[first:c.start[g+1]], c.sum[first:c.start[g+1]], c.off[first:c.start[g+1]]
	scaled := s * by
	for i := range units {
		un := &units[i]
		mu := m + scaled*shared[i] + off[i]
		if c.exact[first+i] {
			d := (z[i] - mu) * inv
			if normal {
				sum.log -= un.count * (0.5*d*d + halfLog2Pi + u)
			} else {
				sum.log += un.count * (sc.density(d) - u)
			}
			continue
		}
		seen := &un.seen[at.share]
		a, b := (seen[0]-mu)*inv, (seen[1]-mu)*inv
		if a > -tableEnd && b < tableEnd && un.count == 1 {
			if p := sc.inTable(b) - sc.inTable(a); p >= small {
				sum.factor(p)
				continue
			}
		}
		sum.times(sc, a, b, un.count)
	}
	return sum.value()
}

// now is what the group's intervals say of where the chain stands; remembered
// as long as nothing of the group moves.
func (c *chain) now(g int) float64 {
	if !c.told[g] {
		c.ll[g], c.told[g] = c.chances(g, c.m[g], c.u[g], c.at, 1), true
	}
	return c.ll[g]
}

// share sums the effects on every unit; what was said of the intervals is forgotten.
func (c *chain) share() {
	for i := range c.units {
		c.sum[i], c.off[i] = c.shared(i)
	}
	clear(c.told)
}

// trial is a place for all groups that is thought of.
type trial struct{ m, u, ll []float64 }

// tried gives the gain of moving all groups to t under the place to, effects
// scaled by by; −∞ where a group leaves its bounds.
func (c *chain) tried(t trial, to place, by float64) float64 {
	gain, top := 0.0, c.l.floor+float64(c.l.points)*step
	for g, u := range t.u {
		gr := &c.l.group[g]
		if u < c.l.floor || u > top || t.m[g] < gr.low || t.m[g] > gr.high {
			return math.Inf(-1)
		}
	}
	for g, u := range t.u {
		t.ll[g] = c.chances(g, t.m[g], u, to, by)
		gain += t.ll[g] - c.now(g) + c.priorSpread(g, u) - c.priorSpread(g, c.u[g])
	}
	return gain
}

// take moves all groups to t.
func (c *chain) take(t trial, to place) {
	copy(c.m, t.m)
	copy(c.u, t.u)
	copy(c.ll, t.ll)
	c.at = to
}

// moveCoarse moves mean and spread of a group with few different answers
// against the intervals themselves: there latent readings hold them fast.
func (c *chain) moveCoarse(g int) {
	gr := &c.l.group[g]
	centre, omega := c.expected(g), freedoms[c.at.omega]
	prior := func(u float64) float64 {
		z := (u - centre) / omega
		return -0.5*z*z + c.priorSpread(g, u)
	}
	now := c.now(g)
	m := c.m[g] + c.step.coarseM[g]*c.rng.NormFloat64()
	if m >= gr.low && m <= gr.high {
		if next := c.chances(g, m, c.u[g], c.at, 1); c.accept(next-now, &c.step.coarseM[g]) {
			c.m[g], now = m, next
		}
	}
	was := prior(c.u[g])
	if u := c.u[g] + c.step.coarseU[g]*c.rng.NormFloat64(); u >= c.l.floor {
		to := prior(u)
		if next := c.chances(g, c.m[g], u, c.at, 1); c.accept(next-now+to-was, &c.step.coarseU[g]) {
			c.u[g], now, was = u, next, to
		}
	}
	// mean and spread together so that the distance from the boundary between its
	// answers, in standard deviations, stays: with two answers that changes no chance of either
	edge := c.edges[c.at.share][g].boundary
	if !math.IsInf(edge, 0) {
		by, tune := c.step.about[g]*c.rng.NormFloat64(), &c.step.about[g]
		if c.turn%2 == 0 { // or as its form has it
			by, tune = centre+omega*c.rng.NormFloat64()-c.u[g], nil
		}
		u := c.u[g] + by
		m := edge + (c.m[g]-edge)*num.Exp(by)
		if u >= c.l.floor && math.Abs(by) <= 5 && m >= gr.low && m <= gr.high {
			next := c.chances(g, m, u, c.at, 1)
			gain := next - now + by
			if tune == nil {
				gain += c.priorSpread(g, u) - c.priorSpread(g, c.u[g])
			} else {
				gain += prior(u) - was
			}
			if c.accept(gain, tune) {
				c.m[g], c.u[g], now = m, u, next
			}
		}
	}
	c.ll[g], c.told[g] = now, true
}

// edges are the ends of a group's answers under a sharing: low and high those
// between the lowest and the highest of its answers, or of the only one;
// boundary the lower end of the highest answer.
type edges struct {
	low, high, boundary float64
	one                 bool
}

// edgesOf finds them.
func (l *layout) edgesOf(g, share int) edges {
	var seen [][2]float64
	for _, i := range l.group[g].cells {
		if s := l.Cells[i].Seen[share]; !slices.Contains(seen, s) {
			seen = append(seen, s)
		}
	}
	slices.SortFunc(seen, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
	n := len(seen)
	e := edges{low: seen[0][1], high: seen[n-1][0], boundary: seen[n-1][0], one: n == 1}
	if e.one {
		e.low, e.high = seen[0][0], seen[0][1]
	}
	if math.IsInf(e.boundary, 0) { // all readings are open below
		e.boundary = seen[n-1][1]
	}
	if math.IsInf(e.low, 0) {
		e.low = e.high
	}
	if math.IsInf(e.high, 0) || math.Abs(e.high-e.low) < 1e-9 { // one boundary, by two ways of rounding
		e.high = e.low
	}
	return e
}

// carry takes mean and log spread of a group from one sharing to another so that
// they lie alike between the ends of its answers: stretched says by how much in
// log. Where the spread stays the mean only goes along with their middle.
func (e edges) carry(to edges, m, u float64, stretch bool) (m2, u2, stretched float64) {
	switch {
	case math.IsInf(e.low, 0):
		return m, u, 0
	case stretch && e.high > e.low && to.high > to.low && !e.one:
		r := (to.high - to.low) / (e.high - e.low)
		return to.low + r*(m-e.low), u + num.Log(r), num.Log(r)
	}
	return m + (to.low+to.high)/2 - (e.low+e.high)/2, u, 0
}

// moveShare tries another sharing of the gaps, the means carried along, and half
// the time the spreads too.
func (c *chain) moveShare() {
	to := c.at
	n := len(c.l.Shares)
	to.share = c.order[(c.rank[c.at.share]+1+c.rng.IntN(n-1))%n]
	if c.rng.IntN(4) > 0 { // a neighbour
		r := c.rank[c.at.share] + 1 - 2*c.rng.IntN(2)
		if r < 0 || r >= n {
			return
		}
		to.share = c.order[r]
	}
	stretch := c.rng.IntN(2) == 0
	gain, shift := num.Log(c.l.Shares[to.share]/c.l.Shares[c.at.share]), 0.0
	t := c.scratch.trial
	for g := range c.m {
		var by float64
		t.m[g], t.u[g], by = c.edges[c.at.share][g].carry(c.edges[to.share][g], c.m[g], c.u[g], stretch)
		gain += by
		shift += by / float64(len(c.m))
	}
	omega := freedoms[c.at.omega]
	for g := range c.m {
		a, b := (c.u[g]-c.expected(g))/omega, (t.u[g]-c.expected(g)-shift)/omega
		gain += 0.5 * (a*a - b*b)
	}
	if c.accept(gain+c.tried(t, to, 1), nil) {
		c.take(t, to)
		c.x += shift
	}
}

// moveKind tries another kind with the scatter of most readings held still, or
// the normal-equivalent one, or something between: spread and all that is told in
// it move along.
func (c *chain) moveKind() {
	to := c.at
	to.kind = Kind((int(c.at.kind) + 1 + c.rng.IntN(int(kinds)-1)) % int(kinds))
	by := num.Log(c.scatters[to.kind].unit / c.scatters[c.at.kind].unit)
	if c.rng.IntN(2) == 0 {
		by *= c.rng.Float64()
	}
	gain := c.logMix[to.kind][to.shape*len(freedoms)+to.omega] - c.logMix[c.at.kind][c.at.shape*len(freedoms)+c.at.omega]
	if !math.IsInf(gain, -1) {
		c.scaled(to, by, gain, nil)
	}
}

// shiftShared draws the average of each group's vials, and of each crossed
// factor's effects, anew and lets the means take up the difference: no reading
// notices, so that the prior of the average is drawn from.
func (c *chain) shiftShared() {
	if c.l.vial != None {
		sum, n := c.scratch.groups[0], c.scratch.groups[1]
		clear(sum)
		clear(n)
		for b := range c.blockOf {
			if k := &c.blockOf[b]; k.vial {
				sum[k.group] += c.v[b]
				n[k.group]++
			}
		}
		by := sum
		for g := range by {
			if n[g] > 0 {
				by[g] = c.tau[c.l.vial]/math.Sqrt(n[g])*c.rng.NormFloat64() - sum[g]/n[g]
				if m := c.m[g] - by[g]*c.sd(g); c.blocksOther[g] || m < c.l.group[g].low || m > c.l.group[g].high {
					by[g] = 0
				} else {
					c.m[g] = m
				}
			}
		}
		for b := range c.blockOf {
			if k := &c.blockOf[b]; k.vial {
				c.v[b] += by[k.group]
			}
		}
	}
	for f, fac := range c.l.Factors {
		if fac.inside() || c.partly[f] {
			continue
		}
		effect := c.a[c.first[f] : c.first[f]+fac.Members]
		by := c.tau[f]/math.Sqrt(float64(fac.Members))*c.rng.NormFloat64() - num.Mean(effect)
		inside := true
		for g, m := range c.m {
			m -= by * c.unitOf(f, g)
			inside = inside && m >= c.l.group[g].low && m <= c.l.group[g].high
		}
		if !inside {
			continue
		}
		for g := range c.m {
			c.m[g] -= by * c.unitOf(f, g)
		}
		for j := range effect {
			effect[j] += by
		}
	}
}

// moveScales moves all spreads against what they are shared with: repeatability
// while the effects stay where they are on the scale of the readings, or the
// vials' part alone.
func (c *chain) moveScales() {
	if c.l.vial != None && c.turn%4 == 0 {
		c.moveVials()
		return
	}
	tune := &c.step.shift[1]
	c.scaled(c.at, *tune*c.rng.NormFloat64(), 0, tune)
}

// moveVials multiplies the vials' part and all vials by one factor.
func (c *chain) moveVials() {
	f := c.l.vial
	by := num.Exp(c.step.shift[2] * c.rng.NormFloat64())
	gain := c.logPriorTau(f, c.tau[f]*by) - c.logPriorTau(f, c.tau[f])
	t := c.scratch.trial
	for g := range c.m {
		gain -= c.now(g)
	}
	for i := range c.units {
		c.sum[i] += (by - 1) * c.v[c.units[i].block]
	}
	for g := range c.m {
		t.ll[g] = c.chances(g, c.m[g], c.u[g], c.at, 1)
		gain += t.ll[g]
	}
	if !c.accept(gain, &c.step.shift[2]) {
		for i := range c.units {
			c.sum[i] -= (by - 1) * c.v[c.units[i].block]
		}
		return
	}
	c.tau[f] *= by
	for b := range c.v {
		c.v[b] *= by
	}
	copy(c.ll, t.ll)
}

// scaled tries to divide all spreads by e^by and to multiply what is told in
// them by it, so that it stays on the scale of the readings.
func (c *chain) scaled(to place, by, gain float64, tune *float64) {
	scale := num.Exp(by)
	t := c.scratch.trial
	copy(t.m, c.m)
	for g, u := range c.u {
		t.u[g] = u - by
	}
	if !c.accept(gain+c.gainOfRatios(scale)+c.tried(t, to, scale), tune) {
		return
	}
	c.take(t, to)
	c.x -= by
	c.multiply(scale)
	for i := range c.sum {
		c.sum[i] *= scale
	}
}
