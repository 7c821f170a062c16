package posterior

import (
	"math"
	"slices"
)

// A marginal is the distribution of one quantity as the average, over the sweeps,
// of its distribution given all else (Rao and Blackwell): it has far less Monte
// Carlo noise than the draws, whose order among each other it keeps.
type marginal struct {
	low, gap float64
	mass     [priors][]float64
	shift    int // of the spots of the next normal
}

// marginalGap is the width of the bins of logarithms.
const marginalGap = 0.02

func newMarginal(low, high, gap float64) marginal {
	m := marginal{low: low, gap: gap}
	for p := range m.mass {
		m.mass[p] = make([]float64, int((high-low)/m.gap)+2)
	}
	return m
}

// add puts mass at x, split between the two bins about it.
func (m *marginal) add(x, mass float64, weight *[priors]float64) {
	if math.IsNaN(x + mass) { // a distribution that numbers cannot carry says nothing
		return
	}
	last := len(m.mass[0]) - 1
	at := math.Min(math.Max((x-m.low)/m.gap, 0), float64(last))
	i := min(int(at), last-1)
	t := at - float64(i)
	for p, w := range weight {
		m.mass[p][i] += w * mass * (1 - t)
		m.mass[p][i+1] += w * mass * t
	}
}

// order gives draws, whose ranks they keep, the values that the marginal has there: those
// of which every fourth, every second and all are taken each by themselves, so that whoever
// takes some, evenly, has its limits too.
func (m *marginal) order(p Prior, draws []float64) {
	cum := cumulated(m.mass[p])
	if !(cum[len(cum)-1] > 0) {
		return
	}
	type ranked struct {
		v float64
		k int
	}
	rank := make([]ranked, 0, len(draws))
	for _, part := range [...]struct{ first, by int }{{0, 4}, {2, 4}, {1, 2}} {
		rank = rank[:0]
		for k := part.first; k < len(draws); k += part.by {
			rank = append(rank, ranked{draws[k], k})
		}
		slices.SortFunc(rank, func(a, b ranked) int {
			switch {
			case a.v < b.v:
				return -1
			case a.v > b.v:
				return 1
			}
			return a.k - b.k
		})
		for r, of := range rank {
			draws[of.k] = m.low + stepped(cum, (float64(r)+0.5)/float64(len(rank)))*m.gap
		}
	}
}

// marginals are those of a walk: of every group's mean and log of its whole spread,
// and of log τ of every factor.
type marginals struct {
	mean, whole, tau []marginal
	// what a group's own readings say of its mean and whole spread, given effects, vials'
	// part and latent readings: every spread equally likely beforehand. Empty where too few
	// answers are seen.
	ownMean, ownWhole []marginal
	// what each look has told of every mean, whole spread and τ
	told [3][]account
	// space of a look: draws of log √(1 + Στ²) given the effects, and of τ²
	logWhole [strata]float64
	square   [strata]float64
}

func newMarginals(c *chain) *marginals {
	m := &marginals{told: [3][]account{ofMean: make([]account, c.l.Groups), ofWhole: make([]account, c.l.Groups), ofTau: make([]account, len(c.l.Factors))}}
	low, high := c.l.floor, c.l.floor+float64(c.l.points)*step
	for g := range c.l.group {
		gr := &c.l.group[g]
		gap := 0.1 * math.Exp(gr.guess) / math.Sqrt(gr.n)
		m.mean = append(m.mean, newMarginal(gr.mean-meanReach*gap, gr.mean+meanReach*gap, gap))
		m.whole = append(m.whole, newMarginal(low, high+3, marginalGap))
		var none marginal
		m.ownMean, m.ownWhole = append(m.ownMean, none), append(m.ownWhole, none)
		if gr.n >= 3 && !c.coarse[g] && c.l.distinct(g) > 1 {
			m.ownMean[g], m.ownWhole[g] = newMarginal(gr.mean-meanReach*gap, gr.mean+meanReach*gap, gap), newMarginal(low, high+3, marginalGap)
		}
	}
	for _, f := range c.l.Factors {
		m.tau = append(m.tau, newMarginal(math.Log(f.Scale)-7, math.Log(f.Scale)+5, marginalGap))
	}
	return m
}

