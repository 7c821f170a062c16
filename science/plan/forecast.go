package plan

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/num"
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

// NeedOutlook counts the verdicts on a need in the trials that were simulated.
type NeedOutlook struct {
	Need   string
	Runs   int // that judged it
	Fit    int // "fit" and "fit when corrected" together
	NotFit int
	// Low and High are the 95 % limits of the chance that a trial decides it, from
	// what so few runs show: num.ClopperPearson.
	Low, High float64
}

// Decided is in how many runs it was one or the other.
func (n NeedOutlook) Decided() int { return n.Fit + n.NotFit }

// Judge turns a simulated trial into findings: it is assess.Run in brief. It may be
// called from two goroutines at once, and gives up when stop says so.
type Judge func(t knownwater.Trial, seed uint64, stop func() bool) assess.Findings

// Forecast simulates trials, lets a judge assess each, and sums up what they could
// decide. Run i depends on seed and i alone. It can be stopped, and go on.
type Forecast struct {
	trial  SimTrial
	wanted int
	seed   uint64
	judge  Judge
	sums   tally
	done   int
}

// NewForecast is a forecast of so many runs, none of which is made yet.
func NewForecast(t SimTrial, runs int, seed uint64, judge Judge) *Forecast {
	return &Forecast{trial: t, wanted: runs, seed: seed, judge: judge, sums: tally{of: map[strandKey]*strandTally{}}}
}

// atOnce is how many runs are simulated at the same time.
const atOnce = 2

// Whole says whether every run is made.
func (f *Forecast) Whole() bool { return f.done >= f.wanted }

// Run goes on until every run is made or stop says so, and sums up those that were
// made. A run that was stopped midway was not. progress, if given, is told how many are.
func (f *Forecast) Run(stop func() bool, progress func(done, all int)) Outlook {
	for !f.Whole() && !stop() {
		if progress != nil {
			progress(f.done, f.wanted)
		}
		n := min(atOnce, f.wanted-f.done)
		found := make([]assess.Findings, n)
		var wg sync.WaitGroup
		for i := range n {
			wg.Go(func() {
				rng := rand.New(rand.NewPCG(f.seed, uint64(f.done+i)))
				found[i] = f.judge(f.trial.simulate(rng), rng.Uint64()>>11, stop)
			})
		}
		wg.Wait()
		if stop() { // a judge that was stopped midway has not said everything
			break
		}
		for _, one := range found {
			f.sums.add(one)
			f.done++
		}
	}
	out := f.sums.outlook()
	out.Runs, out.Wanted = f.done, f.wanted
	if !f.Whole() {
		out.Notes = append(out.Notes, note.New("forecast-stopped").Number("done", float64(f.done)).Number("wanted", float64(f.wanted)))
	}
	for i, g := range f.trial.Guesses {
		n := note.New("spread-guessed").Name("method", f.trial.Methods[i].Name)
		switch g.From {
		case "":
		case byKind:
			n = note.New("spread-by-kind").Name("method", f.trial.Methods[i].Name)
		default:
			n = note.New("spread-from").Name("method", f.trial.Methods[i].Name).Name("from", g.From)
		}
		out.Notes = append(out.Notes, n)
		if lots := f.trial.lots(i); lots > 1 && lots < assess.FewLots {
			out.Notes = append(out.Notes, note.New("forecast-lots").Name("method", f.trial.Methods[i].Name).Number("lots", float64(lots)))
		}
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
		m.Needs = asUsed(m, f.Procedures)
		t.add(m)
	}
}

// asUsed are the verdicts on a method; where its sheet says to dilute above a reading,
// those on the whole procedure, told with the first of its dilutions.
func asUsed(m assess.MethodFinding, procedures []assess.Procedure) []assess.NeedFinding {
	for _, p := range procedures {
		if p.Method != m.Method || p.Matrix != m.Matrix || len(p.Branches) < 2 {
			continue
		}
		for i, b := range p.Branches {
			if b.Dilution == m.Dilution && i == 0 {
				return p.Needs
			} else if b.Dilution == m.Dilution {
				return nil
			}
		}
	}
	return m.Needs
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

func factor(low, high num.Number) float64 {
	if !low.OK() || !high.OK() || low <= 0 {
		return math.NaN()
	}
	return math.Sqrt(float64(high / low))
}

func (s *tally) outlook() Outlook {
	var out Outlook
	for _, k := range s.order {
		t := s.of[k]
		m := MethodOutlook{Method: k.method, Dilution: k.dilution, Matrix: k.matrix, Readings: t.readings, SpreadWithin: median(t.spread)}
		slices.Sort(t.levels)
		for _, l := range t.levels {
			m.SmallestBias = append(m.SmallestBias, BiasSeen{l, median(t.bias[l])})
		}
		for _, n := range t.needs {
			m.Needs = append(m.Needs, needOutlook(n, t.verdicts[n]))
		}
		out.Methods = append(out.Methods, m)
	}
	return out
}

func needOutlook(need string, verdicts map[string]int) NeedOutlook {
	o := NeedOutlook{Need: need, Fit: verdicts[assess.Fit] + verdicts[assess.FitWhenCorrected], NotFit: verdicts[assess.NotFit]}
	for _, n := range verdicts { // what could not be computed is undecided, too
		o.Runs += n
	}
	o.Low, o.High = num.ClopperPearson(o.Decided(), o.Runs, 0.05)
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
