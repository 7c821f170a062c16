package posterior

import (
	"math"

	"knownwater/science/num"
)

// drawEffects draws all crossed effects together, means and vials integrated out.
func (c *chain) drawEffects() {
	n := c.columns
	if n == 0 {
		c.tellMeans(nil)
		return
	}
	back := c.drawWay()
	right, q, ok := c.precision()
	told := false
	if ok {
		solveLower(q, n, right)
		told = c.tellMeansOfAll(q, right)
		for j := range right {
			right[j] += c.rng.NormFloat64()
		}
		solveUpper(q, n, right)
		if !c.takeEffects(right, back.room) && back.drawn {
			c.setWay(back.factor, back.way)
			c.together()
		}
	} else {
		c.oneByOne()
	}
	if len(c.bounded) > 0 { // which may refuse all of them together
		c.oneByOne()
	}
	if !told {
		c.tellMeans(c.a)
	}
	// the sizes: τ and its effects together, which the readings hold loosely
	for f, fac := range c.l.Factors {
		if !fac.inside() {
			c.scale(f, fac.Members)
		}
	}
}

// precision is what readings say for the effects and their precision, as its lower triangle, means and vials integrated out; not ok where
// they are too many.
func (c *chain) precision() (right, q []float64, ok bool) {
	c.together()
	n := c.columns
	right, q = c.scratch.right, c.scratch.square
	for j := range right {
		right[j] = c.pull(j)
	}
	copy(q, c.big)
	for f, fac := range c.l.Factors {
		if fac.inside() {
			continue
		}
		for j := range fac.Members {
			at := c.first[f] + j
			q[at*n+at] += 1 / (c.tau[f] * c.tau[f])
		}
	}
	return right, q, n <= mostTogether && cholesky(q, n)
}

// seen are the effects as far as readings tell of them. Where the means take up the average of a factor's,
// and none has a bound, readings say nothing of it: it is left out, and its variance τ²/n, ÷ s² or ÷ Along², told by factor.
func (c *chain) seen() (a, unseen []float64) {
	a = c.scratch.right
	copy(a, c.a)
	unseen = make([]float64, len(c.tau))
	for f, fac := range c.l.Factors {
		if fac.inside() || c.partly[f] || len(c.bounded) > 0 {
			continue
		}
		of := a[c.first[f] : c.first[f]+fac.Members]
		mean := num.Mean(of)
		for j := range of {
			of[j] -= mean
		}
		unseen[f] = c.tau[f] * c.tau[f] / float64(fac.Members)
	}
	return a, unseen
}

// unseenOver is the variance of what readings say nothing of in a group, ÷ s².
func (c *chain) unseenOver(g int, s float64, unseen []float64) (sum float64) {
	for f, v := range unseen {
		if c.isFlat(f) {
			over := c.unitOf(f, g) / s
			v *= over * over
		}
		sum += v
	}
	return sum
}

// tellMeans says how each mean is distributed given the effects a, vials integrated out.
func (c *chain) tellMeans(a []float64) {
	if !c.telling {
		return
	}
	c.meanWeight = c.weights()
	for g := range c.m {
		s, w := c.sd(g), c.weight[g]
		lean, off := c.leaning(g, a)
		c.meanAt[g], c.meanSD[g] = c.l.group[g].mean+(c.sumY[g]-s*lean-off)/w, s/math.Sqrt(w)
	}
}

// tellMeansOfAll says it with the effects integrated out, too, where no bound of a mean is near.
// Their precision has the lower triangle q, and right is their pull divided by it:
//
//	variance (s²/Σω)·(1 + |q⁻¹·ΣωX|²/Σω)
func (c *chain) tellMeansOfAll(q, right []float64) bool {
	if !c.telling {
		return true
	}
	n := c.columns
	centre, x := c.scratch.columns[0], c.scratch.columns[1]
	copy(centre, right)
	solveUpper(q, n, centre)
	c.tellMeans(centre)
	for g := range c.m {
		copy(x, c.sumX[g])
		for j := range x {
			if c.flat[j] {
				x[j] *= c.inverse(g) * c.height[g][j]
			}
		}
		solveLower(q, n, x)
		c.meanSD[g] *= math.Sqrt(1 + dot(x, x)/c.weight[g])
	}
	for _, g := range c.bounded {
		gr := &c.l.group[g]
		if min(c.meanAt[g]-gr.low, gr.high-c.meanAt[g]) < 6*c.meanSD[g] {
			return false
		}
	}
	return true
}

