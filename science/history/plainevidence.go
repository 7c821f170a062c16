package history

import (
	"math"

	"knownwater/science/num"
)

// Methods without a record are held to what their own evidence scatters by: nothing else says how
// surely a check or a pair of theirs links anything.

// fewestDegrees: of two pairs that happen to agree no t is wide enough for readings in steps.
const fewestDegrees = 2

// misfits are sums of squares of logarithms about their means, with degrees of freedom.
type misfits struct{ square, degrees float64 }

// add counts logarithms that have one mean, with weights; nil: 1 each.
func (m *misfits) add(logs, weights []float64) {
	weight := func(i int) float64 {
		if weights == nil {
			return 1
		}
		return weights[i]
	}
	mean, total := 0.0, 0.0
	for i, y := range logs {
		mean, total = mean+weight(i)*y, total+weight(i)
	}
	mean /= total
	for i, y := range logs {
		m.square += weight(i) * (y - mean) * (y - mean)
	}
	m.degrees += float64(len(logs) - 1)
}

// variance is that of a single one of weight 1 as its normal limits would have to have it to be those of Student's t: s²·(t/z)²; infinite
// where too little was read twice.
func (m misfits) variance() float64 {
	if m.degrees < fewestDegrees {
		return math.Inf(1)
	}
	t := num.TQuantile(0.975, m.degrees) / num.Z95
	return m.square / m.degrees * t * t
}

// plain says that no record says how the readings of a point scatter.
func (p point) plain() bool {
	_, plain := p.way.(asShown)
	return plain
}

// shownByChecks are the misfits of the checks of each method without a record, each known with each lot and reader about its own mean.
func shownByChecks(checks []point) map[string]misfits {
	type one struct {
		set           int
		known         float64
		reader, named string
	}
	logs := map[one][]float64{}
	var order []one
	for _, p := range checks {
		c := p.seen.Mid()
		if !p.plain() || !(c > 0) || p.open {
			continue
		}
		k := one{p.set, p.Known, p.Reader, p.Method}
		if logs[k] == nil {
			order = append(order, k)
		}
		logs[k] = append(logs[k], math.Log(c))
	}
	out := map[string]misfits{}
	for _, k := range order {
		m := out[k.named]
		m.add(logs[k], nil)
		out[k.named] = m
	}
	return out
}

// steadyCheck is what checks of one known say together. Of a method without a record its variance is what all its checks show, and
// no less than rounding makes it; it is infinite where no known was read twice with one lot by one reader.
func steadyCheck(checks []point, shown map[string]misfits) steady {
	s := steadyOf(checks, unity)
	if checks[0].plain() {
		s.variance = math.Max(s.variance, s.level*s.level*shown[checks[0].Method].variance()/float64(len(checks)))
	}
	return s
}
