package assess

import (
	"maps"
	"slices"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/record"
)

// oddLevels asks about a known that several methods read off in the same
// direction, each beyond its own doubt: then the known is the likelier culprit.
func oddLevels(studies []*study) (qs []doubt.Question) {
	inside := map[float64][]inner{}
	for _, st := range studies {
		if st.rec == nil || st.post == nil {
			continue
		}
		for i := 1; i < len(st.levels)-1; i++ {
			c := st.levels[i].value
			inside[c] = append(inside[c], inner{st, i})
		}
	}
	for _, c := range slices.Sorted(maps.Keys(inside)) {
		if q, odd := oddLevel(c, inside[c]); odd {
			qs = append(qs, q)
		}
	}
	return qs
}

// inner is a level of a study that has others on both sides.
type inner struct {
	st *study
	i  int
}

// oddLevel asks about one known. It looks no further once it cannot be odd any more: each
// look fits a response without the known.
func oddLevel(c float64, methods []inner) (q doubt.Question, odd bool) {
	up, down, all := 0, 0, 0
	var shift []float64
	var obs []knownwater.Observation
	for k, m := range methods {
		if max(up, down)+len(methods)-k < 2 || min(up, down) > 0 {
			return q, false
		}
		st := m.st
		t, ok := st.turnWithout(m.i)
		if !ok {
			continue
		}
		all++
		draws := make([]float64, 0, len(st.know.Draw))
		for _, d := range record.Thin(len(st.know.Draw)) {
			draws = append(draws, record.InvertOn(t.grid, t.mean, st.know.Draw[d][m.i])-c)
		}
		shift = append(shift, quantile(draws, 0.5))
		for _, o := range st.obs {
			if o.Level == c {
				obs = append(obs, o)
			}
		}
		low, high := quantile(draws, 0.005), quantile(draws, 0.995)
		if low > 0.03*c {
			up++
		}
		if high < -0.03*c {
			down++
		}
	}
	n := max(up, down)
	if n < 2 || min(up, down) > 0 || 2*n <= all {
		return q, false
	}
	return doubt.Question{
		Kind: doubt.OfLevel, At: doubt.PlacesOf(obs),
		Says:  note.New("ask-known").Number("level", c).Number("methods", float64(n), float64(all)).Number("as", c+quantile(shift, 0.5)),
		Mends: []doubt.Mend{withoutLevel(c)},
	}, true
}

// withoutLevel is the trial without one known.
func withoutLevel(c float64) doubt.Mend {
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
