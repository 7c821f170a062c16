package choose

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Agreement is how the readings of one method at one bench compare with those at another, of
// all its readings or of one lot or reader.
type Agreement struct {
	Method   string
	Dilution float64
	Matrix   string // the water of the knowns, where either tried the method in several
	Of       string // "all", "lot", "reader"
	Name     string // of the lot or reader
	Bench    int    // whose reader: 0 the first's, 1 the second's
	Levels   []AgreementAt
	Verdict  string
	NeedAt   string // the need that the verdict is for; empty: none covers these levels
}

// AgreementAt is one known. Difference is the second bench's bias less the first's.
type AgreementAt struct {
	Level                 float64
	Difference, Low, High num.Number
	En                    num.Number
	Permitted             num.Number
	slack                 float64 // within which another level counts as this one
}

// The verdicts on two benches (and assess.SameForNeed).
const (
	BenchesDiffer    = assess.Different
	BenchesUndecided = assess.Undecided
)

// Agree compares what two benches read by the same methods, at the knowns of the first that
// lie within what the second tried, its bias between its knowns as betweenKnowns says. With the
// distances U of the 95 % limits of both biases, on the sides that lie between them,
//
//	E_n = (b₂ − b₁) / √(U₁² + U₂²)
//
// (ISO 13528:2022, 9.7, where both sides are alike). The benches differ where the largest |E_n| of k knowns is beyond what
// chance leaves in 1 of 20 such comparisons, z(1 − 0.05/2k)/z(0.975) (Bonferroni); they are the
// same for a need where at every known in its range and at its ends, which the knowns have to reach, the
// difference's interval lies inside ± the permitted error; else it is undecided.
//
// judge judges a part of a trial: all of it, one lot that both benches used, each reader.
func Agree(a, b Trial, needs []knownwater.Need, judge func(knownwater.Trial) assess.Findings) (out []Agreement) {
	// Of one water each its name does not count: two people have two names for theirs.
	several := func(method string) bool { return watersOf(a.Findings, method) > 1 || watersOf(b.Findings, method) > 1 }
	out = append(out, agreeOf(a.Findings, b.Findings, needs, several)...)
	for _, lot := range lotsOf(a, b) {
		for _, g := range agreeOf(judge(only(a.Trial, lotOf, lot)), judge(only(b.Trial, lotOf, lot)), needs, several) {
			g.Of, g.Name = "lot", lot
			out = append(out, g)
		}
	}
	for bench, t := range []Trial{a, b} {
		for _, reader := range readersOf(t) {
			part := judge(only(t.Trial, readerOf, reader))
			one, two := part, b.Findings
			if bench == 1 {
				one, two = a.Findings, part
			}
			for _, g := range agreeOf(one, two, needs, several) {
				g.Of, g.Name, g.Bench = "reader", reader, bench
				out = append(out, g)
			}
		}
	}
	return out
}

// AgreeParts is how many parts of two trials Agree has judged.
func AgreeParts(a, b Trial) int {
	return 2*len(lotsOf(a, b)) + len(readersOf(a)) + len(readersOf(b))
}

// lotsOf are the lots that both used; none where either used no other, which was all of it.
func lotsOf(a, b Trial) []string {
	one, two := names(a.Trial, lotOf), names(b.Trial, lotOf)
	if len(one) < 2 && len(two) < 2 {
		return nil
	}
	return common(one, two)
}

// readersOf are the readers, where there are several.
func readersOf(t Trial) []string {
	if all := names(t.Trial, readerOf); len(all) > 1 {
		return all
	}
	return nil
}

func lotOf(o knownwater.Observation) string    { return o.Lot }
func readerOf(o knownwater.Observation) string { return o.Reader }

func names(t knownwater.Trial, of func(knownwater.Observation) string) (out []string) {
	for _, o := range t.Observations {
		if n := of(o); n != "" {
			out = addName(out, n)
		}
	}
	slices.Sort(out)
	return out
}

func common(a, b []string) (out []string) {
	for _, n := range a {
		if slices.Contains(b, n) {
			out = append(out, n)
		}
	}
	return out
}

