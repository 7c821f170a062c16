package assess

import (
	"slices"

	"knownwater"
	"knownwater/science/note"
)

// fewestTwice is how many readings that differ from the others of their level have to stand an even number
// of times, with all else of the method, for a table to be asked about: each such count falls evenly
// by chance in at most half of all trials, all of them in one of 256.
const fewestTwice = 8

// askTwice asks whether a table was entered, or pasted, twice: every reading of the method stands there
// an even number of times, alike in everything. Limits would be narrower than what was read makes
// them, by √2. Levels of one answer each say nothing of it: steady hands read the same twice.
func (s *sight) askTwice() []Question {
	n, differ, places := 0, 0, []int{}
	for _, l := range s.levels {
		var texts []string
		for _, i := range l.rows {
			o := s.rows[i].o
			if o.Count%2 != 0 {
				return nil
			}
			n += o.Count
			if !slices.Contains(texts, o.Text) && len(texts) <= fewestTwice {
				texts = append(texts, o.Text)
			}
			places = append(places, i)
		}
		differ += len(texts) - 1
	}
	if differ < fewestTwice {
		return nil
	}
	return []Question{{
		Kind: QuestionTwice, Method: s.method.Name, At: placesOf(s.obs(places)),
		Says: note.New("ask-twice").Number("readings", float64(n)), matrix: s.matrix, mends: []mend{s.once()},
	}}
}

// once is the trial in which every reading of the method counts half as often.
func (s *sight) once() mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		for i := range t.Observations {
			o := &t.Observations[i]
			if o.Method == s.method.Name && o.Matrix == s.matrix && o.Count%2 == 0 {
				o.Count /= 2
				o.Also = o.Also[:min(len(o.Also), o.Count-1)]
			}
		}
		return t
	}
}