// account is, look by look, centre and standard deviation of a quantity given all else, and what
// the look counts.
type account struct {
	at, sd []float64
	weight [priors][]float64
}

const (
	ofMean = iota
	ofWhole
	ofTau
)

func (t *account) add(at, sd float64, weight *[priors]float64) {
	t.at, t.sd = append(t.at, at), append(t.sd, sd)
	for p, w := range weight {
		t.weight[p] = append(t.weight[p], w)
	}
}

// of is the marginal that an account is of.
func (m *marginals) of(what, i int) *marginal {
	return &[...][]marginal{ofMean: m.mean, ofWhole: m.whole, ofTau: m.tau}[what][i]
}

// meanReach is how many bins those of the means have on either side: a hundred
// standard errors.
const meanReach = 1000

// spots are where a distribution given all else is looked at, in its standard
// deviations; strata is how many draws of the shared parts stand for theirs.
const (
	spots   = 25
	spotGap = 0.4
	strata  = 32
)

// normalSpots are the chances of a normal at the spots, these shifted by so many eighths of
// their gap: many normals that are nearly one would else leave a comb.
var normalSpots = func() (all [spotShifts][spots]float64) {
	for i := range all {
		p, sum := &all[i], 0.0
		for j := range p {
			z := spotAt(j, i)
			p[j] = math.Exp(-0.5 * z * z)
			sum += p[j]
		}
		for j := range p {
			p[j] /= sum
		}
	}
	return all
}()

const spotShifts = 8

func spotAt(j, shift int) float64 {
	return (float64(j) - (spots-1)/2 + (float64(shift)+0.5)/spotShifts - 0.5) * spotGap
}

// addNormal puts a normal in.
func (m *marginal) addNormal(at, sd float64, weight *[priors]float64) {
	m.shift = (m.shift + 3) % spotShifts
	for j, p := range normalSpots[m.shift] {
		m.add(at+sd*spotAt(j, m.shift), p, weight)
	}
}

