package assess

import (
	"cmp"
	"slices"

	"knownwater"
	"knownwater/science/inverse"
	"knownwater/science/num"
)

// readBack turns every reading seen in the trial round. A known at which it was
// seen did give it, whatever the response says: its level is in the set.
func (st *study) readBack() {
	if st.rec == nil {
		return
	}
	later := st.rec
	if by := st.looser(); by > 1 {
		later = st.rec.Of(1, func(int, float64) float64 { return 0 }, func(d int, c float64) float64 { return by * st.rec.Spread.All(d, c) })
	}
	seenAt := map[string][]float64{}
	var distinct []knownwater.Observation
	for _, o := range st.obs {
		if seenAt[o.Text] == nil {
			distinct = append(distinct, o)
		}
		if !slices.Contains(seenAt[o.Text], o.Level) {
			seenAt[o.Text] = append(seenAt[o.Text], o.Level)
		}
	}
	slices.SortStableFunc(distinct, func(a, b knownwater.Observation) int {
		return cmp.Or(cmp.Compare(a.Seen.Low, b.Seen.Low), cmp.Compare(a.Seen.High, b.Seen.High))
	})
	for _, o := range distinct {
		set := inverse.Turn(later, o.On())
		for _, level := range seenAt[o.Text] {
			set = set.Holding(later, level)
		}
		rb := ReadBack{Reading: o.Text, Level: num.Number(set.Estimate), Low: num.Number(set.Low), High: num.Number(set.High)}
		if set.Open != inverse.Closed {
			open := string(set.Open)
			rb.Open = &open
		}
		for _, p := range set.Parts {
			rb.Parts = append(rb.Parts, [2]num.Number{num.Number(p.Low), num.Number(p.High)})
		}
		st.finding.ReadBack = append(st.finding.ReadBack, rb)
	}
}
