package assess

import (
	"slices"

	"knownwater/science/posterior"
)

// lotGroup is what one lot showed at a level by a technique: indices of the trial's
// levels and techniques, and of the lots in order of their names.
type lotGroup struct{ level, technique, lot int }

// lotMeans are draws of each lot's mean at every level and technique, all together: the
// trial's model with each lot's readings as groups of their own, free of each other, and
// readers and sessions shared. A reader who reads high does so with every lot, which lots
// fitted one by one cannot know: in a design where each reader had each lot in each session a
// ratio then is 3.4 times as wide as that of lme4 (testdata/crossed.csv). nil where nothing
// but the lot is shared by readings of several groups, and lots fitted one by one say it all.
func (st *study) lotMeans() map[lotGroup][]float64 {
	lot, told := st.factor["lot"]
	_, readers := st.factor["reader"]
	_, sessions := st.factor["session"]
	if !told || !readers && !sessions {
		return nil
	}
	d := st.data
	lots := len(st.members["lot"])
	d.Groups, d.Level, d.Technique, d.OneVial, d.Cells, d.Factors = 0, nil, nil, nil, nil, nil
	for f, fac := range st.data.Factors {
		if fac.Nested { // a vial that met two lots counts as two
			fac.Members *= lots + 1
		}
		if f != lot {
			d.Factors = append(d.Factors, fac)
		}
	}
	index := map[lotGroup]int{}
	for _, c := range st.data.Cells {
		gr := st.groups[c.Group]
		at := lotGroup{gr.level, gr.technique, c.Member[lot]} // None: readings of no lot tell of readers all the same
		g, known := index[at]
		if !known {
			g = d.Groups
			index[at] = g
			d.Groups++
			d.Level, d.Technique = append(d.Level, st.data.Level[c.Group]), append(d.Technique, gr.technique)
			d.OneVial = append(d.OneVial, st.oneVialOf(at))
		}
		cell := posterior.Cell{Group: g, Seen: c.Seen, Count: c.Count}
		for f, m := range c.Member {
			if f == lot {
				continue
			}
			if m != posterior.None && st.data.Factors[f].Nested {
				m = m*(lots+1) + at.lot + 1
			}
			cell.Member = append(cell.Member, m)
		}
		d.Cells = append(d.Cells, cell)
	}
	post, err := st.opt.fit(d)
	if err != nil {
		return nil
	}
	means := map[lotGroup][]float64{}
	for at, g := range index {
		means[at] = post.Wide.Mean[g]
	}
	return means
}

// oneVialOf says whether one lot's readings of a group came from one vial, where no level
// shows how vials differ.
func (st *study) oneVialOf(at lotGroup) bool {
	if _, told := st.factor["vial"]; told || at.lot == posterior.None {
		return false
	}
	own := st.byLot[at.lot]
	return own.data.OneVial[own.at[[2]int{own.levelAt(st.levels[at.level].value), slices.Index(own.techniques, st.techniques[at.technique])}]]
}