// takeEffects puts effects drawn without regard to the bounds of the means in the
// place of those that stand, by the chance that the bounds leave both; was is the logarithm of what they
// left of those that stand beyond what they do now, where these went along with something else.
func (c *chain) takeEffects(to []float64, was float64) bool {
	gain := -was
	for _, g := range c.bounded {
		s := c.sd(g)
		gain += c.room(g, s, c.leanOver(g, to), 0) - c.room(g, s, c.leanOver(g, c.a), 0)
	}
	ok := len(c.bounded) == 0 || c.accept(gain, nil)
	if ok {
		copy(c.a, to)
	}
	return ok
}

func (c *chain) oneByOne() {
	n := c.columns
	to := c.scratch.right
	copy(to, c.a)
	for f, fac := range c.l.Factors {
		if fac.inside() {
			continue
		}
		for j := range fac.Members {
			at := c.first[f] + j
			row := c.big[at*n : at*n+n]
			b := c.pull(at) - dot(row, c.a) + row[at]*c.a[at]
			q := row[at] + 1/(c.tau[f]*c.tau[f])
			to[at] = b/q + c.rng.NormFloat64()/math.Sqrt(q)
			c.takeEffects(to, 0)
			to[at] = c.a[at]
		}
	}
}

// scale multiplies τ_f and its effects by one factor: the standardised effects
// stay, so that the readings and the prior of τ decide. It is drawn from a table of
// its chances, but for what bounds of means say of it.
func (c *chain) scale(f, members int) {
	n := c.columns
	linear, square := 0.0, 0.0
	moving, still := c.scratch.groups[0], c.scratch.groups[1] // parts of what leans on a bounded mean
	for _, g := range c.bounded {
		if moving[g] = dot(c.sumX[g][c.first[f]:c.first[f]+members], c.a[c.first[f]:]); c.isFlat(f) {
			moving[g] *= c.inverse(g) * c.unitOf(f, g)
		}
		still[g] = c.leanOver(g, c.a) - moving[g]
	}
	for j := c.first[f]; j < c.first[f]+members; j++ {
		others := 0.0
		for h := range n {
			if h < c.first[f] || h >= c.first[f]+members {
				others += c.big[j*n+h] * c.a[h]
			} else {
				square += c.big[j*n+h] * c.a[j] * c.a[h]
			}
		}
		linear += (c.pull(j) - others) * c.a[j]
	}
	// The table lies where the readings and the prior want the effects, whatever they are now: else
	// there would be places to which it leads and from which it does not lead back.
	r := c.tau[f] / c.l.Factors[f].Scale
	if !(square > 0) || !(r > 0) {
		return
	}
	width, want := 1/math.Sqrt(square), linear/square
	top := math.Min(math.Max(want, 0)+6*width, 200/r)
	low := num.Log(math.Max(want-6*width, 0) + 3e-3*math.Min(math.Max(want, 0)+width, 1/r))
	high := num.Log(top)
	if !(low < high) {
		return
	}
	peak := 0.0 // of the readings' part
	if want > 0 {
		peak = 0.5 * linear * want
	}
	by, gain := c.drawnFrom(func(_, to float64) float64 {
		d := 1 + r*r*to*to/3
		return fallen(peak-linear*to+0.5*square*to*to) * to / (d * d)
	}, 0, low, (high-low)/(tauSpots/2), tauSpots/2)
	whole := num.Exp(by)
	for _, g := range c.bounded {
		gain += c.room(g, c.sd(g), still[g]+whole*moving[g], 0) - c.room(g, c.sd(g), still[g]+moving[g], 0)
	}
	if !c.accept(gain, nil) {
		return
	}
	c.tau[f] *= whole
	for j := c.first[f]; j < c.first[f]+members; j++ {
		c.a[j] *= whole
	}
}

// moveTau moves τ with its effects held still: by a coarser table where members are so few that
// its distribution is wide (the standard deviation is about 1/√(2·members)).
func (c *chain) moveTau(f int) {
	square, members := squaresOf(c.a[c.first[f]:c.first[f]+c.l.Factors[f].Members], false)
	n, gap := tauSpots, tauGap
	if members <= 6 {
		n, gap = tauSpots/2, 2*tauGap
	}
	to, gain := c.drawnFrom(c.densityOfTau(f, square, members), num.Log(c.tau[f]), leastTau(square, members), gap, n)
	if c.accept(gain, nil) {
		c.tau[f] = num.Exp(to)
	}
}

