package assess

import (
	"slices"

	"knownwater"
)

// fitsAt says whether every place passes.
func fitsAt(bad []float64, at func(c float64) glimpse, by rule) bool {
	return !slices.ContainsFunc(bad, func(c float64) bool { return !at(c).fits(by) })
}

// verdictAt is the verdict on results as read or corrected and nothing else, of what is worked
// out place by place when it is asked for: the verdict of errorWithin, without the limits. bad
// are the spots in the order in which they most likely keep a method from passing.
func verdictAt(spots, bad []float64, at func(c float64) glimpse, by rule) string {
	if notFitAt(spots, bad, at, by) {
		return NotFit
	}
	if fitsAt(bad, at, by) {
		return Fit
	}
	return Undecided
}

// notFitAt says whether the lower band lies above what is permitted anywhere. The band needs
// all draws of all places, and is worked out only where it may.
func notFitAt(spots, bad []float64, at func(c float64) glimpse, by rule) bool {
	return mayMissAt(bad, at, by) && slices.Contains(bandMisses(spots, at, by), true)
}

func mayMissAt(bad []float64, at func(c float64) glimpse, by rule) bool {
	return slices.ContainsFunc(bad, func(c float64) bool { return at(c).mayMiss(by) })
}

// bandMisses says at which spots the lower band lies above what is permitted.
func bandMisses(spots []float64, at func(c float64) glimpse, by rule) []bool {
	var wide, own []sample
	for _, c := range spots {
		g := at(c)
		wide = append(wide, sampleOf(drawn(g.wides, g.wide), by.steps))
		if !by.steps {
			own = append(own, sampleOf(drawn(g.wides, g.own), false))
		}
	}
	misses := make([]bool, len(spots))
	for i, low := range bandOf(wide, own, by) {
		misses[i] = low > 0
	}
	return misses
}

// bothAt are the verdicts as read and corrected, as far as the verdict on the method hangs
// on them: what passes as read is not judged corrected, and whether what is undecided as
// read fails corrected is not asked.
func bothAt(spots, bad []float64, at func(c float64, corrected bool) glimpse, by rule) (raw, corrected string) {
	asRead := func(c float64) glimpse { return at(c, false) }
	turned := func(c float64) glimpse { return at(c, true) }
	raw, corrected = verdictAt(spots, bad, asRead, by), Undecided
	switch {
	case raw == NotFit:
		corrected = verdictAt(spots, bad, turned, by)
	case raw != Fit && fitsAt(bad, turned, by):
		corrected = Fit
	}
	return raw, corrected
}

// onlyVerdicts gives f its verdicts where no more is asked for (Options.Few).
func (f *NeedFinding) onlyVerdicts(spots []float64, by rule, at func(c float64, corrected bool) glimpse) {
	type place struct {
		c         float64
		corrected bool
	}
	seen := map[place]glimpse{}
	f.Raw.Verdict, f.Corrected.Verdict = bothAt(spots, spots, func(c float64, corrected bool) glimpse {
		g, ok := seen[place{c, corrected}]
		if !ok {
			g = at(c, corrected)
			seen[place{c, corrected}] = g
		}
		return g
	}, by)
}

// onlyVerdicts judges a study so.
func (st *study) onlyVerdicts(f *NeedFinding, n knownwater.Need, spots []float64) {
	f.onlyVerdicts(spots, st.rule(0), func(c float64, corrected bool) glimpse { return st.glimpse(n, c, corrected) })
}