// only is the part of a trial that is of one lot or reader.
func only(t knownwater.Trial, of func(knownwater.Observation) string, name string) knownwater.Trial {
	t.Observations = slices.DeleteFunc(slices.Clone(t.Observations), func(o knownwater.Observation) bool { return of(o) != name })
	return t
}

// agreeOf compares every method and dilution that both findings hold, each water by itself where there are several.
func agreeOf(a, b assess.Findings, needs []knownwater.Need, several func(method string) bool) (out []Agreement) {
	for _, m := range a.Methods {
		g := Agreement{Method: m.Method, Dilution: m.Dilution, Of: "all"}
		if several(m.Method) {
			g.Matrix = m.Matrix
		}
		i := slices.IndexFunc(b.Methods, func(o assess.MethodFinding) bool {
			return o.Method == m.Method && o.Dilution == m.Dilution && (o.Matrix == m.Matrix || !several(m.Method))
		})
		if i < 0 {
			continue
		}
		for _, l := range m.Levels {
			if at, ok := agreeAt(l, b.Methods[i].Levels); ok {
				g.Levels = append(g.Levels, at)
			}
		}
		slices.SortFunc(g.Levels, func(a, b AgreementAt) int { return cmp.Compare(a.Level, b.Level) })
		if len(g.Levels) > 0 {
			g.judge(needs)
			out = append(out, g)
		}
	}
	return out
}

// agreeAt compares one known with what lies about it.
func agreeAt(l assess.LevelFinding, others []assess.LevelFinding) (at AgreementAt, ok bool) {
	usable := func(l assess.LevelFinding) bool { return l.Bias.OK() && l.BiasLow.OK() && l.BiasHigh.OK() }
	others = slices.DeleteFunc(slices.Clone(others), func(o assess.LevelFinding) bool { return !usable(o) })
	if !usable(l) || len(others) == 0 {
		return at, false
	}
	slices.SortFunc(others, func(a, b assess.LevelFinding) int { return cmp.Compare(a.Level, b.Level) })
	slack := 2 * (l.ULevel + others[0].ULevel)
	first, last := others[0], others[len(others)-1]
	var by between
	switch {
	case l.Level >= first.Level && l.Level <= last.Level:
		by = betweenKnowns(others, l.Level)
	case first.Level > l.Level && first.Level-l.Level <= slack:
		by = between{weights: []float64{1}}
	case l.Level > last.Level && l.Level-last.Level <= slack:
		by = between{weights: []float64{1}, from: len(others) - 1}
	default:
		return at, false
	}
	bias, below, above := by.of(others)
	d := bias - float64(l.Bias)
	low, high := math.Hypot(below, float64(l.BiasHigh-l.Bias)), math.Hypot(above, float64(l.Bias-l.BiasLow))
	toward := low // the side on which no difference lies
	if d < 0 {
		toward = high
	}
	if !(low > 0 && high > 0) {
		return at, false
	}
	return AgreementAt{Level: l.Level, Difference: num.Number(d), Low: num.Number(d - low), High: num.Number(d + high), En: num.Number(d / toward), Permitted: num.None, slack: 2 * l.ULevel}, true
}

// between is how the bias at a place follows from those at knowns around it: a weighted sum of them,
// from the one at from on.
type between struct {
	weights []float64
	from    int
	// shape is what of it the response's bend decides, the half of it taken: as far it may be off either way. None
	// where two knowns are all there are.
	shape []float64
}

// betweenKnowns weighs the knowns about a place within them. Nobody saw what the response does there: the
// straight line between the two neighbours misses a bend, the parabola through one more on each side (the
// mean of both where there are two) follows it. Half way from the one to the other is taken, and half of
// the way is doubt (our convention).
func betweenKnowns(others []assess.LevelFinding, c float64) between {
	k := slices.IndexFunc(others, func(o assess.LevelFinding) bool { return o.Level >= c })
	if others[k].Level == c {
		return between{weights: []float64{1}, from: k}
	}
	from, to := max(0, k-2), min(len(others), k+2)
	out := between{weights: make([]float64, to-from), from: from}
	t := (c - others[k-1].Level) / (others[k].Level - others[k-1].Level)
	out.weights[k-1-from], out.weights[k-from] = 1-t, t
	parabolas := to - from - 2
	if parabolas == 0 {
		return out
	}
	out.shape = make([]float64, to-from)
	for i := from; i+2 < to; i++ {
		for j := i; j < i+3; j++ { // Lagrange's form
			w := 1.0
			for m := i; m < i+3; m++ {
				if m != j {
					w *= (c - others[m].Level) / (others[j].Level - others[m].Level)
				}
			}
			out.shape[j-from] += w / float64(parabolas)
		}
	}
	for j := range out.shape {
		out.shape[j] = (out.shape[j] - out.weights[j]) / 2
		out.weights[j] += out.shape[j]
	}
	return out
}

