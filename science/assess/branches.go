package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
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
				n := joinAt(a, b, ia, ib)
				findings[i].Notes = append(findings[i].Notes, n)
				findings[j].Notes = append(findings[j].Notes, n)
			}
		}
	}
}

// sheetNotFollowed says of an undiluted method whose sheet has samples diluted above a reading that
// none was, where a known or a need reaches that far: as its sheet says it was not tried there.
func sheetNotFollowed(studies []*study, findings []MethodFinding) {
	for i, st := range studies {
		m := st.method
		if st.dilution != 1 || !(m.DilutionOver > 0) || m.DilutionFactor == 1 || !st.reaches(m.DilutionOver) {
			continue
		}
		tried := slices.ContainsFunc(studies, func(o *study) bool {
			return o.method.Name == m.Name && o.matrix == st.matrix && o.dilution == m.DilutionFactor
		})
		if !tried {
			findings[i].Notes = append(findings[i].Notes, note.New("never-diluted").Number("over", m.DilutionOver).Number("factor", m.DilutionFactor))
		}
	}
}

// NeverDiluted is the note of a method whose sheet has samples diluted, of which none was.
func (m MethodFinding) NeverDiluted() (n note.Note, left bool) {
	i := slices.IndexFunc(m.Notes, func(n note.Note) bool { return n.Code == "never-diluted" })
	if i < 0 {
		return n, false
	}
	return m.Notes[i], true
}

// reaches says whether a known or a need lies above c.
func (st *study) reaches(c float64) bool {
	if st.top() > c {
		return true
	}
	return slices.ContainsFunc(st.needs, func(n knownwater.Need) bool { return n.High > c })
}

// joinAt compares two branches at a level that both were tried at.
func joinAt(a, b *study, ia, ib int) note.Note {
	ma, mb := a.centreAt(ia), b.centreAt(ib)
	says := func(n note.Note, ua, ub float64) note.Note {
		return n.Number("level", a.levels[ia].value).Number("dilution", a.dilution, b.dilution).Number("reads", ma, mb).Number("u", ua, ub)
	}
	if a.post == nil || b.post == nil {
		return says(note.New("branches-read-once").Number("apart", math.Abs(mb/ma-1)), 0, 0)
	}
	da, db := a.post.Wide.Mean[a.groupAt(ia)], b.post.Wide.Mean[b.groupAt(ib)]
	shift := make([]float64, min(len(da), len(db)))
	for k, at := range orderOf(len(shift), 9) { // the fits are independent
		shift[k] = db[at]/da[k] - 1
	}
	low, high := quantile(shift, 0.025), quantile(shift, 0.975)
	n := note.New("branches-may-agree")
	if low > 0 || high < 0 {
		n = note.New("branches-disagree")
	}
	half := func(draws []float64) float64 { return (quantile(draws, 0.975) - quantile(draws, 0.025)) / 4 }
	return says(n.Number("shift", quantile(shift, 0.5), low, high), half(da), half(db))
}

func (st *study) centreAt(i int) float64 {
	if len(st.know.Mean) > i {
		return st.know.Mean[i]
	}
	return middle(st.groups[st.groupAt(i)].interval)
}
