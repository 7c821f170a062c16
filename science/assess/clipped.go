package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/reading"
)

// sayClipped doubts a display at both ends of what it can show, where nobody stated its range.
func (st *study) sayClipped() {
	if k := reading.Of(st.method.Kind); !k.Number || k.Signal || st.method.Range != nil {
		return
	}
	st.sayClippedBelow()
	st.sayClippedAbove()
}

// sayClippedBelow doubts a display that showed 0 beside more at one known, and less at none: if it
// cannot show less, its zeros hide how far it scatters there, and what it says near nothing is
// surer than it ought to be. (A simulated display of 0.2 scatter, clipped at 0, misses the
// water of 0.5 with 9 of 64 of its 95 % intervals, and with 3 where its range is stated.)
func (st *study) sayClippedBelow() {
	nothing, more := map[float64]bool{}, map[float64]bool{}
	for _, o := range st.obs {
		switch middle := (o.Seen.Low + o.Seen.High) / 2; {
		case o.Seen.High <= 0 || middle < 0:
			return
		case o.Seen.Low < 0:
			nothing[o.Level] = true
		default:
			more[o.Level] = true
		}
	}
	for _, l := range st.levels {
		if nothing[l.value] && more[l.value] {
			st.note(note.New("never-below-zero").Number("level", l.value))
			return
		}
	}
}

// sayClippedAbove doubts a display that showed one and the same number, and never more, at the highest
// known, three times at least, or at several of the highest knowns, when it scatters at the
// knowns below: if it cannot show more, that number says "at least so much", and the response is
// bent towards it. (A display that ends at 30, tried at 20, 40 and 50, says "above 37" of every water from 30 up.)
func (st *study) sayClippedAbove() {
	type shown struct {
		least, most float64 // middles of what was seen
		n           int
	}
	at, most := map[float64]*shown{}, math.Inf(-1)
	for _, o := range st.obs {
		if math.IsInf(o.Seen.Low, 0) || math.IsInf(o.Seen.High, 0) {
			return // somebody said where it ends
		}
		s := at[o.Level]
		if s == nil {
			s = &shown{math.Inf(1), math.Inf(-1), 0}
			at[o.Level] = s
		}
		middle := (o.Seen.Low + o.Seen.High) / 2
		s.least, s.most, s.n, most = min(s.least, middle), max(s.most, middle), s.n+max(1, o.Count), max(most, middle)
	}
	ends, readings, scatters := 0, 0, false
	first := len(st.levels)
	for first > 0 && at[st.levels[first-1].value] != nil && at[st.levels[first-1].value].least == most {
		first--
		ends, readings = ends+1, readings+at[st.levels[first].value].n
	}
	if first == 0 || ends == 0 || ends == 1 && readings < 3 {
		return
	}
	for _, l := range st.levels[:first] {
		s := at[l.value]
		if s == nil || s.n < 2 {
			continue
		}
		if s.least == s.most && l.value > 0 && ends == 1 {
			return // it repeats itself elsewhere, too
		}
		scatters = scatters || s.least < s.most
	}
	if scatters {
		st.note(note.New("never-above").Number("level", st.levels[first].value).Number("shown", most))
	}
}
