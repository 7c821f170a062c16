package posterior

import (
	"math"

	"knownwater/science/num"
)

// look adds what a sweep says: the distribution of each log spread
// given latent readings, effects and form, vials integrated out; of each log τ given
// its effects; of the vials' τ where asked, which is dear and hardly moves within a sweep.
func (m *marginals) look(c *chain, weight [priors]float64, vials bool) {
	m.lookAtShared(c, &weight, vials)
	omega := freedoms[c.at.omega]
	var f [spots]float64
	for g := range m.whole {
		off := c.rng.IntN(strata)
		of, centre := c.givenOf(g, c.a), c.expected(g)
		mode, sd, ok := c.aboutSpread(g, of, centre, 1/(omega*omega))
		if !ok {
			mean, square := 0.0, 0.0
			for i := range m.logWhole {
				w := m.logWholeAt(c, g, i, c.u[g])
				m.whole[g].add(c.u[g]+w, 1.0/strata, &weight)
				mean += w / strata
				square += w * w / strata
			}
			m.alone[g].add(c.u[g], 1, &weight)
			m.told[ofWhole][g].gather(c.u[g]+mean, math.Sqrt(max(0, square-mean*mean)), &weight)
			continue
		}
		gap := spotGap * sd
		first := mode + sd*spotAt(0, c.aside.IntN(spotShifts))
		inv, by, top, sum := num.Exp(-first), num.Exp(-gap), math.Inf(-1), 0.0
		for j := range f {
			u := first + float64(j)*gap
			z := (u - centre) / omega
			f[j] = -(c.count[g]-1)*u - 0.5*of.square*inv*inv + of.inner*inv + c.priorSpread(g, u) - 0.5*z*z + c.room(g, 1/inv, of.lean, of.off)
			if u < c.l.floor || u > c.l.floor+float64(c.l.points)*step {
				f[j] = math.Inf(-1)
			}
			top = max(top, f[j])
			inv *= by
		}
		for j := range f {
			f[j] = fall(top - f[j])
			sum += f[j]
		}
		mean, square := 0.0, 0.0 // from the mode
		for j := range f {
			if f[j] > 1e-9*sum {
				m.alone[g].add(first+float64(j)*gap, f[j]/sum, &weight)
				for k := range 2 { // two draws of the shared parts
					u := first + float64(j)*gap
					t, p := u+m.logWholeAt(c, g, (off+11*j+16*k)%strata, u), 0.5*f[j]/sum
					m.whole[g].add(t, p, &weight)
					mean += (t - mode) * p
					square += (t - mode) * (t - mode) * p
				}
			}
		}
		m.told[ofWhole][g].gather(mode+mean, math.Sqrt(max(0, square-mean*mean)), &weight)
	}
}

// lookAtOwn adds what each group's readings say by themselves, given what is seen of the effects.
func (m *marginals) lookAtOwn(c *chain, weight [priors]float64) {
	a, unseen := c.seen()
	for g := range m.ownWhole {
		if m.ownWhole[g].mass[0] != nil {
			m.lookAtOwnOf(c, g, a, unseen, &weight)
		}
	}
}

func (m *marginals) lookAtOwnOf(c *chain, g int, a, unseen []float64, weight *[priors]float64) {
	of := c.givenOf(g, a)
	of.lean, of.off = c.leaning(g, a)
	mode, sd, ok := c.aboutSpread(g, of, 0, 0)
	if !ok {
		return
	}
	var f [spots]float64
	gap := spotGap * sd
	first := mode + sd*spotAt(0, c.aside.IntN(spotShifts))
	top, sum := math.Inf(-1), 0.0
	for j := range f {
		f[j] = c.logSpread(g, first+float64(j)*gap, of)
		top = max(top, f[j])
	}
	for j := range f {
		f[j] = fall(top - f[j])
		sum += f[j]
	}
	pick, off := c.aside.Float64()*sum, c.aside.IntN(strata)
	for j := range f {
		u := first + float64(j)*gap
		if f[j] > 1e-9*sum {
			m.ownWhole[g].add(u+m.logWholeAt(c, g, (off+11*j)%strata, u), f[j]/sum, weight)
		}
		if pick -= f[j]; pick <= 0 {
			s, w := num.Exp(u), c.weight[g]
			m.ownMean[g].addNormal(c.l.group[g].mean+(c.sumY[g]-s*of.lean-of.off)/w, s*math.Sqrt(1/w+c.unseenOver(g, s, unseen)), weight)
			pick = math.Inf(1)
		}
	}
}

// lookAtMeans adds the normals that the sweep has told of the means.
func (m *marginals) lookAtMeans(c *chain) {
	for g := range m.mean {
		m.lookAtMean(c, g, &c.meanWeight)
		m.told[ofMean][g].gather(c.meanAt[g], c.meanSD[g], &c.meanWeight)
	}
}

func (m *marginals) lookAtMean(c *chain, g int, weight *[priors]float64) {
	gr := &c.l.group[g]
	at, sd := c.meanAt[g], c.meanSD[g]
	if low, high := (gr.low-at)/sd, (gr.high-at)/sd; low > -num.QuickEnd || high < num.QuickEnd {
		shift := c.rng.Float64()
		for j := range spots { // one in each of as many equal chances between the bounds
			m.mean[g].add(at+sd*truncated(low, high, (float64(j)+shift)/spots), 1.0/spots, weight)
		}
		return
	}
	m.mean[g].addNormal(at, sd, weight)
}

