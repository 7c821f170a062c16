package assess

import (
	"sort"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/record"
)

// oddLevels asks about a known that several methods read off in the same
// direction, each beyond its own doubt: then the known is the likelier culprit.
func oddLevels(studies []*study) []Question {
	type vote struct {
		up, down, all int
		shift         []float64
		obs           []knownwater.Observation
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
			for _, o := range st.obs {
				if o.Level == c {
					v.obs = append(v.obs, o)
				}
			}
			if low > 0.03*c {
				v.up++
			}
			if high < -0.03*c {
				v.down++
			}
		}
	}
	var qs []Question
	levels := make([]float64, 0, len(votes))
	for c := range votes {
		levels = append(levels, c)
	}
	sort.Float64s(levels)
	for _, c := range levels {
		v := votes[c]
		if n := max(v.up, v.down); n >= 2 && min(v.up, v.down) == 0 && 2*n > v.all {
			qs = append(qs, Question{
				Kind: QuestionLevel, At: placesOf(v.obs),
				Says:  note.New("ask-known").Number("level", c).Number("methods", float64(n), float64(v.all)).Number("as", c+quantile(v.shift, 0.5)),
				mends: []mend{withoutLevel(c)},
			})
		}
	}
	return qs
}

// withoutLevel is the trial without one known.
func withoutLevel(c float64) mend {
	return func(t knownwater.Trial) knownwater.Trial {
		var kept []knownwater.Observation
		for _, o := range t.Observations {
			if o.Level != c {
				kept = append(kept, o)
			}
		}
		t.Observations = kept
		return t
	}
}
