package assess

import (
	"slices"

	"knownwater"
)

// verdictAt is the verdict on results as read or corrected and nothing else, of what is worked
// out place by place when it is asked for: the verdict of errorWithin, without the limits. bad
// are the spots in the order in which they most likely keep a method from passing.
func verdictAt(spots, bad []float64, at func(c float64) glimpse, by rule) string {
	if notFitAt(spots, bad, at, by) {
		return NotFit
	}
	if !slices.ContainsFunc(bad, func(c float64) bool { return !at(c).fits() }) {
		return Fit
	}
	return Undecided
}

// notFitAt says whether the lower band lies above what is permitted anywhere. The band needs
// all draws of all places, and is worked out only where it may.
func notFitAt(spots, bad []float64, at func(c float64) glimpse, by rule) bool {
	if !slices.ContainsFunc(bad, func(c float64) bool { return at(c).mayMiss(by) }) {
		return false
	}
	var wide, own [][]float64
	for _, c := range spots {
		g := at(c)
		wide = append(wide, drawn(g.wides, g.wide))
		if !by.steps {
			own = append(own, drawn(g.wides, g.own))
		}
	}
	_, not := bandOf(wide, own, by)
	return not
}

// onlyVerdicts gives f its verdicts as read and corrected where no more is asked for
// (Options.Few). What passes as read is not judged corrected: that changes nothing.
func (f *NeedFinding) onlyVerdicts(spots []float64, by rule, at func(c float64, corrected bool) glimpse) {
	verdict := func(corrected bool) string {
		seen := map[float64]glimpse{}
		return verdictAt(spots, spots, func(c float64) glimpse {
			if _, ok := seen[c]; !ok {
				seen[c] = at(c, corrected)
			}
			return seen[c]
		}, by)
	}
	if f.Raw.Verdict = verdict(false); f.Raw.Verdict != Fit {
		f.Corrected.Verdict = verdict(true)
	}
}

// onlyVerdicts judges a study so.
func (st *study) onlyVerdicts(f *NeedFinding, n knownwater.Need, spots []float64) {
	behaves := map[float64]behaviour{}
	f.onlyVerdicts(spots, st.rule(0), func(c float64, corrected bool) glimpse {
		b, ok := behaves[c]
		if !ok {
			b = st.behaviourAt(c)
			behaves[c] = b
		}
		return st.glimpseOf(n, c, corrected, b)
	})
}