// tauSpots and tauGap are where the distribution of log τ given its effects is looked at.
const (
	tauSpots = 48
	tauGap   = 0.2
)

var tauStep = num.Exp(tauGap)

// lookAtShared adds the distribution of each log τ given its effects, and draws
// from them together.
func (m *marginals) lookAtShared(c *chain, weight *[priors]float64, vials bool) {
	for i := range m.square {
		m.square[i] = 1
	}
	for f := range m.flat {
		clear(m.flat[f])
	}
	for k := range m.tau {
		if k == c.l.vial {
			if vials {
				m.lookAtVials(c, weight)
			}
			for i := range m.square {
				m.square[i] += c.tau[k] * c.tau[k]
			}
			continue
		}
		m.lookAtTau(c, k, weight)
	}
	for i, s := range m.square {
		m.logWhole[i] = 0.5 * num.Log(s)
	}
}

// logWholeAt is that of a group's whole spread ÷ its repeatability e^u, with draw i of the shared parts.
func (m *marginals) logWholeAt(c *chain, g, i int, u float64) float64 {
	if !c.anyFlat {
		return m.logWhole[i]
	}
	square := m.square[i]
	for f, of := range m.flat {
		if of == nil {
			continue
		}
		over := 1.0
		if c.isFlat(f) {
			over = c.unitOf(f, g) * num.Exp(-u)
		}
		square += of[i] * over * over
	}
	return 0.5 * num.Log(square)
}

// lookAtVials adds the distribution of log τ of the vials given effects and spreads, means and
// vials integrated out, on steps up and down from where it stands.
func (m *marginals) lookAtVials(c *chain, weight *[priors]float64) {
	const most, drop, gap = 30, 9, 2 * tauGap
	f, t := c.l.vial, c.newTrade()
	var log [2*most + 1]float64
	told, steady := math.Inf(1), false // what readings tell where vials differ by next to nothing is one number
	value := func(j int) float64 {
		by := num.Exp(float64(j) * gap)
		if !steady {
			now := c.traded(t, 0, by)
			told, steady = now, j < 0 && math.Abs(now-told) < 1e-3
		}
		log[most+j] = told + c.logPriorTau(f, c.tau[f]*by)
		return log[most+j]
	}
	top, low, high := value(0), 0, 0
	for high < most && log[most+high] > top-drop {
		high++
		top = max(top, value(high))
	}
	told = math.Inf(1)
	for low > -most && log[most+low] > top-drop {
		low--
		top = max(top, value(low))
	}
	sum, mean, square := 0.0, 0.0, 0.0
	for j := low; j <= high; j++ {
		p := num.Exp(log[most+j] - top)
		log[most+j] = p
		sum += p
		mean += p * float64(j)
		square += p * float64(j) * float64(j)
	}
	at := num.Log(c.tau[f])
	for j := low; j <= high; j++ {
		m.tau[f].add(at+float64(j)*gap, log[most+j]/sum, weight)
	}
	mean, square = mean/sum, square/sum
	m.told[ofTau][f].gather(at+mean*gap, gap*math.Sqrt(max(0, square-mean*mean)), weight)
}

// lookAtTau adds that of a log τ given the differences among its effects; their average too where
// bounds of the means or readings that have none of them make it tell something.
func (m *marginals) lookAtTau(c *chain, k int, weight *[priors]float64) {
	square, free := squaresOf(c.a[c.first[k]:c.first[k]+c.l.Factors[k].Members], !c.partly[k] && len(c.bounded) == 0)
	var f [tauSpots]float64
	first := leastTau(square, free)
	density, sum, tau := c.densityOfTau(k, square, free), 0.0, num.Exp(first)
	for j := range f {
		f[j] = density(first+float64(j)*tauGap, tau)
		sum += f[j]
		tau *= tauStep
	}
	mean, at := 0.0, 0.0
	for j := range f {
		if f[j] > 1e-9*sum {
			m.tau[k].add(first+float64(j)*tauGap, f[j]/sum, weight)
			mean += float64(j) * f[j] / sum
			at += float64(j) * float64(j) * f[j] / sum
		}
	}
	m.told[ofTau][k].gather(first+mean*tauGap, tauGap*math.Sqrt(max(0, at-mean*mean)), weight)
	// one draw from each of as many equal chances, in an order of the factor's own
	into := m.square[:]
	if m.flat[k] != nil {
		into = m.flat[k]
	}
	start, by := c.rng.IntN(strata), 1+2*c.rng.IntN(strata/2)
	j, cum := 0, f[0]
	tau = num.Exp(first)
	shift := c.rng.Float64()
	for i := range strata {
		want := (float64(i) + shift) / strata * sum
		for cum < want && j < tauSpots-1 {
			j++
			cum += f[j]
			tau *= tauStep
		}
		by2 := 1.0 // e^2x within the step, to 1e-4
		if f[j] > 0 {
			x := (1 - 2*(cum-want)/f[j]) * tauGap
			by2 = 1 + x*(1+x*(0.5+x*(1.0/6)))
		}
		into[(start+by*i)%strata] += tau * tau * by2
	}
}
