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
}

// The verdicts on two benches (and assess.SameForNeed).
const (
	BenchesDiffer    = assess.Different
	BenchesUndecided = assess.Undecided
)

// Agree compares what two benches read by the same methods, at the knowns of the first that
// lie within what the second tried. The bias of the second is taken between its two
// neighbouring knowns, straight; its uncertainty likewise. With half-widths U of the 95 %
// intervals of both biases
//
//	E_n = (b₂ − b₁) / √(U₁² + U₂²)
//
// (ISO 13528:2022, 9.7). The benches differ where the largest |E_n| of k knowns is beyond what
// chance leaves in 1 of 20 such comparisons, z(1 − 0.05/2k)/z(0.975) (Bonferroni); they are the
// same for a need where at every known in its range the difference's interval lies inside ±
// the permitted error; else it is undecided.
//
// judge judges a part of a trial: all of it, one lot that both benches used, each reader.
func Agree(a, b Trial, needs []knownwater.Need, judge func(knownwater.Trial) assess.Findings) (out []Agreement) {
	out = append(out, agreeOf(a.Findings, b.Findings, needs)...)
	for _, lot := range lotsOf(a, b) {
		for _, g := range agreeOf(judge(only(a.Trial, lotOf, lot)), judge(only(b.Trial, lotOf, lot)), needs) {
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
			for _, g := range agreeOf(one, two, needs) {
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

// agreeOf compares every method and dilution that both findings hold.
func agreeOf(a, b assess.Findings, needs []knownwater.Need) (out []Agreement) {
	for _, m := range a.Methods {
		i := slices.IndexFunc(b.Methods, func(o assess.MethodFinding) bool { return o.Method == m.Method && o.Dilution == m.Dilution })
		if i < 0 {
			continue
		}
		g := Agreement{Method: m.Method, Dilution: m.Dilution, Of: "all"}
		for _, l := range m.Levels {
			if at, ok := agreeAt(l, b.Methods[i].Levels); ok {
				g.Levels = append(g.Levels, at)
			}
		}
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
	k := slices.IndexFunc(others, func(o assess.LevelFinding) bool { return o.Level >= l.Level })
	var below, above assess.LevelFinding
	switch {
	case k < 0 && l.Level-others[len(others)-1].Level <= slack:
		below, above = others[len(others)-1], others[len(others)-1]
	case k < 0 || k == 0 && others[0].Level-l.Level > slack:
		return at, false
	case k == 0:
		below, above = others[0], others[0]
	default:
		below, above = others[k-1], others[k]
	}
	t := 0.0
	if above.Level > below.Level {
		t = (l.Level - below.Level) / (above.Level - below.Level)
	}
	half := func(l assess.LevelFinding) float64 { return float64(l.BiasHigh-l.BiasLow) / 2 }
	bias := (1-t)*float64(below.Bias) + t*float64(above.Bias)
	u := math.Hypot((1-t)*half(below), t*half(above))
	d, w := bias-float64(l.Bias), math.Hypot(half(l), u)
	if !(w > 0) {
		return at, false
	}
	return AgreementAt{Level: l.Level, Difference: num.Number(d), Low: num.Number(d - w), High: num.Number(d + w), En: num.Number(d / w), Permitted: num.None}, true
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
		in, same := 0, true
		for i := range g.Levels {
			l := &g.Levels[i]
			if l.Level < n.Low || l.Level > n.High {
				continue
			}
			in++
			l.Permitted = num.Number(n.PermittedAt(l.Level))
			same = same && l.Low > -l.Permitted && l.High < l.Permitted
		}
		if in > 0 {
			g.NeedAt = n.Name
			if same {
				g.Verdict = assess.SameForNeed
				return
			}
			break
		}
	}
	if differ {
		g.Verdict = BenchesDiffer
	}
}
