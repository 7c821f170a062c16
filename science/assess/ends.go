package assess

import (
	"math"

	"knownwater/science/record"
)

// fewestClosed is how many levels have to be left for the response where those
// that all read open are not asked.
const fewestClosed = 3

// fitResponse fits the response without the levels at which every reading is open
// above: such a mean is bounded on one side only, and where it lies beyond would be
// the prior's word. Where what is left has the readings there below where they are
// open, or nothing can be fitted to it, those levels do say something: they count.
func (st *study) fitResponse() (*record.Response, error) {
	closed, all := []int{}, []int{}
	for i := range st.levels {
		all = append(all, i)
		if g := st.groupAt(i); st.post == nil || !st.groups[g].openAbove {
			closed = append(closed, i)
		}
	}
	if len(closed) < len(all) && len(closed) >= fewestClosed {
		st.bend, st.bendAt = st.know.Only(closed).Settled(), closed
		if resp, err := record.Fit(st.bend); err == nil && st.opensAs(resp) {
			return resp, nil
		}
	}
	st.bend, st.bendAt = st.know, all
	return record.Fit(st.bend)
}

// opensAs says whether a response has the readings of every level that is open above no lower than
// where they are open.
func (st *study) opensAs(resp *record.Response) bool {
	for i, l := range st.levels {
		if st.groups[st.groupAt(i)].openAbove && resp.At(l.value) < st.openFrom(i) {
			return false
		}
	}
	return true
}

// openFrom is the highest bound above which a reading of level i is open.
func (st *study) openFrom(i int) float64 {
	g, low := st.groupAt(i), math.Inf(-1)
	for _, c := range st.data.Cells {
		if c.Group == g {
			low = math.Max(low, c.Seen[0][0])
		}
	}
	return low
}
