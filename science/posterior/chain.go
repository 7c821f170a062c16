package posterior

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"knownwater/science/num"
)

// A chain draws the latent readings inside their intervals; given those, a
// group's readings are normal with shared parts, and its mean and vials are
// integrated out of everything else: three sums a group say all of its spread.
//
//	z_i = m_g + s_g·(A·x_i + V_vial + e_i/√w_i),  e ~ N(0, 1),  V ~ N(0, ρ²),  A ~ N(0, τ²)
//
// w_i is 1 for normal scatter, less for a reading drawn as a slip or from the
// tail of a t.
type chain struct {
	l       *layout
	units   []unit
	rng     *rand.Rand
	columns int
	first   []int // column of each factor's first member

	at          place
	shapes      []shape
	free        [kinds][priors][]float64
	logMix      [kinds][]float64 // log of mixed, by shape and ω
	x           float64          // log φ
	logT        []float64        // by technique
	u, m        []float64        // by group
	a           []float64        // crossed effects ÷ s, by column
	tau         []float64        // by factor; of the nested one, ρ
	z, w        []float64        // by unit
	ss          []float64        // by unit: squares within it, where it stands for several readings
	v           []float64        // by block: vial ÷ s
	blockOf     []block
	coarse      []bool // groups that get moves of their own
	count       []float64
	exact       []bool // units that are fine enough to be taken as exact
	partly      []bool // factors that some readings have no member of
	blocksOther []bool // groups with readings of no vial beside those of vials
	rounded     bool   // whether any reading is more than a point
	start       []int  // first unit of each group; they stand in order

	// sums of the sweep
	big    []float64 // Σ_g QXX
	qzz    []float64 // by group
	qzx    [][]float64
	weight []float64 // Σ ω by group

	memo    []spreadMemo // by group
	scratch scratch

	step     struct{ tau, scale, coarseM, coarseU, about, shift []float64 }
	adapting bool
	turn     int
}

// block is a vial of a group, or all of its readings that name none.
type block struct {
	group int
	vial  bool
	// sums of the sweep: Σw, Σwz, Σwz² and Σwx, with z less the group's centre
	w, y, yy float64
	x        []float64
	xx, xy   []float64
	omega    float64
	columns  []int   // of the effects that any of its readings has: the others' sums are 0
	off      float64 // (moveVialRatio) its average less the effects, ÷ s
}