// squaresOf is the sum of the squares of effects, and of how many it is; about their average where
// this says nothing of their size.
func squaresOf(effect []float64, about bool) (square, free float64) {
	free = float64(len(effect))
	at := 0.0
	if about && len(effect) > 1 {
		at, free = num.Mean(effect), free-1
	}
	for _, a := range effect {
		square += (a - at) * (a - at)
	}
	return square, free
}

// leastTau is where tables of log τ given the sum of the squares of so many effects begin: it is
// hardly ever below a fifth of their size.
func leastTau(square, n float64) float64 { return 0.5*num.Log(square/n+1e-12) - 1.6 }

// drawnFrom draws from the n steps of a table of a density, of x and e^x, and says what is gained in log by
// going there from now, the chance of coming back taken off; −∞ where now is off the table.
func (c *chain) drawnFrom(density func(x, e float64) float64, now, first, gap float64, n int) (to, gain float64) {
	var space [tauSpots]float64
	f := space[:n]
	sum, e, by := 0.0, num.Exp(first+0.5*gap), num.Exp(gap)
	for j := range f {
		f[j] = density(first+(float64(j)+0.5)*gap, e)
		sum += f[j]
		e *= by
	}
	want, j := c.rng.Float64()*sum, 0
	for j < n-1 && want > f[j] {
		want -= f[j]
		j++
	}
	at := int(math.Floor((now - first) / gap))
	if at < 0 || at >= n {
		return now, math.Inf(-1)
	}
	to = first + (float64(j)+math.Min(want/f[j], 1))*gap
	return to, num.Log(density(to, num.Exp(to)) / f[j] * f[at] / density(now, num.Exp(now)))
}

// densityOfTau is that of log τ_f given the sum of the squares of n effects, but for a factor:
//
//	r·(1 + r²/3)⁻²·τ⁻ⁿ·e^(−Σa²/2τ²),  r = τ ÷ scale
//
// (the last two at most 1, where τ² = Σa²/n)
func (c *chain) densityOfTau(f int, square, n float64) func(log, tau float64) float64 {
	scale := c.l.Factors[f].Scale
	square += 1e-12 * n // that of effects of nothing stays a density
	about := 0.5*num.Log(square/n) + 0.5
	return func(log, tau float64) float64 {
		d := 1 + tau*tau/(3*scale*scale)
		return fallen(0.5*square/(tau*tau)+n*(log-about)) * tau / (scale * d * d)
	}
}

// logPriorTau is the log prior of log τ_f: half-t with 3 degrees of freedom.
func (c *chain) logPriorTau(f int, tau float64) float64 {
	r := tau / c.l.Factors[f].Scale
	return num.Log(r) - 2*math.Log1p(r*r/3)
}

// mostTogether is how many effects are drawn at once; more are drawn one by one.
const mostTogether = 64

// drawMeans draws means and vials given all else.
func (c *chain) drawMeans() {
	sum := c.scratch.groups[0]
	clear(sum)
	for b := range c.blockOf {
		k := &c.blockOf[b]
		sum[k.group] += k.omega / k.w * (k.y - c.effectsOn(k))
	}
	for g := range c.m {
		gr := &c.l.group[g]
		sd := c.sd(g) / math.Sqrt(c.weight[g])
		at := gr.mean + sum[g]/c.weight[g]
		if math.IsInf(gr.low, 0) && math.IsInf(gr.high, 0) {
			c.m[g] = at + sd*c.rng.NormFloat64()
		} else {
			c.m[g] = at + sd*truncated((gr.low-at)/sd, (gr.high-at)/sd, c.rng.Float64())
		}
	}
	if c.l.vial == None {
		return
	}
	rho := c.tau[c.l.vial]
	for b := range c.blockOf {
		k := &c.blockOf[b]
		if !k.vial {
			continue
		}
		s := c.sd(k.group)
		r := (k.y-k.w*(c.m[k.group]-c.l.group[k.group].mean))/s - c.effectsOver(k)
		q := k.w + 1/(rho*rho)
		c.v[b] = r/q + c.rng.NormFloat64()/math.Sqrt(q)
	}
}
