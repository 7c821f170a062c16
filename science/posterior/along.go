package posterior

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// Effects of people, sessions and lots are told in repeatabilities: whoever scatters more where more is in the
// water differs more from others there, too. That need not be so. Who fills a vial short reads a tenth low at every
// level of a display that scatters by as much everywhere, and who looks at colours from aslant reads half a step high.
// Then the effects of the factor go along with something else (Factor.Along), and are told in that.

// worth is by how much the logarithm of the likelihood of the likeliest other way may lie below that of the scatter for all of them to be weighed. Where all
// are less likely than that the scatter it is: the chain takes longer where it has several ways to go.
const worth = 1

// surely is how sure it must be, by the likelihood ratio, that members differ at all: where they hardly do nothing hangs on how, and of many who do not
// some way fits what they happened to read.
const surely = 0.999

// goAlong finds the factors whose effects may go along with something else than the scatter (layout.ways); with what, the chain draws. Each way has as many parameters: a mean and a
// spread for every group and an effect for every member; what is compared is the largest likelihood of normal readings, the
// middles of what was seen.
//
//	Σ_g −n_g·log s_g − ½·(W_g + Σ_j n_jg·(ȳ_jg − m_g − h_g·a_j)²)/s_g²,  h_g = s_g or given
//
// W_g is the sum of squares about the members' averages ȳ_jg in the group, with what rounding adds. Of vials, each of which is
// of one group, see nested.
func (l *layout) goAlong() {
	l.Factors = slices.Clone(l.Factors) // they are the asker's
	columns := 0
	for f := range l.Factors {
		columns += l.Factors[f].Members
	}
	for f := range l.Factors {
		fac := &l.Factors[f]
		fac.Along = nil
		t := l.averages(f)
		above := slices.ContainsFunc(t, func(g groupAverages) bool { return l.Level[g.group] > 0 }) // at nothing no power of it tells anything
		if !above || columns > mostTogether {
			continue
		}
		ways := l.ways(t, fac.Nested)
		switch {
		case fac.Nested:
			if t.tells(ways, t.nested, 1) { // drawn as those of people are, as a spread no longer says their part
				fac.Along, l.vial = ways, None
			}
		case len(t) < 3 && l.alone(f): // who reads levels alone may differ there by any of them from what the others tell
			fac.Along = ways[:len(ways)-1]
		case t.tells(ways, t.likelihood, float64(fac.Members-1)):
			fac.Along = ways
		}
	}
}

// tells says whether one of the other ways is worth weighing beside the scatter, and members differ for sure, of whose effects so many are free.
func (of memberAverages) tells(ways [][]float64, likelihood func(along []float64) float64, free float64) bool {
	if len(of) < 3 {
		return false
	}
	best := math.Inf(-1)
	for _, h := range ways {
		if h != nil {
			best = math.Max(best, likelihood(h))
		}
	}
	none := likelihood(make([]float64, len(ways[0]))) + num.ChiSquareQuantile(surely, free)/2
	return best > likelihood(nil)-worth && best > none
}

// alone says whether some group was read by one member of a factor alone.
func (l *layout) alone(f int) bool {
	for g := range l.group {
		one, several := None, false
		for _, i := range l.group[g].cells {
			j := l.Cells[i].Member[f]
			several = several || one != None && j != one
			one = j
		}
		if one != None && !several {
			return true
		}
	}
	return false
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
func (of memberAverages) likelihood(along []float64) float64 {
	members := len(of[0].count)
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

// nested is the logarithm of the largest likelihood of vials, of which each is of one group: not of their effects but of the variance v that
// these have, by the averages' sum of squares B with b degrees of freedom, n readings to a vial on average:
//
//	Σ_g −½·(w·log s² + W/s² + b·log(s² + n·v) + B/(s² + n·v)),  v = τ²·s² or τ²·h²
//
// the largest over every s and τ.
func (of memberAverages) nested(along []float64) float64 {
	return highest(-7, 7, func(logTau float64) float64 {
		sum := 0.0
		for _, t := range of {
			between, size := t.betweenMembers()
			w, b, tau2 := t.n-t.members, t.members-1, math.Exp(2*logTau)
			if along == nil {
				ratio := 1 + size*tau2
				sum -= 0.5 * ((w+b)*(math.Log((t.within+between/ratio)/(w+b))+1) + b*math.Log(ratio))
				continue
			}
			v := size * tau2 * along[t.group] * along[t.group]
			about := math.Log(t.within / w)
			sum += highest(about-4, math.Max(about, math.Log(between/b+t.within/w))+1, func(log float64) float64 {
				s2 := num.Exp(log)
				return -0.5 * (w*log + t.within/s2 + b*num.Log(s2+v) + between/(s2+v))
			})
		}
		return sum
	})
}

// betweenMembers is the sum of squares of the averages about theirs, each reading counted, and how many readings there are to a member:
// (n − Σn_j²/n)/(members − 1).
func (t *groupAverages) betweenMembers() (square, size float64) {
	mean, squares := 0.0, 0.0
	for j, n := range t.count {
		mean += n / t.n * t.average[j]
		squares += n * n
	}
	for j, n := range t.count {
		square += n * (t.average[j] - mean) * (t.average[j] - mean)
	}
	return square, (t.n - squares/t.n) / (t.members - 1)
}

// highest is the largest value of a function with one summit, to about a thousandth of what it falls over a step of its grid.
func highest(low, high float64, f func(x float64) float64) float64 {
	const places = 24
	step := (high - low) / places
	best, at := math.Inf(-1), low
	for range 3 {
		for x := low; x <= high+step/2; x += step {
			if v := f(x); v > best {
				best, at = v, x
			}
		}
		low, high, step = at-step, at+step, step/8
	}
	return best
}
