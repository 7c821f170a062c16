package assess

import (
	"knownwater/science/note"
	"knownwater/science/reading"
)

// sayClipped doubts a display that showed 0 beside more at one known, and less at none: if it
// cannot show less, its zeros hide how far it scatters there, and what it says near nothing is
// surer than it ought to be. (A simulated display of 0.2 scatter, clipped at 0, misses the
// water of 0.5 with 9 of 64 of its 95 % intervals, and with 3 where its range is stated.)
func (st *study) sayClipped() {
	if k := reading.Of(st.method.Kind); !k.Number || k.Signal || st.method.Range != nil {
		return
	}
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
