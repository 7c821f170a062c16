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
	"knownwater/science/reading"
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

// BiasSeen is the smallest bias at a level that the plan would show, either way, in shown of all trials.
//
// A bias shows where its 95 % interval leaves out nothing. One that is larger by d moves that interval by d,
// so a bias b shows where it is more than the interval's lower end lies below the bias that the guess has: the quantile
// of these distances that shown of the runs keep to; likewise above, and the larger of both. An end that lies at
// nothing, below which no mean lies, is no end: there the other side is taken, or what the next level shows if that is less.
type BiasSeen struct {
	Level float64
	Bias  float64 // not a number where too few runs gave an interval
}

// shown is the share of trials in which what is named shows, that of every promise here.
const shown = 0.8

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
	return &Forecast{trial: t, wanted: runs, seed: seed, judge: judge, sums: tally{guess: t.guess, of: map[strandKey]*strandTally{}}}
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
	guess func(k strandKey, level float64) guessed
	of    map[strandKey]*strandTally
	order []strandKey
}

// guessed is the bias that a method is guessed to have at a level, and how wide an answer it shows there.
type guessed struct{ bias, width float64 }

func (t SimTrial) guess(k strandKey, level float64) (g guessed) {
	for i, m := range t.Methods {
		if m.Name != k.method {
			continue
		}
		mean := t.Guesses[i].mean(level / k.dilution)
		g.bias = k.dilution*mean - level
		if seen, err := reading.Understand(reading.Show(mean, m), m); err == nil && !math.IsInf(seen.Width(), 0) {
			g.width = k.dilution * seen.Width()
		}
	}
	return g
}

type strandTally struct {
	readings int
	levels   []float64
	below    map[float64][]float64 // how far ends of the bias's interval lie from the guess's bias
	above    map[float64][]float64
	ended    map[float64]bool // in a run the mean's interval ended at nothing
	spread   []float64
	needs    []string
	verdicts map[string]map[string]int
}

func (s *tally) add(f assess.Findings) {
	for _, m := range f.Methods {
		k := strandKey{m.Method, m.Dilution, m.Matrix}
		t := s.of[k]
		if t == nil {
			t = &strandTally{below: map[float64][]float64{}, above: map[float64][]float64{}, ended: map[float64]bool{}, verdicts: map[string]map[string]int{}}
			s.of[k] = t
			s.order = append(s.order, k)
		}
		m.Needs = asUsed(m, f.Procedures)
		t.add(m, func(level float64) guessed { return s.guess(k, level) })
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

func (t *strandTally) add(m assess.MethodFinding, guess func(level float64) guessed) {
	t.readings = m.N
	for _, l := range m.Levels {
		if _, seen := t.below[l.Level]; !seen {
			t.levels = append(t.levels, l.Level)
		}
		below, above := reach(l, guess(l.Level))
		t.ended[l.Level] = t.ended[l.Level] || l.MeanLow == 0
		t.below[l.Level], t.above[l.Level] = append(t.below[l.Level], below), append(t.above[l.Level], above)
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

// reach is how far the ends of a bias's interval lie below and above the true one; infinite where there is no end.
// Where all readings gave one answer, a quarter of its width more: others, off by less, give two answers and a wider interval.
func reach(l assess.LevelFinding, g guessed) (below, above float64) {
	below, above = math.Inf(1), math.Inf(1)
	if l.BiasHigh.OK() {
		above = float64(l.BiasHigh) - g.bias
	}
	if l.BiasLow.OK() {
		if below = g.bias - float64(l.BiasLow); l.MeanLow == 0 {
			below = above
		}
	}
	if !l.Mean.OK() {
		below, above = below+g.width/4, above+g.width/4
	}
	return below, above
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
			m.SmallestBias = append(m.SmallestBias, BiasSeen{l, max(keptTo(t.below[l]), keptTo(t.above[l]))})
		}
		for i, b := range m.SmallestBias[:max(0, len(t.levels)-1)] {
			if next := m.SmallestBias[i+1].Bias; t.ended[b.Level] && !(b.Bias < next) {
				m.SmallestBias[i].Bias = next
			}
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

// keptTo is what shown of all distances keep to; not a number where that is infinite.
func keptTo(all []float64) float64 {
	slices.Sort(all)
	v := all[int(math.Ceil(shown*float64(len(all))))-1]
	if math.IsInf(v, 1) {
		return math.NaN()
	}
	return v
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