// look adds what a sweep says: the distribution of each mean and each log spread
// given latent readings, effects and form, vials integrated out; of each log τ given
// its effects.
func (m *marginals) look(c *chain, weight [priors]float64) {
	m.lookAtShared(c, &weight)
	omega := freedoms[c.at.omega]
	var f [spots]float64
	for g := range m.whole {
		off := c.rng.IntN(strata)
		inner, centre, lean := dot(c.a, c.qzx[g]), c.expected(g), c.lean(g, c.a)
		mode, sd, ok := c.aboutSpread(g, inner, centre, 1/(omega*omega))
		if !ok {
			mean, square := 0.0, 0.0
			for _, w := range m.logWhole {
				m.whole[g].add(c.u[g]+w, 1.0/strata, &weight)
				mean += w / strata
				square += w * w / strata
			}
			m.told[ofWhole][g].add(c.u[g]+mean, math.Sqrt(max(0, square-mean*mean)), &weight)
			continue
		}
		gap := spotGap * sd
		first := mode - gap*(spots-1)/2
		inv, by, top, sum := math.Exp(-first), math.Exp(-gap), math.Inf(-1), 0.0
		for j := range f {
			u := first + float64(j)*gap
			z := (u - centre) / omega
			f[j] = -(c.count[g]-1)*u - 0.5*c.qzz[g]*inv*inv + inner*inv + c.priorSpread(g, u) - 0.5*z*z + c.room(g, 1/inv, lean)
			if u < c.l.floor || u > c.l.floor+float64(c.l.points)*step {
				f[j] = math.Inf(-1)
			}
			top = math.Max(top, f[j])
			inv *= by
		}
		for j := range f {
			f[j] = fall(top - f[j])
			sum += f[j]
		}
		mean, square := 0.0, 0.0 // from the mode
		for j := range f {
			if f[j] > 1e-9*sum {
				t, p := first+float64(j)*gap+m.logWhole[(off+11*j)%strata], f[j]/sum
				m.whole[g].add(t, p, &weight)
				mean += (t - mode) * p
				square += (t - mode) * (t - mode) * p
			}
		}
		m.told[ofWhole][g].add(mode+mean, math.Sqrt(max(0, square-mean*mean)), &weight)
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

func (m *marginals) lookAtOwnOf(c *chain, g int, a []float64, unseen float64, weight *[priors]float64) {
	inner, lean := dot(a, c.qzx[g]), dot(a, c.sumX[g])
	mode, sd, ok := c.aboutSpread(g, inner, 0, 0)
	if !ok {
		return
	}
	var f [spots]float64
	gap := spotGap * sd
	first := mode - gap*(spots-1)/2
	top, sum := math.Inf(-1), 0.0
	for j := range f {
		f[j] = c.logSpread(g, first+float64(j)*gap, inner, lean)
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
			m.ownWhole[g].add(u+m.logWhole[(off+11*j)%strata], f[j]/sum, weight)
		}
		if pick -= f[j]; pick <= 0 {
			s, w := math.Exp(u), c.weight[g]
			m.ownMean[g].addNormal(c.l.group[g].mean+(c.sumY[g]-s*lean)/w, s*math.Sqrt(1/w+unseen), weight)
			pick = math.Inf(1)
		}
	}
}

// own are the limits that they give, 4 % on each side.
func (m *marginals) own(g int) Own {
	if m.ownWhole[g].mass[0] == nil {
		return noOwn
	}
	low, high, ok := m.ownWhole[g].limits(ownTail)
	meanLow, meanHigh, both := m.ownMean[g].limits(ownTail)
	if !ok || !both {
		return noOwn
	}
	return Own{meanLow, meanHigh, math.Exp(low), math.Exp(high)}
}

// limits are the quantiles p and 1 − p under the wide prior.
func (m *marginal) limits(p float64) (low, high float64, ok bool) {
	cum := cumulated(m.mass[Wide])
	if !(cum[len(cum)-1] > 0) {
		return 0, 0, false
	}
	return m.low + stepped(cum, p)*m.gap, m.low + stepped(cum, 1-p)*m.gap, true
}

func cumulated(mass []float64) []float64 {
	cum := slices.Clone(mass)
	for i := 1; i < len(cum); i++ {
		cum[i] += cum[i-1]
	}
	return cum
}

// lookAtMeans adds the normals that the sweep has told of the means.
func (m *marginals) lookAtMeans(c *chain) {
	for g := range m.mean {
		m.lookAtMean(c, g, &c.meanWeight)
		m.told[ofMean][g].add(c.meanAt[g], c.meanSD[g], &c.meanWeight)
	}
}

func (m *marginals) lookAtMean(c *chain, g int, weight *[priors]float64) {
	gr := &c.l.group[g]
	at, sd := c.meanAt[g], c.meanSD[g]
	if low, high := (gr.low-at)/sd, (gr.high-at)/sd; low > -phiEnd || high < phiEnd {
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

var tauStep = math.Exp(tauGap)

// lookAtShared adds the distribution of each log τ given its effects, and draws
// from them together.
func (m *marginals) lookAtShared(c *chain, weight *[priors]float64) {
	for i := range m.square {
		m.square[i] = 1
	}
	for k := range m.tau {
		if k == c.l.vial {
			m.lookAtVials(c, weight)
			for i := range m.square {
				m.square[i] += c.tau[k] * c.tau[k]
			}
			continue
		}
		m.lookAtTau(c, k, weight)
	}
	for i, s := range m.square {
		m.logWhole[i] = 0.5 * math.Log(s)
	}
}

// lookAtVials adds the distribution of log τ of the vials given effects and spreads, means and
// vials integrated out, on steps up and down from where it stands.
func (m *marginals) lookAtVials(c *chain, weight *[priors]float64) {
	const most, drop, gap = 30, 12, 2 * tauGap
	f, t := c.l.vial, c.newTrade()
	var log [2*most + 1]float64
	value := func(j int) float64 {
		by := math.Exp(float64(j) * gap)
		log[most+j] = c.traded(t, 0, by) + c.logPriorTau(f, c.tau[f]*by)
		return log[most+j]
	}
	top, low, high := value(0), 0, 0
	for high < most && log[most+high] > top-drop {
		high++
		top = max(top, value(high))
	}
	for low > -most && log[most+low] > top-drop {
		low--
		top = max(top, value(low))
	}
	sum, mean, square := 0.0, 0.0, 0.0
	for j := low; j <= high; j++ {
		p := math.Exp(log[most+j] - top)
		log[most+j] = p
		sum += p
		mean += p * float64(j)
		square += p * float64(j) * float64(j)
	}
	at := math.Log(c.tau[f])
	for j := low; j <= high; j++ {
		m.tau[f].add(at+float64(j)*gap, log[most+j]/sum, weight)
	}
	mean, square = mean/sum, square/sum
	m.told[ofTau][f].add(at+mean*gap, gap*math.Sqrt(max(0, square-mean*mean)), weight)
}

// lookAtTau adds that of a log τ given the differences among its effects; their average too where
// bounds of the means or readings that have none of them make it tell something.
func (m *marginals) lookAtTau(c *chain, k int, weight *[priors]float64) {
	square, free := squaresOf(c.a[c.first[k]:c.first[k]+c.l.Factors[k].Members], !c.partly[k] && len(c.bounded) == 0)
	var f [tauSpots]float64
	first := leastTau(square, free)
	density, sum, tau := c.densityOfTau(k, square, free), 0.0, math.Exp(first)
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
	m.told[ofTau][k].add(first+mean*tauGap, tauGap*math.Sqrt(max(0, at-mean*mean)), weight)
	// one draw from each of as many equal chances, in an order of the factor's own
	start, by := c.rng.IntN(strata), 1+2*c.rng.IntN(strata/2)
	j, cum := 0, f[0]
	shift := c.rng.Float64()
	for i := range strata {
		want := (float64(i) + shift) / strata * sum
		for cum < want && j < tauSpots-1 {
			j++
			cum += f[j]
		}
		log := first + float64(j)*tauGap
		if f[j] > 0 {
			log += (0.5 - (cum-want)/f[j]) * tauGap
		}
		m.square[(start+by*i)%strata] += math.Exp(2 * log)
	}
}

// join adds the mass of other.
func (m *marginals) join(other *marginals) {
	add := func(a, b []marginal) {
		for i := range a {
			for p := range a[i].mass {
				for j, v := range b[i].mass[p] {
					a[i].mass[p][j] += v
				}
			}
		}
	}
	add(m.mean, other.mean)
	add(m.whole, other.whole)
	add(m.tau, other.tau)
	add(m.ownMean, other.ownMean)
	add(m.ownWhole, other.ownWhole)
}

// order gives the draws the marginals' values.
func (m *marginals) order(p Prior, d *Draws) {
	whole := func() []float64 {
		v := make([]float64, d.Len())
		for k := range v {
			v[k] = math.Log(d.Whole(k))
		}
		return v
	}
	for g, mean := range d.Mean {
		m.mean[g].order(p, mean)
	}
	before := whole()
	for f := range d.Ratio {
		log := d.Ratio[f]
		for k, v := range log {
			log[k] = math.Log(v)
		}
		m.tau[f].order(p, log)
		for k, v := range log {
			log[k] = math.Exp(v)
		}
	}
	after := whole()
	for g, u := range d.LogSD {
		for k := range u {
			u[k] += before[k]
		}
		m.whole[g].order(p, u)
		for k := range u {
			u[k] -= after[k]
		}
	}
}
