package plan

import (
	"math"
	"math/rand/v2"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
)

// DefaultRuns is how many trials a forecast simulates.
const DefaultRuns = 100

// Outlook is what a plan will be able to decide, from simulated trials.
type Outlook struct {
	Runs    int // simulated
	Wanted  int // asked for; more than Runs where it was stopped
	Methods []MethodOutlook
	Notes   []note.Note
}

// MethodOutlook is the outlook for one method (and dilution and matrix).
type MethodOutlook struct {
	Method       string
	Dilution     float64
	Matrix       string
	Readings     int
	SmallestBias []BiasSeen
	SpreadWithin float64 // the spread will be known within ×/÷ this (95 %), median over runs
	Needs        []NeedOutlook
}

// BiasSeen is the smallest bias at a level that the plan would show: half the
// width of the bias's 95 % interval, median over runs.
type BiasSeen struct {
	Level float64
	Bias  float64 // not a number where no interval could be computed
}

// NeedOutlook is the chance of each verdict on a need.
type NeedOutlook struct {
	Need      string
	Fit       float64 // "fit" and "fit when corrected" together
	NotFit    float64
	Undecided float64
	Error     float64 // Monte Carlo standard error of Undecided: √(p(1−p)/runs)
}

// Judge turns a simulated trial into findings; it is assess.Run with few draws.
type Judge func(t knownwater.Trial, seed uint64) assess.Findings

// Forecast simulates runs trials, lets judge assess each, and sums up what they
// could decide. Run i depends on seed and i alone. It ends early, with what it
// has, when stop says so.
func Forecast(t Trial, runs int, seed uint64, judge Judge, stop func() bool) Outlook {
	sums := tally{of: map[strandKey]*strandTally{}}
	done := 0
	for ; done < runs && !stop(); done++ {
		rng := rand.New(rand.NewPCG(seed, uint64(done)))
		f := judge(t.simulate(rng), rng.Uint64()>>11)
		if stop() { // a judge that was stopped midway has not said everything
			break
		}
		sums.add(f)
	}
	out := sums.outlook(done)
	out.Runs, out.Wanted = done, runs
	if done < runs {
		out.Notes = append(out.Notes, note.New("forecast-stopped").Number("done", float64(done)).Number("wanted", float64(runs)))
	}
	for i, g := range t.Guesses {
		n := note.New("spread-guessed").Name("method", t.Methods[i].Name)
		if g.From != "" {
			n = note.New("spread-from").Name("method", t.Methods[i].Name).Name("from", g.From)
		}
		out.Notes = append(out.Notes, n)
	}
	return out
}

// strandKey tells the entries of the findings apart.
type strandKey struct {
	method   string
	dilution float64
	matrix   string
}

// tally gathers what the simulated findings say.
type tally struct {
	of    map[strandKey]*strandTally
	order []strandKey
}

type strandTally struct {
	readings int
	levels   []float64
	bias     map[float64][]float64
	spread   []float64
	needs    []string
	verdicts map[string]map[string]int
}

func (s *tally) add(f assess.Findings) {
	for _, m := range f.Methods {
		k := strandKey{m.Method, m.Dilution, m.Matrix}
		t := s.of[k]
		if t == nil {
			t = &strandTally{bias: map[float64][]float64{}, verdicts: map[string]map[string]int{}}
			s.of[k] = t
			s.order = append(s.order, k)
		}
		t.add(m)
	}
}

func (t *strandTally) add(m assess.MethodFinding) {
	t.readings = m.N
	for _, l := range m.Levels {
		if _, seen := t.bias[l.Level]; !seen {
			t.levels = append(t.levels, l.Level)
		}
		t.bias[l.Level] = append(t.bias[l.Level], halfWidth(l))
	}
	t.spread = append(t.spread, within(m))
	for _, n := range m.Needs {
		if t.verdicts[n.Need] == nil {
			t.verdicts[n.Need] = map[string]int{}
			t.needs = append(t.needs, n.Need)
		}
		t.verdicts[n.Need][n.Verdict]++
	}
}

func halfWidth(l assess.LevelFinding) float64 {
	if !l.BiasLow.OK() || !l.BiasHigh.OK() {
		return math.NaN()
	}
	return float64(l.BiasHigh-l.BiasLow) / 2
}

// within is the factor √(high/low) of the 95 % interval of the spread: of the
// repeatability, else the median over the levels' own.
func within(m assess.MethodFinding) float64 {
	if f := factor(m.Spread.RepeatabilityLow, m.Spread.RepeatabilityHigh); !math.IsNaN(f) {
		return f
	}
	var all []float64
	for _, l := range m.Levels {
		all = append(all, factor(l.SDLow, l.SDHigh))
	}
	return median(all)
}

func factor(low, high assess.Number) float64 {
	if !low.OK() || !high.OK() || low <= 0 {
		return math.NaN()
	}
	return math.Sqrt(float64(high / low))
}

func (s *tally) outlook(runs int) Outlook {
	var out Outlook
	for _, k := range s.order {
		t := s.of[k]
		m := MethodOutlook{Method: k.method, Dilution: k.dilution, Matrix: k.matrix, Readings: t.readings, SpreadWithin: median(t.spread)}
		slices.Sort(t.levels)
		for _, l := range t.levels {
			m.SmallestBias = append(m.SmallestBias, BiasSeen{l, median(t.bias[l])})
		}
		for _, n := range t.needs {
			m.Needs = append(m.Needs, needOutlook(n, t.verdicts[n], runs))
		}
		out.Methods = append(out.Methods, m)
	}
	return out
}

func needOutlook(need string, verdicts map[string]int, runs int) NeedOutlook {
	share := func(words ...string) float64 {
		n := 0
		for _, w := range words {
			n += verdicts[w]
		}
		return float64(n) / float64(runs)
	}
	o := NeedOutlook{Need: need, Fit: share(assess.Fit, assess.FitWhenCorrected), NotFit: share(assess.NotFit)}
	o.Undecided = 1 - o.Fit - o.NotFit // what could not be computed is undecided, too
	o.Error = math.Sqrt(max(0, o.Undecided*(1-o.Undecided)) / float64(runs))
	return o
}

// median leaves out what is not a number; it is not a number where more than
// half are not, because then the typical trial would not show it.
func median(all []float64) float64 {
	var ok []float64
	for _, v := range all {
		if !math.IsNaN(v) {
			ok = append(ok, v)
		}
	}
	if len(ok) == 0 || 2*len(ok) < len(all) {
		return math.NaN()
	}
	slices.Sort(ok)
	if n := len(ok); n%2 == 0 {
		return (ok[n/2-1] + ok[n/2]) / 2
	}
	return ok[len(ok)/2]
}