// of is the bias there, and how far its 95 % limits lie below and above it: those of the knowns combined
// by squares, and what the bend may do.
func (b between) of(knowns []assess.LevelFinding) (bias, below, above float64) {
	bend := 0.0
	for j, w := range b.weights {
		k := knowns[b.from+j]
		bias += w * float64(k.Bias)
		down, up := float64(k.Bias-k.BiasLow), float64(k.BiasHigh-k.Bias)
		if w < 0 {
			down, up = up, down
		}
		below, above = math.Hypot(below, w*down), math.Hypot(above, w*up)
	}
	for j, s := range b.shape {
		bend += s * float64(knowns[b.from+j].Bias)
	}
	return bias, below + math.Abs(bend), above + math.Abs(bend)
}

// judge gives the verdict for the first need that reaches a known.
func (g *Agreement) judge(needs []knownwater.Need) {
	most := 0.0
	for _, l := range g.Levels {
		most = math.Max(most, math.Abs(float64(l.En)))
	}
	g.Verdict = BenchesUndecided
	differ := most > num.PhiInv(1-0.025/float64(len(g.Levels)))/num.PhiInv(0.975)
	for _, n := range needs {
		in := 0
		for i := range g.Levels {
			if l := &g.Levels[i]; l.Level >= n.Low && l.Level <= n.High {
				in++
				l.Permitted = num.Number(n.PermittedAt(l.Level))
			}
		}
		if in == 0 {
			continue
		}
		if g.NeedAt = n.Name; g.sameFor(n) {
			g.Verdict = assess.SameForNeed
			return
		}
		break
	}
	if differ {
		g.Verdict = BenchesDiffer
	}
}

// ofNeed is how far, of a need's width, an end may lie beyond the knowns that are compared and count as reached, as it does where a
// method is judged for a need.
const ofNeed = 0.02

// sameFor says whether every difference of a need keeps to what is permitted: at its knowns, and at its ends, that the knowns have to
// reach; there its limits are straight between those of the knowns on both sides.
func (g Agreement) sameFor(n knownwater.Need) bool {
	keeps := func(low, high num.Number, at float64) bool {
		p := num.Number(n.PermittedAt(at))
		return low > -p && high < p
	}
	for _, l := range g.Levels {
		if l.Permitted.OK() && !keeps(l.Low, l.High, l.Level) {
			return false
		}
	}
	for _, end := range []float64{n.Low, n.High} {
		low, high, ok := g.limitsAt(end, ofNeed*(n.High-n.Low))
		if !ok || !keeps(low, high, end) {
			return false
		}
	}
	return true
}

// limitsAt are those of the difference at a place between knowns, or beyond them by no more than that; knowns rise.
func (g Agreement) limitsAt(c, beyond float64) (low, high num.Number, ok bool) {
	i := slices.IndexFunc(g.Levels, func(l AgreementAt) bool { return l.Level >= c })
	last := len(g.Levels) - 1
	switch {
	case i == 0:
		return g.Levels[0].Low, g.Levels[0].High, g.Levels[0].Level-g.Levels[0].slack <= c+beyond
	case i < 0:
		return g.Levels[last].Low, g.Levels[last].High, g.Levels[last].Level+g.Levels[last].slack >= c-beyond
	}
	a, b := g.Levels[i-1], g.Levels[i]
	t := num.Number((c - a.Level) / (b.Level - a.Level))
	return a.Low + t*(b.Low-a.Low), a.High + t*(b.High-a.High), true
}
