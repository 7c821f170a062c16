package doubt

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// commonUnits are those that readings get taken in by mistake. A litre and a
// kilogram differ by too little to be seen in readings.
var commonUnits = []string{"mg/L", "ug/L", "umol/L", "mmol/L", "meq/L", "dKH"}

// leastFactor is what a factor has to be at least, either way, to be told from
// a method that reads low or high by itself.
const leastFactor = 1.6

// scalesBeside are the factors that other units and bases of the analyte bring:
// what a number on the trial's scale has to be multiplied by to stand on the
// other. Of an analyte that nobody named, those of all.
func scalesBeside(here unit.Scale) []explanation {
	analytes := []string{here.Analyte}
	if unit.Bases(here.Analyte) == nil {
		analytes = unit.Analytes()
	}
	var out []explanation
	for _, a := range analytes {
		own, err := unit.Parse(a, here.Unit, here.Basis)
		if err != nil {
			continue
		}
		for _, u := range commonUnits {
			for _, b := range unit.Bases(a) {
				other, err := unit.Parse(a, u, b)
				if err != nil {
					continue
				}
				if f, err := unit.Factor(own, other, unit.StandardSea); err == nil {
					out = addFactor(out, explanation{factor: f, scale: other})
				}
			}
		}
	}
	return out
}

// addFactor keeps an explanation unless its factor is no more than a bias, or
// there already: µmol/L are as many in every basis.
func addFactor(list []explanation, e explanation) []explanation {
	if math.Abs(math.Log(e.factor)) < math.Log(leastFactor) ||
		slices.ContainsFunc(list, func(o explanation) bool { return math.Abs(o.factor/e.factor-1) < 1e-6 && o.scale.Unit == e.scale.Unit }) {
		return list
	}
	return append(list, e)
}

// turned are explanations the other way round: the knowns are on that scale,
// and the readings on the trial's.
func turned(list []explanation) []explanation {
	out := slices.Clone(list)
	for _, e := range list {
		e.factor, e.knowns = 1/e.factor, true
		out = append(out, e)
	}
	return out
}

// dilutions are the factors by which a method's samples get diluted: by its
// sheet, or in this trial.
func (s *Sight) dilutions() []float64 {
	var ds []float64
	add := func(d float64) {
		if d > 0 && d != 1 && !slices.Contains(ds, d) {
			ds = append(ds, d)
		}
	}
	add(s.method.DilutionFactor)
	for _, r := range s.rows {
		add(r.o.Dilution)
	}
	slices.Sort(ds)
	return ds
}

// ways are all explanations of a method's readings: every unit and basis,
// every dilution forgotten or counted once too often, and every pair of both.
func (s *Sight) ways() []explanation {
	scales := turned(scalesBeside(s.scale))
	out := slices.Clone(scales)
	for _, d := range s.dilutions() {
		for _, e := range []explanation{{factor: 1 / d, dilution: d, forgot: true}, {factor: d, dilution: d}} {
			out = addFactor(out, e)
			for _, sc := range scales {
				both := sc
				both.factor, both.dilution, both.forgot = sc.factor*e.factor, e.dilution, e.forgot
				out = addFactor(out, both)
			}
		}
	}
	return out
}

// How far a method may itself read off and still be recognised (e^0.3: 26 %
// low, 35 % high), and what counts against each further thing that an
// explanation takes for granted.
const (
	ownBias   = 0.30
	perAssume = 0.15
)

// explain lists the ways that would explain readings which are ratio times
// what they should be, nearest first; the plainer one of two that lie as near.
func explain(ratio float64, ways []explanation) []explanation {
	cost := func(e explanation) float64 {
		c := math.Abs(math.Log(ratio / e.factor))
		if e.scale != (unit.Scale{}) && e.dilution != 0 {
			c += perAssume
		}
		if e.knowns {
			c += perAssume
		}
		if e.dilution != 0 && !e.forgot {
			c += perAssume
		}
		return c
	}
	var out []explanation
	for _, e := range ways {
		if math.Abs(math.Log(ratio/e.factor)) <= ownBias {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b explanation) int { return cmp.Compare(cost(a), cost(b)) })
	return out[:min(len(out), mostExplanations)]
}

// mostExplanations bounds what one question lists.
const mostExplanations = 6

// honestLow and honestHigh are slopes that methods have without anybody's
// mistake: programs made for other water, reagents that have aged (common
// practice, no source).
const (
	honestLow, honestHigh = 0.5, 1.5
	// priorScatter is the relative scatter of level centres about a line that is
	// expected beforehand, worth priorDF degrees of freedom.
	priorScatter, priorDF = 0.10, 4
	zHonest               = 2.0
)

// fewLevels is where a line needs the help of a blank that nobody tested.
const fewLevels = 4