func newChain(l *layout, units []unit, name, number uint64) *chain {
	c := &chain{l: l, units: units, rng: num.Source(name, number), shapes: shapes(l.Level, l.weight), logT: make([]float64, l.techs)}
	for k := range c.free {
		c.free[k] = freedomPrior(Kind(k))
	}
	for k := range c.logMix {
		for s := range c.shapes {
			for w := range freedoms {
				c.logMix[k] = append(c.logMix[k], math.Log(c.mixed(Kind(k), s, w)))
			}
		}
	}
	for _, fac := range l.Factors {
		c.first = append(c.first, c.columns)
		c.tau = append(c.tau, 0.5)
		if !fac.Nested {
			c.columns += fac.Members
		}
	}
	blocks := 0
	for _, u := range units {
		blocks = max(blocks, u.block+1)
	}
	c.blockOf = make([]block, blocks)
	for _, u := range units {
		vial := l.vial != None && l.Cells[u.cell].Member[l.vial] != None
		if c.blockOf[u.block].x == nil {
			c.blockOf[u.block] = block{group: u.group, vial: vial, x: make([]float64, c.columns), xx: make([]float64, c.columns*c.columns), xy: make([]float64, c.columns)}
		}
		k := &c.blockOf[u.block]
		for _, j := range u.member {
			if at, known := slices.BinarySearch(k.columns, j); !known {
				k.columns = slices.Insert(k.columns, at, j)
			}
		}
	}
	c.v, c.a = make([]float64, blocks), make([]float64, c.columns)
	c.z, c.w, c.ss, c.exact = make([]float64, len(units)), make([]float64, len(units)), make([]float64, len(units)), make([]bool, len(units))
	c.big, c.qzz, c.weight = make([]float64, c.columns*c.columns), make([]float64, l.Groups), make([]float64, l.Groups)
	c.qzx, c.count = table(l.Groups, c.columns), make([]float64, l.Groups)
	c.memo = make([]spreadMemo, l.Groups)
	c.scratch = newScratch(l.Groups, c.columns, blocks, len(c.shapes))
	guesses := make([]float64, 0, l.Groups)
	for g, gr := range l.group {
		jitter := c.rng.NormFloat64()
		c.u = append(c.u, gr.guess+0.2*jitter)
		c.m = append(c.m, gr.mean)
		c.coarse = append(c.coarse, gr.width > 0 && l.distinct(g) <= 3)
		guesses = append(guesses, gr.guess)
	}
	c.x = median(guesses)
	c.at.omega = 2
	for i, u := range units {
		s := u.seen[0]
		c.z[i], c.w[i] = middle(s), 1
		gr := &l.group[u.group]
		c.exact[i] = s[0] == s[1] || len(l.Shares) == 1 && s[1]-s[0] < 0.1*math.Exp(gr.guess) && l.distinct(u.group) > 3
		c.count[u.group] += u.count
		c.rounded = c.rounded || !c.exact[i]
	}
	c.start = make([]int, l.Groups+1)
	for _, u := range units {
		c.start[u.group+1]++
	}
	for g := range l.Groups {
		c.start[g+1] += c.start[g]
	}
	c.partly, c.blocksOther = make([]bool, len(l.Factors)), make([]bool, l.Groups)
	for _, cell := range l.Cells {
		for f, j := range cell.Member {
			c.partly[f] = c.partly[f] || j == None
			c.blocksOther[cell.Group] = c.blocksOther[cell.Group] || f == l.vial && j == None
		}
	}
	c.step.tau, c.step.scale = fill(len(c.tau), 0.6), fill(len(c.tau), 0.4)
	c.step.coarseM, c.step.coarseU, c.step.about, c.step.shift = make([]float64, l.Groups), fill(l.Groups, 0.5), fill(l.Groups+1, 0.5), fill(2, 0.2)
	for g, gr := range l.group {
		c.step.coarseM[g] = 0.5 * math.Exp(gr.guess)
	}
	return c
}

