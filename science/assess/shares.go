package assess

import (
	"slices"

	"knownwater/science/note"
	"knownwater/science/reading"
)

// otherShares are the sharings of a chart's gaps between "at" and "between"
// under which a verdict has to stand as well.
var otherShares = []float64{0.15, 0.5}

// askShares judges a chart's needs again with other sharings, and says where a
// verdict hangs on the convention.
func (st *study) askShares() {
	if !reading.Of(st.method.Kind).Has("at_share") || len(st.needs) == 0 || st.post == nil || st.inner {
		return
	}
	for _, share := range otherShares {
		if share == reading.AtShare(st.method) {
			continue
		}
		other, ok := st.shared(share)
		if !ok {
			st.note(note.New("share-not-tried").Number("share", share))
			continue
		}
		for i := range st.finding.Needs {
			mine, theirs := &st.finding.Needs[i], other.finding.Needs[i]
			if mine.Verdict != theirs.Verdict {
				mine.AtShare = append(mine.AtShare, note.New("share-decides").Number("share", share).
					Number("stated", reading.AtShare(st.method)).Name("verdict", theirs.Verdict))
			}
		}
	}
}

// shared is the study with every reading understood under another sharing.
func (st *study) shared(share float64) (*study, bool) {
	s := st.strand
	s.method.AtShare = share
	s.obs = slices.Clone(st.obs)
	for i := range s.obs {
		on, err := reading.Understand(s.obs[i].Text, s.method)
		if err != nil {
			return nil, false
		}
		s.obs[i].Seen = on
	}
	o := st.opt
	o.Draws = 1000
	other := &study{strand: s, design: newDesign(s), opt: o, task: st.task, needs: st.needs, inner: true}
	other.start()
	other.fit()
	other.respond()
	if other.rec == nil {
		return nil, false
	}
	other.needFindings()
	return other, true
}
