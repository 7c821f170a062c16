package assess

import (
	"math"

	"knownwater/science/num"
	"knownwater/science/posterior"
)

// unlikeScatter is the chance below which the scatter that readings show within lots is taken for another than the
// model has.
const unlikeScatter = 0.01

// scattersOtherwise says whether readings of one lot scatter about their mean otherwise than the model has it, which tells of lots in units
// of scatter: of lots that differ by the same at every level, and of readings that scatter the more the higher they are, it makes
// the low levels scatter too much and the high ones too little, so that the lots' part may be the same in its units.
//
//	Σ_g f·(F − 1 − log F) against χ² with as many degrees of freedom as groups,
//
// F = s²/σ², s² with f degrees of freedom from the deviations from each lot's mean in group g and σ² the middle of what
// the draws have without the lots' part, both with the variance of the rounding: twice the log likelihood ratio of chi-square
// variances. Of numbers alone.
func (st *study) scattersOtherwise() bool {
	lot, told := st.factor["lot"]
	if !told || st.post == nil || !st.showsNumbers() {
		return false
	}
	type group struct{ n, sum, squares float64 }
	by := map[[2]int]group{}
	for _, c := range st.data.Cells {
		key, y := [2]int{c.Group, c.Member[lot]}, middle(c.Seen[0])
		if c.Member[lot] == posterior.None {
			continue
		}
		g := by[key]
		was := g.sum / math.Max(g.n, 1)
		g.n, g.sum = g.n+c.Count, g.sum+c.Count*y
		g.squares += c.Count * (y - was) * (y - g.sum/g.n)
		by[key] = g
	}
	form, ratio, groups := st.post.Form, 0.0, 0.0
	rounding := st.resolution() * st.dilution
	rounding *= rounding / 12
	for g := range st.groups {
		df, squares := 0.0, 0.0
		for j := range st.members["lot"] {
			if of := by[[2]int{g, j}]; of.n > 1 {
				df, squares = df+of.n-1, squares+of.squares
			}
		}
		if df == 0 {
			continue
		}
		f := (squares/df + rounding) / (quantile(drawn(form.Len(), func(k int) float64 {
			s := math.Exp(form.LogSD[g][k])
			return s * s * st.withoutLots(form, k, st.atGroup(g))
		}), 0.5) + rounding)
		ratio, groups = ratio+df*(f-1-math.Log(f)), groups+1
	}
	return groups > 0 && num.ChiSquareSurvival(ratio, groups) < unlikeScatter
}

// ownLots keeps each lot's study by itself where all lots' together has their readings scatter otherwise than they do: later
// readings with a lot that was tried are told by it.
func (st *study) ownLots() {
	if st.rec == nil || !st.scattersOtherwise() {
		return
	}
	for _, name := range st.members["lot"] {
		st.byLot = append(st.byLot, st.ofLot(name))
	}
}

// ofTriedLot is what later readings with a lot are told by: all lots' study, or the lot's own where that has a record that
// reaches as far.
func (st *study) ofTriedLot(name string) *study {
	for j, lot := range st.byLot {
		if st.members["lot"][j] == name && lot.post != nil && lot.rec != nil && lot.rec.Bottom <= st.rec.Bottom && lot.rec.Top >= st.rec.Top {
			return lot
		}
	}
	return st
}