func fill(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// prior is that of (kind, shape, ω) under one prior; mixed that which the chain
// walks under, half of each, so that one walk serves both.
func (c *chain) prior(k Kind, p Prior, shape, omega int) float64 {
	return kindPrior[p][k] * c.shapes[shape].prior[p] * c.free[k][p][omega]
}

func (c *chain) mixed(k Kind, shape, omega int) float64 {
	return 0.5 * (c.prior(k, Wide, shape, omega) + c.prior(k, FormFavouring, shape, omega))
}

// shared is the sum of the effects on unit i, ÷ s.
func (c *chain) shared(i int) float64 {
	u := &c.units[i]
	s := c.v[u.block]
	for _, j := range u.member {
		s += c.a[j]
	}
	return s
}

// mostStep bounds the steps of moves that nothing holds back.
const mostStep = 1e6

// accept decides a move whose log posterior changes by gain, and tunes its
// step towards an acceptance of 0.44 during the burn-in.
func (c *chain) accept(gain float64, step *float64) bool {
	ok := gain >= 0 || math.Log(c.rng.Float64()) < gain
	if math.IsNaN(gain) {
		ok = false
	}
	if c.adapting && step != nil {
		switch {
		case ok:
			*step = math.Min(*step*1.12, mostStep)
		default:
			*step *= 0.915 // 0.44·log 1.12 + 0.56·log 0.915 ≈ 0
		}
	}
	return ok
}

func (c *chain) sweep() {
	c.turn++
	// with the latent readings integrated out
	if c.turn%4 == 0 && len(c.l.Shares) > 1 {
		c.moveShare()
	}
	if c.turn%4 == 1 && c.l.readings() <= mostKinds {
		c.moveKind()
	}
	if c.turn%2 == 0 && c.rounded {
		c.moveScales()
	}
	for g, coarse := range c.coarse {
		if coarse {
			c.moveCoarse(g)
		}
	}
	if c.turn%2 == 1 {
		c.moveForm()
	}
	c.shiftShared()
	// given the latent readings
	c.drawLatent()
	c.blockSums()
	if c.l.vial != None {
		c.moveVialRatio()
	}
	c.groupSums()
	c.drawEffects()
	for f := range c.tau {
		if f != c.l.vial {
			c.moveTau(f)
		}
	}
	c.drawSpreads()
	c.drawForm()
	c.drawMeans()
}

// logLikelihood of a group's intervals given its mean and log spread, the
// latent readings and their weights integrated out. by scales all effects.
func (c *chain) logLikelihood(g int, m, u float64, at place, by float64) float64 {
	s := 0.0
	if u == c.u[g] {
		s = c.sd(g)
	} else {
		s = math.Exp(u)
	}
	sc, sum := scatters()[at.kind], product{0, 1}
	inv := 1 / s
	for i := c.start[g]; i < c.start[g+1]; i++ {
		un := &c.units[i]
		mu := m + s*by*c.shared(i)
		if c.exact[i] {
			sum.log += un.count * (sc.density((c.z[i]-mu)*inv) - u)
			continue
		}
		seen := &un.seen[at.share]
		sum.times(sc, (seen[0]-mu)*inv, (seen[1]-mu)*inv, un.count)
	}
	return sum.value()
}

// moveCoarse moves mean and spread of a group with few different answers
// against the intervals themselves: there latent readings hold them fast.
func (c *chain) moveCoarse(g int) {
	gr := &c.l.group[g]
	centre, omega := c.expected(g), freedoms[c.at.omega]
	prior := func(u float64) float64 {
		z := (u - centre) / omega
		return -0.5*z*z + c.l.priorSpread(g, u)
	}
	now := c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
	m := c.m[g] + c.step.coarseM[g]*c.rng.NormFloat64()
	if m >= gr.low && m <= gr.high {
		if next := c.logLikelihood(g, m, c.u[g], c.at, 1); c.accept(next-now, &c.step.coarseM[g]) {
			c.m[g], now = m, next
		}
	}
	u := c.u[g] + c.step.coarseU[g]*c.rng.NormFloat64()
	if u < c.l.floor {
		return
	}
	if next := c.logLikelihood(g, c.m[g], u, c.at, 1); c.accept(next-now+prior(u)-prior(c.u[g]), &c.step.coarseU[g]) {
		c.u[g], now = u, next
	}
	c.moveAbout(g, now, prior)
}

// moveAbout moves mean and spread of a group together so that the distance
// from the boundary between its answers, in standard deviations, stays: with
// two answers that changes no chance of either.
func (c *chain) moveAbout(g int, now float64, prior func(u float64) float64) {
	edge := math.Inf(-1)
	for i := c.start[g]; i < c.start[g+1]; i++ {
		edge = math.Max(edge, c.units[i].seen[c.at.share][0])
	}
	if math.IsInf(edge, -1) {
		return
	}
	by := c.step.about[g] * c.rng.NormFloat64()
	u := c.u[g] + by
	m := edge + (c.m[g]-edge)*math.Exp(by)
	gr := &c.l.group[g]
	if u < c.l.floor || math.Abs(by) > 5 || m < gr.low || m > gr.high {
		return
	}
	gain := c.logLikelihood(g, m, u, c.at, 1) - now + prior(u) - prior(c.u[g]) + by
	if c.accept(gain, &c.step.about[g]) {
		c.m[g], c.u[g] = m, u
	}
}

// moveShare tries a neighbouring sharing of the gaps.
func (c *chain) moveShare() {
	to := c.at
	to.share = c.rng.IntN(len(c.l.Shares))
	gain := math.Log(c.l.Shares[to.share] / c.l.Shares[c.at.share])
	for g := range c.m {
		gain += c.logLikelihood(g, c.m[g], c.u[g], to, 1) - c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
	}
	if c.accept(gain, nil) {
		c.at = to
	}
}

// moveKind tries another kind with something between the width of its first
// part, the scatter of most readings, and the normal-equivalent one held still:
// spread and all that is told in it move along.
func (c *chain) moveKind() {
	to := c.at
	to.kind = Kind((int(c.at.kind) + 1 + c.rng.IntN(int(kinds)-1)) % int(kinds))
	by := c.rng.Float64() * math.Log(scatters()[to.kind].unit/scatters()[c.at.kind].unit)
	gain := math.Log(c.mixed(to.kind, to.shape, to.omega)) - math.Log(c.mixed(c.at.kind, c.at.shape, c.at.omega))
	c.scaled(to, by, gain, nil)
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
		if fac.Nested || c.partly[f] {
			continue
		}
		effect := c.a[c.first[f] : c.first[f]+fac.Members]
		by := c.tau[f]/math.Sqrt(float64(fac.Members))*c.rng.NormFloat64() - num.Mean(effect)
		inside := true
		for g, m := range c.m {
			m -= by * c.sd(g)
			inside = inside && m >= c.l.group[g].low && m <= c.l.group[g].high
		}
		if !inside {
			continue
		}
		for g := range c.m {
			c.m[g] -= by * c.sd(g)
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
		f := c.l.vial
		by := math.Exp(c.step.about[len(c.step.about)-1] * c.rng.NormFloat64())
		gain := c.logPriorTau(f, c.tau[f]*by) - c.logPriorTau(f, c.tau[f])
		old := c.scratch.blocks
		copy(old, c.v)
		for g := range c.m {
			gain -= c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
		}
		for b := range c.v {
			c.v[b] *= by
		}
		for g := range c.m {
			gain += c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
		}
		if c.accept(gain, &c.step.about[len(c.step.about)-1]) {
			c.tau[f] *= by
		} else {
			copy(c.v, old)
		}
		return
	}
	tune := &c.step.shift[1]
	c.scaled(c.at, *tune*c.rng.NormFloat64(), 0, tune)
}

// scaled tries to divide all spreads by e^by and to multiply what is told in
// them by it, so that it stays on the scale of the readings.
func (c *chain) scaled(to place, by, gain float64, tune *float64) {
	scale := math.Exp(by)
	for g, u := range c.u {
		if u-by < c.l.floor || u-by > c.l.floor+float64(c.l.points)*step {
			return
		}
		gain += c.l.priorSpread(g, u-by) - c.l.priorSpread(g, u)
		gain += c.logLikelihood(g, c.m[g], u-by, to, scale) - c.logLikelihood(g, c.m[g], u, c.at, 1)
	}
	for f, tau := range c.tau {
		gain += c.logPriorTau(f, tau*scale) - c.logPriorTau(f, tau)
	}
	if !c.accept(gain, tune) {
		return
	}
	c.at = to
	c.x -= by
	for _, v := range [][]float64{c.tau, c.a, c.v} {
		for i := range v {
			v[i] *= scale
		}
	}
	for g := range c.u {
		c.u[g] -= by
	}
}

// expected is log s of a group by form alone.
func (c *chain) expected(g int) float64 {
	return c.x + c.shapes[c.at.shape].logH[g] + c.logT[c.l.Technique[g]]
}

// drawLatent draws, for every reading, the part of its scatter and the value
// inside its interval.
func (c *chain) drawLatent() {
	sc := scatters()[c.at.kind]
	one := len(sc.weight) == 1
	for i := range c.units {
		if one && c.exact[i] {
			c.w[i] = 1
			continue
		}
		u := &c.units[i]
		s := c.sd(u.group)
		mu := c.m[u.group] + s*c.shared(i)
		a, b := (u.seen[c.at.share][0]-mu)/s, (u.seen[c.at.share][1]-mu)/s
		part := 1.0
		if !one {
			if c.exact[i] {
				a = (c.z[i] - mu) / s
				b = a
			}
			part = c.drawPart(sc, a, b)
		}
		c.w[i] = 1 / (part * part)
		if c.exact[i] {
			continue
		}
		if u.count == 1 {
			c.z[i] = mu + s*part*truncated(a/part, b/part, c.rng.Float64())
			continue
		}
		c.z[i], c.ss[i] = c.several(u.count, a, b)
		c.z[i] = mu + s*c.z[i]
		c.ss[i] *= s * s
	}
}

// drawPart draws the normal part that a reading between a and b came from; its
// standard deviation.
func (c *chain) drawPart(sc *scatter, a, b float64) float64 {
	var p [8]float64
	total := 0.0
	for j, w := range sc.weight {
		sd := sc.component[j]
		if a == b {
			p[j] = w / sd * num.NormalPDF(a/sd)
		} else {
			p[j] = w * max(0, Phi(b/sd)-Phi(a/sd))
		}
		total += p[j]
	}
	if total < 1e-4 { // far out: by logarithms
		total = c.farParts(sc, a, b, p[:])
	}
	q := c.rng.Float64() * total
	for j := range sc.weight {
		if q -= p[j]; q <= 0 {
			return sc.component[j]
		}
	}
	return sc.component[0]
}

// farParts are the parts' weights where a difference of chances has no digits left.
func (c *chain) farParts(sc *scatter, a, b float64, p []float64) (total float64) {
	normal, top := scatters()[Normal], math.Inf(-1)
	for j, w := range sc.weight {
		sd := sc.component[j]
		if a == b {
			p[j] = math.Log(w/sd) + normal.density(a/sd)
		} else {
			p[j] = math.Log(w) + normal.inside(a/sd, b/sd)
		}
		top = math.Max(top, p[j])
	}
	for j := range sc.weight {
		p[j] = math.Exp(p[j] - top)
		total += p[j]
	}
	return total
}

// several are average and sum of squares about it of n draws between a and b:
// drawn one by one up to a dozen, beyond that from their normal limit, the
// moments by 16 even quantiles.
func (c *chain) several(n, a, b float64) (mean, ss float64) {
	if n <= 12 {
		k, sum, square := int(n), 0.0, 0.0
		for range k {
			z := truncated(a, b, c.rng.Float64())
			sum += z
			square += z * z
		}
		return sum / n, math.Max(0, square-sum*sum/n)
	}
	const q = 16
	var z [q]float64
	m1, m2, m4 := 0.0, 0.0, 0.0
	for i := range z {
		z[i] = truncated(a, b, (float64(i)+0.5)/q)
		m1 += z[i] / q
	}
	for _, x := range z {
		d := (x - m1) * (x - m1)
		m2 += d / q
		m4 += d * d / q
	}
	mean = m1 + math.Sqrt(m2/n)*c.rng.NormFloat64()
	ss = n*m2 + math.Sqrt(math.Max(0, n*(m4-m2*m2)))*c.rng.NormFloat64()
	return mean, math.Max(0, ss)
}

// choose draws an index by its log weight.
func (c *chain) choose(logs []float64) int {
	top := math.Inf(-1)
	for _, v := range logs {
		top = max(top, v)
	}
	total := 0.0
	for i, v := range logs {
		if v > top-30 {
			total += math.Exp(v - top)
		}
		logs[i] = total
	}
	p := c.rng.Float64() * total
	return min(sort.SearchFloat64s(logs, p), len(logs)-1)
}
