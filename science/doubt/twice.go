package doubt

import (
	"slices"

	"knownwater"
	"knownwater/science/note"
)

// fewestTwice is how many readings that differ from the others of their level have to stand an even number
// of times, with all else of the method or of the table, for it to be asked about: each such count falls evenly
// by chance in at most half of all trials, all of them in one of 256.
const fewestTwice = 8

// evenly is how many readings of the method differ from the others of their level, where every reading stands an
// even number of times, alike in everything; not even where one does not.
func (s *Sight) evenly() (differ int, even bool) {
	texts := map[float64][]string{}
	for _, r := range s.rows {
		if r.o.Count%2 != 0 {
			return 0, false
		}
		if of := texts[r.o.Level]; len(of) <= fewestTwice && !slices.Contains(of, r.o.Text) {
			texts[r.o.Level] = append(of, r.o.Text)
		}
	}
	for _, of := range texts {
		differ += len(of) - 1
	}
	return differ, true
}

// tableTwice says whether all methods' readings stand an even number of times, and enough of them differ.
func tableTwice(all []*Sight) bool {
	sum := 0
	for _, s := range all {
		differ, even := s.evenly()
		if !even {
			return false
		}
		sum += differ
	}
	return sum >= fewestTwice
}

// askTwice asks whether a method's readings, or the whole table, were entered, or pasted, twice. Limits would be
// narrower than what was read makes them, by √2. Levels of one answer each say nothing of it by themselves: steady
// hands read the same twice.
func (s *Sight) askTwice() []Question {
	if s.table != nil { // once, by the first method
		if s.table[0] != s {
			return nil
		}
		return []Question{enteredTwice(s.table, "", "")}
	}
	if differ, even := s.evenly(); !even || differ < fewestTwice {
		return nil
	}
	return []Question{enteredTwice([]*Sight{s}, s.method.Name, s.matrix)}
}

func enteredTwice(of []*Sight, method, matrix string) Question {
	n := 0
	var rows []knownwater.Observation
	for _, s := range of {
		for _, r := range s.rows {
			n += r.o.Count
			rows = append(rows, r.o)
		}
	}
	return Question{Kind: OfTwice, Method: method, Matrix: matrix, At: PlacesOf(rows),
		Says: note.New("ask-twice").Number("readings", float64(n)), Mends: []Mend{once(of)}}
}

// once is the trial in which every reading of these methods counts half as often.
func once(of []*Sight) Mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		for i := range t.Observations {
			o := &t.Observations[i]
			if o.Count%2 == 0 && slices.ContainsFunc(of, func(s *Sight) bool { return o.Method == s.method.Name && o.Matrix == s.matrix }) {
				o.Count /= 2
				o.Also = o.Also[:min(len(o.Also), o.Count-1)]
			}
		}
		return t
	}
}
