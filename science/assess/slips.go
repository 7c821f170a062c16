package assess

import (
	"math"
	"sort"

	"knownwater/science/note"
	"knownwater/science/unit"
)

// Slips are asked about, never corrected. The questions come in this order:
// another basis, a dilution forgotten or applied twice, two vials swapped.

// near says whether a ratio is as good as a factor: within 12 %, about the
// scatter of a careful colour chart.
func near(ratio, factor float64) bool { return math.Abs(math.Log(ratio/factor)) < 0.12 }

func (st *study) slips() {
	if st.rec == nil {
		return
	}
	whole, parts := st.recoveries()
	st.askBasis(whole, parts)
	st.askDilution(whole, parts)
	st.askSwap()
}

// recoveries are the slope as a share of 1 and each level's reading as a share
// of what the other levels let expect (the response fitted without it).
func (st *study) recoveries() (whole float64, parts map[int]float64) {
	whole, parts = float64(st.finding.Line.Slope), map[int]float64{}
	for i, l := range st.levels {
		if i == 0 && l.value == 0 || l.value == 0 || len(st.levels) < 4 {
			continue
		}
		t, ok := st.turnWithout(i)
		if !ok {
			continue
		}
		if expected := t.at(l.value); expected > 0 && st.know.Mean[i] > 0 {
			parts[i] = st.know.Mean[i] / expected
		}
	}
	return whole, parts
}

// otherBases are the factors that counting on another basis brings, by name.
func (st *study) otherBases() map[string]float64 {
	out := map[string]float64{}
	here := st.scale
	for _, b := range unit.Bases(here.Analyte) {
		other, err := unit.Parse(here.Analyte, here.Unit, b)
		if err != nil || other.Basis == here.Basis {
			continue
		}
		if f, err := unit.Factor(here, other, unit.StandardSea); err == nil && math.Abs(math.Log(f)) > 0.3 {
			out[b] = f
		}
	}
	return out
}

func (st *study) askBasis(whole float64, parts map[int]float64) {
	for name, f := range st.otherBases() {
		for _, factor := range []float64{f, 1 / f} {
			bases := []string{name, st.scale.Basis} // of the readings, of the levels
			if factor == 1/f {
				bases[0], bases[1] = bases[1], bases[0]
			}
			if near(whole, factor) {
				st.slip("basis", note.New("ask-basis").Name("basis", bases...), note.New("all-read-share").Number("share", whole).Number("factor", factor))
				return
			}
			for _, i := range sortedKeys(parts) {
				if near(parts[i], factor) && st.standsOut(i) {
					st.slip("basis", note.New("ask-level-basis").Number("level", st.levels[i].value).Name("basis", bases...),
						note.New("level-reads-share").Number("share", parts[i]).Number("factor", factor))
				}
			}
		}
	}
}

func (st *study) askDilution(whole float64, parts map[int]float64) {
	factor, stated := st.dilution, true
	if factor == 1 {
		factor, stated = st.method.DilutionFactor, false
	}
	if factor == 0 || factor == 1 {
		return
	}
	if q := wholeDilution(whole, factor, stated); q.Code != "" {
		st.slip("dilution", q, note.New("all-read-share").Number("share", whole))
		return
	}
	for _, i := range sortedKeys(parts) {
		for _, f := range []float64{1 / factor, factor} {
			if near(parts[i], f) && st.standsOut(i) {
				st.slip("dilution", note.New("ask-level-dilution").Number("factor", factor).Number("level", st.levels[i].value),
					note.New("level-reads-share").Number("share", parts[i]))
			}
		}
	}
}

// wholeDilution is the question where all levels are off by the factor: a
// reading is multiplied by the dilution that its row states.
func wholeDilution(whole, factor float64, stated bool) note.Note {
	switch {
	case near(whole, factor) && stated:
		return note.New("ask-multiplied-twice").Number("factor", factor)
	case near(whole, 1/factor) && stated:
		return note.New("ask-diluted-twice").Number("factor", factor)
	case near(whole, factor):
		return note.New("ask-multiplied-undiluted").Number("factor", factor)
	case near(whole, 1/factor):
		return note.New("ask-not-multiplied").Number("factor", factor)
	}
	return note.Note{}
}

// standsOut says whether a level's reading is outside what a single reading
// there could well be, by the response fitted without it.
func (st *study) standsOut(i int) bool {
	t, ok := st.turnWithout(i)
	if !ok {
		return false
	}
	expected := t.at(st.levels[i].value)
	return math.Abs(st.know.Mean[i]-expected) > 3*st.typicalSD(expected)
}

func (st *study) slip(kind string, question, evidence note.Note) {
	st.finding.Slips = append(st.finding.Slips, Slip{Kind: kind, Method: st.name(), Question: question, Evidence: evidence})
}

func sortedKeys(m map[int]float64) []int {
	keys := make([]int, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Ints(keys)
	return keys
}
