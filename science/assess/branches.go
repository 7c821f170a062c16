package assess

import (
	"fmt"
	"math"
	"slices"

	"knownwater/science/unit"
)

// compareBranches looks where two dilutions of one method meet, and says in
// both findings whether they agree there.
func compareBranches(studies []*study, findings []MethodFinding) {
	for i, a := range studies {
		for j := i + 1; j < len(studies); j++ {
			b := studies[j]
			if a.method.Name != b.method.Name || a.matrix != b.matrix || a.dilution == b.dilution {
				continue
			}
			for ia, l := range a.levels {
				ib := slices.IndexFunc(b.levels, func(m level) bool { return m.value == l.value })
				if ib < 0 || l.value == 0 {
					continue
				}
				text := joinAt(a, b, ia, ib)
				findings[i].Notes = append(findings[i].Notes, text)
				findings[j].Notes = append(findings[j].Notes, text)
			}
		}
	}
}

// joinAt compares two branches at a level that both were tried at.
func joinAt(a, b *study, ia, ib int) string {
	c := short(a.levels[ia].value)
	branch := func(s *study) string {
		if s.dilution == 1 {
			return "undiluted"
		}
		return "diluted ×" + short(s.dilution)
	}
	ma, mb := a.centreAt(ia), b.centreAt(ib)
	says := func(ua, ub float64) string {
		return fmt.Sprintf("where the branches meet, at %s, %s reads %s and %s reads %s", c, branch(a), unit.Round(ma, ua), branch(b), unit.Round(mb, ub))
	}
	if a.post == nil || b.post == nil {
		return fmt.Sprintf("%s: %.0f %% apart, and without repeats nothing says how much of that is chance; the branches disagree as they stand", says(0, 0), 100*math.Abs(mb/ma-1))
	}
	da, db := a.post.Mean[a.groupAt(ia)], b.post.Mean[b.groupAt(ib)]
	ratio := make([]float64, min(a.post.Draws(), b.post.Draws()))
	for k := range ratio {
		ratio[k] = 100 * (db[k]/da[k] - 1)
	}
	low, high := quantile(ratio, 0.025), quantile(ratio, 0.975)
	word := "that could be chance, which does not make them equal"
	if low > 0 || high < 0 {
		word = "the branches disagree"
	}
	u := (high - low) / 4
	half := func(draws []float64) float64 { return (quantile(draws, 0.975) - quantile(draws, 0.025)) / 4 }
	return fmt.Sprintf("%s: %s %% (%s to %s); %s", says(half(da), half(db)), unit.Signed(quantile(ratio, 0.5), u), unit.Signed(low, u), unit.Signed(high, u), word)
}

func (st *study) centreAt(i int) float64 {
	if len(st.know.Mean) > i {
		return st.know.Mean[i]
	}
	return middle(st.groups[st.groupAt(i)].interval)
}