// slope is the method's slope as a whole with its relative standard error, from
// the centres of the levels: the robust line, with nothing reading nothing
// where fewer than four levels and no blank were tried. The scatter s about it
// (relative, by median deviation, joined with the prior) stands over the
// weighted spread of the levels: se² = s²/Σ w(c − c̄)², w = 1/(a + bc)².
func (s *Sight) slope() (b, se float64, ok bool) {
	levels := s.centres(-1)
	if n := len(levels); n == 0 {
		return 0, 0, false
	} else if n < fewLevels && levels[0].c > 0 {
		levels = append([]seenLevel{{}}, levels...)
	}
	l, ok := theil(levels)
	if !ok {
		return 0, 0, false
	}
	var dev []float64
	sw, sc, scc := 0.0, 0.0, 0.0
	pad := levels[len(levels)-1].c / 10
	for _, lv := range levels {
		size := math.Hypot(l.at(lv.c), l.b*pad)
		dev = append(dev, math.Abs(lv.centre-l.at(lv.c))/size)
		w := 1 / (size * size)
		sw, sc, scc = sw+w, sc+w*lv.c, scc+w*lv.c*lv.c
	}
	df := math.Max(0, float64(len(dev)-2))
	mad := 1.483 * median(dev)
	sd := math.Sqrt((df*mad*mad + priorDF*priorScatter*priorScatter) / (df + priorDF))
	return l.b, sd / math.Sqrt(scc-sc*sc/sw) / l.b, true
}

// askAll asks whether a unit, a basis or a dilution explains the slope of all
// readings together: only where the slope lies beyond what methods have by
// themselves by two of its standard errors.
func (s *Sight) askAll() (Question, bool) {
	if s.signal() {
		return Question{}, false
	}
	b, se, ok := s.slope()
	if !ok || b*math.Exp(zHonest*se) >= honestLow && b*math.Exp(-zHonest*se) <= honestHigh {
		return Question{}, false
	}
	would := explain(b, s.ways())
	if len(would) == 0 {
		return Question{}, false
	}
	var obs []knownwater.Observation
	for _, r := range s.rows {
		if r.o.Level > 0 {
			obs = append(obs, r.o)
		}
	}
	return Question{
		Kind: would[0].kind(s.scale), Method: s.method.Name, At: PlacesOf(obs),
		Says:   note.New("ask-all").Number("ratio", b).Since(notesOf(would)...),
		Matrix: s.matrix, Mends: s.eachWay(would, nil),
	}, true
}

func notesOf(would []explanation) []note.Note {
	out := make([]note.Note, len(would))
	for i, e := range would {
		out[i] = e.note()
	}
	return out
}

// eachWay is the trial put right by each explanation.
func (s *Sight) eachWay(would []explanation, rows []int) (out []Mend) {
	for _, e := range would {
		out = append(out, s.undo(e, rows))
	}
	return out
}

// undo takes an explanation back: from the readings, or from the knowns where it is
// they that stand on another scale.
func (s *Sight) undo(e explanation, rows []int) Mend {
	if !e.knowns {
		return s.undilute(e, rows)
	}
	readings := 1.0
	switch {
	case e.dilution == 0:
	case e.forgot:
		readings = 1 / e.dilution
	default:
		readings = e.dilution
	}
	levels, rest := e.factor/readings, s.divide(readings, rows)
	listed := s.listed(rows)
	return func(t knownwater.Trial) knownwater.Trial {
		t = rest(t)
		for i := range t.Observations { // rest made them anew
			if o := &t.Observations[i]; listed(*o) {
				o.Level, o.ULevel, o.UShared, o.UBackground = o.Level*levels, o.ULevel*levels, o.UShared*levels, o.UBackground*levels
			}
		}
		return t
	}
}

// listed says whether an observation is one of the rows; with none, of the method.
func (s *Sight) listed(rows []int) func(knownwater.Observation) bool {
	of := map[which]bool{}
	for _, i := range rows {
		of[whichOf(s.rows[i].o)] = true
	}
	return func(o knownwater.Observation) bool { return rows == nil && s.has(o) || of[whichOf(o)] }
}

// divide is the trial with readings of the method divided by a factor: all of
// them, with the method's own scale, or the listed rows.
func (s *Sight) divide(factor float64, rows []int) Mend {
	listed := s.listed(rows)
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		for i := range t.Observations {
			o := &t.Observations[i]
			if listed(*o) {
				o.Seen = o.Seen.Scale(1 / factor)
			}
		}
		if rows == nil {
			t.Methods = slices.Clone(t.Methods)
			for i, m := range t.Methods {
				if m.Name == s.method.Name {
					t.Methods[i] = reading.OnScale(m, 1/factor)
				}
			}
		}
		return t
	}
}

func (s *Sight) has(o knownwater.Observation) bool {
	return o.Method == s.method.Name && o.Matrix == s.matrix
}
