package posterior

import (
	"math"
	"slices"

	"knownwater/science/num"
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
	at := min(max((x-m.low)/m.gap, 0), float64(last))
	i := min(int(at), last-1)
	t := at - float64(i)
	for p, w := range weight {
		two := m.mass[p][i : i+2]
		two[0] += w * mass * (1 - t)
		two[1] += w * mass * t
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
	rank := make([]uint64, 0, len(draws))
	for _, part := range [...]struct{ first, by int }{{0, 4}, {2, 4}, {1, 2}} {
		rank = rank[:0]
		for k := part.first; k < len(draws); k += part.by {
			rank = append(rank, rising(draws[k])&^(1<<rankBits-1)|uint64(k))
		}
		slices.Sort(rank)
		for r, of := range rank {
			draws[of&(1<<rankBits-1)] = m.low + stepped(cum, (float64(r)+0.5)/float64(len(rank)))*m.gap
		}
	}
}

// rankBits are the last bits of a number, in place of which its place among the draws stands.
const rankBits = 12

// rising turns a number into one whose bits rise with it.
func rising(x float64) uint64 {
	b := math.Float64bits(x)
	if b>>63 == 1 {
		return ^b
	}
	return b | 1<<63
}

// marginals are those of a walk: of every group's mean, of the logarithms of its whole spread and of
// its repeatability alone, and of log τ of every factor.
type marginals struct {
	mean, whole, alone, tau []marginal
	// what a group's own readings say of its mean and whole spread, given effects, vials'
	// part and latent readings: every spread equally likely beforehand. Empty where too few
	// answers are seen.
	ownMean, ownWhole []marginal
	// what each look has told of every mean, whole spread and τ
	told [3][]account
	// space of a look: draws of log √(1 + Στ²) given the effects, and of τ²
	logWhole [strata]float64
	square   [strata]float64
	flat     [][]float64 // by factor, of those whose effects do not go along with the spread; these are not in the others
}

func newMarginals(c *chain) *marginals {
	m := &marginals{told: [3][]account{ofMean: make([]account, c.l.Groups), ofWhole: make([]account, c.l.Groups), ofTau: make([]account, len(c.l.Factors))}}
	low, high := c.l.floor, c.l.floor+float64(c.l.points)*step
	for g := range c.l.group {
		gr := &c.l.group[g]
		gap := 0.1 * num.Exp(gr.guess) / math.Sqrt(gr.n)
		m.mean = append(m.mean, newMarginal(gr.mean-meanReach*gap, gr.mean+meanReach*gap, gap))
		m.whole = append(m.whole, newMarginal(low, high+3, marginalGap))
		m.alone = append(m.alone, newMarginal(low, high, marginalGap))
		var none marginal
		m.ownMean, m.ownWhole = append(m.ownMean, none), append(m.ownWhole, none)
		if gr.n >= 3 && !c.coarse[g] && c.l.distinct(g) > 1 && c.l.closed(g) >= 2 {
			m.ownMean[g], m.ownWhole[g] = newMarginal(gr.mean-meanReach*gap, gr.mean+meanReach*gap, gap), newMarginal(low, high+3, marginalGap)
		}
	}
	for _, f := range c.l.Factors {
		m.flat = append(m.flat, nil)
		if f.Along != nil {
			m.flat[len(m.flat)-1] = make([]float64, strata)
		}
		m.tau = append(m.tau, newMarginal(num.Log(f.Scale)-7, num.Log(f.Scale)+5, marginalGap))
	}
	return m
}

// account is, sweep by sweep, centre and standard deviation of a quantity given all else, as the
// sweep's looks have it together, and what these count.
type account struct {
	at, sd []float64
	weight [priors][]float64
	open   struct { // of the sweep that is not over
		n, at, square float64
		weight        [priors]float64
	}
}

const (
	ofMean = iota
	ofWhole
	ofTau
)

// gather adds what one look tells.
func (t *account) gather(at, sd float64, weight *[priors]float64) {
	o := &t.open
	o.n++
	o.at += at
	o.square += at*at + sd*sd
	for p, w := range weight {
		o.weight[p] += w
	}
}

// close ends a sweep.
func (t *account) close() {
	o := &t.open
	if o.n == 0 {
		return
	}
	at := o.at / o.n
	t.at, t.sd = append(t.at, at), append(t.sd, math.Sqrt(max(0, o.square/o.n-at*at)))
	for p := range o.weight {
		t.weight[p] = append(t.weight[p], o.weight[p]/o.n)
	}
	*o = struct {
		n, at, square float64
		weight        [priors]float64
	}{}
}

func (m *marginals) close() {
	for _, of := range m.told {
		for i := range of {
			of[i].close()
		}
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
	spots   = 13
	spotGap = 0.75
	strata  = 32
)

// normalSpots are the chances of a normal at the spots, these shifted by so many sixteenths of
// their gap: many normals that are nearly one would else leave a comb.
var normalSpots = func() (all [spotShifts][spots]float64) {
	for i := range all {
		p, sum := &all[i], 0.0
		for j := range p {
			z := spotAt(j, i)
			p[j] = num.Exp(-0.5 * z * z)
			sum += p[j]
		}
		for j := range p {
			p[j] /= sum
		}
	}
	return all
}()

const spotShifts = 16

func spotAt(j, shift int) float64 {
	return (float64(j) - (spots-1)/2 + (float64(shift)+0.5)/spotShifts - 0.5) * spotGap
}

// addNormal puts a normal in.
func (m *marginal) addNormal(at, sd float64, weight *[priors]float64) {
	m.shift = (m.shift + 5) % spotShifts
	for j, p := range normalSpots[m.shift] {
		m.add(at+sd*spotAt(j, m.shift), p, weight)
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
	return Own{meanLow, meanHigh, num.Exp(low), num.Exp(high)}
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
	add(m.alone, other.alone)
	add(m.ownMean, other.ownMean)
	add(m.ownWhole, other.ownWhole)
}

// order gives the draws the marginals' values. A repeatability and the whole spread, which is that
// and the shared parts, take turns: the whole spread last, as most limits are of it.
func (m *marginals) order(p Prior, d *Draws) {
	for g, mean := range d.Mean {
		m.mean[g].order(p, mean)
	}
	for f := range d.Ratio {
		log := d.Ratio[f]
		for k, v := range log {
			log[k] = num.Log(v)
		}
		m.tau[f].order(p, log)
		for k, v := range log {
			log[k] = num.Exp(v)
		}
	}
	whole := make([]float64, d.Len())
	for k := range whole {
		whole[k] = num.Log(d.Whole(k))
	}
	for g, u := range d.LogSD {
		if d.Flat() { // the whole spread does not say the repeatability
			m.alone[g].order(p, u)
			continue
		}
		for range 2 {
			m.alone[g].order(p, u)
			for k, w := range whole {
				u[k] += w
			}
			m.whole[g].order(p, u)
			for k, w := range whole {
				u[k] -= w
			}
		}
	}
}
