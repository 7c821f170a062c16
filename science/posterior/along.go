package posterior

import (
	"math"
	"slices"
)

// Effects of people, sessions and lots are told in repeatabilities: whoever scatters more where more is in the
// water differs more from others there, too. That need not be so. Who fills a vial short reads a tenth low at every
// level of a display that scatters by as much everywhere, and who looks at colours from aslant reads half a step high.
// Then the effects of the factor go along with something else (Factor.Along), and are told in that.

// Way is what a factor's effects go along with.
type Way int

const (
	WithScatter Way = iota // the repeatability
	WithNothing            // they are the same at every level
	WithRoot               // the square root of the true concentration
	WithLevel              // the true concentration
)

// alongs are the ways beside the first, as functions of the true concentration.
var alongs = map[Way]func(c float64) float64{
	WithNothing: func(float64) float64 { return 1 }, WithRoot: math.Sqrt, WithLevel: func(c float64) float64 { return c },
}

// muchBetter is by how much the logarithm of the likelihood must rise before effects are taken to go along with something
// else than the scatter: by twenty times in likelihood. Nearer than that either will do.
const muchBetter = 3

// goAlong finds for every crossed factor what its effects go along with. Each way has as many parameters: a mean and a
// spread for every group and an effect for every member; what is compared is the largest likelihood of normal readings, the
// middles of what was seen.
//
//	Σ_g −n_g·log s_g − ½·(W_g + Σ_j n_jg·(ȳ_jg − m_g − h_g·a_j)²)/s_g²,  h_g = s_g or given
//
// W_g is the sum of squares about the members' averages ȳ_jg in the group, with what rounding adds.
func (l *layout) goAlong() {
	l.Factors = slices.Clone(l.Factors) // they are the asker's
	for f := range l.Factors {
		fac := &l.Factors[f]
		if fac.Nested {
			continue
		}
		t := l.averages(f)
		if len(t) < 3 {
			continue
		}
		best := muchBetter + t.likelihood(nil, fac.Members)
		fac.Way, fac.Along = WithScatter, nil
		for _, way := range []Way{WithNothing, WithRoot, WithLevel} {
			h := l.along(alongs[way], t)
			if v := t.likelihood(h, fac.Members); v > best {
				best, fac.Way, fac.Along = v, way, h
			}
		}
	}
}

// along is a way on the scale of the readings, by group: as large as the spread in the geometric mean of the groups that
// tell of it.
func (l *layout) along(way func(float64) float64, of memberAverages) []float64 {
	h := make([]float64, l.Groups)
	log, n := 0.0, 0.0
	for g := range h {
		h[g] = way(math.Max(0, l.Level[g]))
	}
	for _, t := range of {
		if h[t.group] > 0 {
			log += 0.5*math.Log(t.within/(t.n-t.members)) - math.Log(h[t.group])
			n++
		}
	}
	by := math.Exp(log / math.Max(n, 1))
	for g := range h {
		h[g] *= by
	}
	return h
}

// memberAverages are the groups of which a factor's members are told apart and repeat themselves.
type memberAverages []groupAverages

type groupAverages struct {
	group              int
	n, members, within float64
	count, average     []float64 // by member
}

// averages of what each member of a factor read in each group; those with open readings are left out.
func (l *layout) averages(f int) (all memberAverages) {
	for g := range l.group {
		t := groupAverages{group: g, count: make([]float64, l.Factors[f].Members), average: make([]float64, l.Factors[f].Members)}
		square, whole := 0.0, true
		for _, i := range l.group[g].cells {
			c := &l.Cells[i]
			s, j := c.Seen[0], c.Member[f]
			if j == None || math.IsInf(s[1]-s[0], 0) {
				whole = false
				break
			}
			y, width := middle(s)-l.group[g].mean, s[1]-s[0]
			t.n += c.Count
			t.count[j] += c.Count
			t.average[j] += c.Count * y
			square += c.Count * (y*y + width*width/12)
		}
		for j, n := range t.count {
			if n > 0 {
				t.members++
				t.average[j] /= n
				square -= n * t.average[j] * t.average[j]
			}
		}
		t.within = square
		if whole && t.members > 1 && t.n-t.members >= 2 && t.within > 1e-12*l.scale()*l.scale() {
			all = append(all, t)
		}
	}
	return all
}

// likelihood is the logarithm of the largest under a way, or with effects that go along with the spread where there is none: spreads
// given effects, and effects given spreads, in turn.
func (of memberAverages) likelihood(along []float64, members int) float64 {
	a, inv := make([]float64, members), make([]float64, len(of))
	for i, t := range of {
		inv[i] = math.Sqrt((t.n - t.members) / t.within)
	}
	height := func(i int) float64 {
		if along == nil {
			return 1 / inv[i]
		}
		return along[of[i].group]
	}
	// off is how far a member's average lies from the mean of the group that fits the effects, and the effect from their average there
	off := func(i int) (y, x []float64) {
		t := &of[i]
		meanY, meanX := 0.0, 0.0
		for j, n := range t.count {
			meanY += n / t.n * t.average[j]
			meanX += n / t.n * a[j]
		}
		y, x = make([]float64, members), make([]float64, members)
		for j, n := range t.count {
			if n > 0 {
				y[j], x[j] = t.average[j]-meanY, a[j]-meanX
			}
		}
		return y, x
	}
	value := 0.0
	for range 40 {
		// each effect given the others, whose average is nothing
		up, down := make([]float64, members), make([]float64, members)
		for i, t := range of {
			h := height(i)
			y, x := off(i)
			for j, n := range t.count {
				w := n * (1 - n/t.n) * inv[i] * inv[i]
				up[j] += n * inv[i] * inv[i] * h * (y[j] - h*x[j])
				down[j] += w * h * h
			}
		}
		mean := 0.0
		for j := range a {
			if down[j] > 0 {
				a[j] += 0.5 * up[j] / down[j]
			}
			mean += a[j] / float64(members)
		}
		for j := range a {
			a[j] -= mean
		}
		value = 0
		for i, t := range of {
			y, x := off(i)
			q, inner, own := t.within, 0.0, 0.0
			for j, n := range t.count {
				if along == nil {
					q, inner, own = q+n*y[j]*y[j], inner+n*y[j]*x[j], own+n*x[j]*x[j]
				} else {
					r := y[j] - height(i)*x[j]
					q += n * r * r
				}
			}
			inv[i] = (inner + math.Sqrt(inner*inner+4*q*t.n)) / (2 * q)
			value += t.n*math.Log(inv[i]) - 0.5*q*inv[i]*inv[i] + inner*inv[i] - 0.5*own
		}
	}
	return value
}
