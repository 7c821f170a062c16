package assess

import (
	"knownwater/science/note"
	"knownwater/science/num"
)

// leastRepeats is how many readings beyond the first of a level, over all levels, an
// interval takes: with one, it would reach over ten times what was read.
const leastRepeats = 2

// withholdThin takes back intervals that rest on a single repeat: they would be true,
// and so wide that the mean could only be printed rounded to what nobody read.
func (st *study) withholdThin() {
	repeats := 0
	for _, g := range st.groups {
		repeats += g.n - 1
	}
	if st.post == nil || repeats >= leastRepeats {
		return
	}
	for i := range st.finding.Levels {
		l := &st.finding.Levels[i]
		for _, n := range []*num.Number{&l.MeanLow, &l.MeanHigh, &l.SD, &l.SDLow, &l.SDHigh, &l.BiasLow, &l.BiasHigh, &l.RecoveryLow, &l.RecoveryHigh, &l.SingleU} {
			*n = num.None
		}
	}
	st.note(note.New("no-interval-yet").Number("readings", float64(st.n)))
}
