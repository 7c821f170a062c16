package assess

import (
	"sort"

	"knownwater/science/note"
	"knownwater/science/record"
)

// oddLevels asks about a known that several methods read off in the same
// direction, each beyond its own doubt: then the known is the likelier culprit.
func oddLevels(studies []*study) []Slip {
	type vote struct {
		up, down, all int
		shift         []float64
	}
	votes := map[float64]*vote{}
	for _, st := range studies {
		if st.rec == nil || st.post == nil {
			continue
		}
		for i := 1; i < len(st.levels)-1; i++ {
			t, ok := st.turnWithout(i)
			if !ok {
				continue
			}
			c := st.levels[i].value
			if votes[c] == nil {
				votes[c] = &vote{}
			}
			v := votes[c]
			v.all++
			draws := make([]float64, 0, len(st.know.Draw))
			for _, d := range record.Thin(len(st.know.Draw)) {
				draws = append(draws, record.InvertOn(t.grid, t.mean, st.know.Draw[d][i])-c)
			}
			low, high := quantile(draws, 0.005), quantile(draws, 0.995)
			v.shift = append(v.shift, quantile(draws, 0.5))
			if low > 0.03*c {
				v.up++
			}
			if high < -0.03*c {
				v.down++
			}
		}
	}
	var slips []Slip
	levels := make([]float64, 0, len(votes))
	for c := range votes {
		levels = append(levels, c)
	}
	sort.Float64s(levels)
	for _, c := range levels {
		v := votes[c]
		if n := max(v.up, v.down); n >= 2 && min(v.up, v.down) == 0 && 2*n > v.all {
			slips = append(slips, Slip{Kind: "level",
				Question: note.New("ask-known").Number("level", c),
				Evidence: note.New("known-read-off").Number("methods", float64(n), float64(v.all)).Number("as", c+quantile(v.shift, 0.5))})
		}
	}
	return slips
}
