package assess

import (
	"fmt"
	"math"
	"slices"
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
	says := fmt.Sprintf("where the branches meet, at %s, %s reads %s and %s reads %s", c, branch(a), short(ma), branch(b), short(mb))
	if a.post == nil || b.post == nil {
		return fmt.Sprintf("%s: %.0f %% apart, and without repeats nothing says how much of that is chance; the branches disagree as they stand", says, 100*math.Abs(mb/ma-1))
	}
	ga, gb := a.groupAt(ia), b.groupAt(ib)
	n := min(a.post.Draws(), b.post.Draws())
	ratio := make([]float64, n)
	for k := range ratio {
		ratio[k] = 100 * (b.post.Mean[gb][k]/a.post.Mean[ga][k] - 1)
	}
	low, high := quantile(ratio, 0.025), quantile(ratio, 0.975)
	word := "that could be chance, which does not make them equal"
	if low > 0 || high < 0 {
		word = "the branches disagree"
	}
	return fmt.Sprintf("%s: %+.0f %% (%+.0f to %+.0f); %s", says, quantile(ratio, 0.5), low, high, word)
}

func (st *study) centreAt(i int) float64 {
	if len(st.know.Mean) > i {
		return st.know.Mean[i]
	}
	return middle(st.groups[st.groupAt(i)].interval)
}
