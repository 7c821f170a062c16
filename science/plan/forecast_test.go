package plan

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// simTrial is a trial to simulate: a fine display and a chart at three knowns.
func simTrial(t *testing.T, vials int) SimTrial {
	t.Helper()
	d := Design{
		Knowns:  []DesignKnown{{Blank: true}, {Level: 3}, {Level: 7}},
		Methods: []DesignMethod{{Techniques: []string{""}}, {Techniques: []string{""}, Together: true}},
		Readers: 3, Sessions: 2, Replicates: vials, Blanks: vials, Check: -1,
	}
	fine := knownwater.Method{Name: "Fine meter", Kind: knownwater.Display, Resolution: 0.0001}
	return SimTrial{
		Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.Water{Salinity: 35, Temperature: 25},
		Vials: lay(t, d, 1), Methods: []knownwater.Method{fine, card},
		Guesses: []Guess{{Offset: 0.5, Slope: 0.9, Sigma0: 0.1, Kappa: 0.05, Reader: 0.5, Session: 0.4, Vial: 0.3}, Guess{}.Fill(card)},
		Knowns:  []SimKnown{{}, {Level: 3, U: 0.02, UShared: 0.01}, {Level: 7, U: 0.05, UShared: 0.02, UBackground: 0.03}},
		Needs:   []knownwater.Need{low},
	}
}

// TestSimulatedReadingsFollowTheGuess: over 4000 simulated trials the first
// vial's readings at 7 have the mean and the spread that the guess says, and two
// vials of one session and reader share what they should. Tolerances are five
// standard errors.
func TestSimulatedReadingsFollowTheGuess(t *testing.T) {
	tr := simTrial(t, 2)
	var a, b int // two vials at 7 with the fine meter, same session and reader
	a, b = -1, -1
	tr.Knowns[2].U, tr.Knowns[2].UShared = 0, 0
	for i, v := range tr.Vials {
		if v.Method != 0 || v.Known != 2 {
			continue
		}
		if a < 0 {
			a = i
		} else {
			b = i
		}
	}
	tr.Vials[b].Session, tr.Vials[b].Readers = tr.Vials[a].Session, tr.Vials[a].Readers
	const n = 4000
	var x, y [n]float64
	for i := range n {
		got := tr.simulate(rand.New(rand.NewPCG(1, uint64(i))))
		for _, o := range got.Observations {
			switch {
			case o.Vial == tr.Vials[a].Code && o.Method == "Fine meter":
				x[i] = o.Seen.Mid()
			case o.Vial == tr.Vials[b].Code && o.Method == "Fine meter":
				y[i] = o.Seen.Mid()
			}
		}
	}
	mean := 0.5 + 0.9*7
	sd := math.Hypot(0.1, 0.05*mean)
	mx, vx := moments(x[:])
	my, _ := moments(y[:])
	if !(math.Abs(mx-mean) <= 5*sd/math.Sqrt(n)) {
		t.Errorf("mean %g, want %g", mx, mean)
	}
	if !(math.Abs(vx/(sd*sd)-1) <= 5*math.Sqrt(2.0/n)) {
		t.Errorf("spread %g, want %g", math.Sqrt(vx), sd)
	}
	var cov float64
	for i := range n {
		cov += (x[i] - mx) * (y[i] - my) / n
	}
	share := 0.5*0.5 + 0.4*0.4 // reader and session
	if !(math.Abs(cov/(sd*sd)-share) <= 5/math.Sqrt(n)) {
		t.Errorf("shared part %g, want %g", cov/(sd*sd), share)
	}
}

func moments(x []float64) (mean, variance float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		variance += (v - mean) * (v - mean) / float64(len(x)-1)
	}
	return mean, variance
}

func TestShow(t *testing.T) {
	drops := knownwater.Method{Kind: knownwater.Drops, DropValue: 2}
	coarse := knownwater.Method{Kind: knownwater.Display, Resolution: 0.25}
	for _, c := range []struct {
		y    float64
		m    knownwater.Method
		want string
	}{
		{-3, card, "0"}, {0.24, card, "0"}, {0.5, card, "0..1"}, {0.8, card, "1"}, {10.9, card, "10"}, {99, card, ">10"},
		{0, drops, "0d"}, {0.1, drops, "1d"}, {2, drops, "1d"}, {13, drops, "7d"}, {-1, drops, "0d"},
		{4.73, meter, "4.7"}, {31, meter, ">30"}, {-1, meter, "0.0"}, {4.6, coarse, "4.50"},
	} {
		got := reading.Show(c.y, c.m)
		if got != c.want {
			t.Errorf("%g on %s: %q, want %q", c.y, c.m.Kind, got, c.want)
		}
		if i, err := reading.Understand(got, c.m); err != nil || c.y >= 0 && !i.Contains(c.y) {
			t.Errorf("%g is shown as %q, which means %v, %v", c.y, got, i, err)
		}
	}
}

// fakeJudge says that the first run shows a bias of 1, the second of 2 …
func fakeJudge() Judge {
	var mu sync.Mutex
	calls := 0
	return func(t knownwater.Trial, seed uint64, _ func() bool) assess.Findings {
		mu.Lock()
		calls++
		run := calls
		mu.Unlock()
		h := num.Number(run)
		m := assess.MethodFinding{Method: "Fine meter", Dilution: 1, N: 9,
			Levels: []assess.LevelFinding{{Level: 3, Mean: 3, MeanLow: 3 - h/6, BiasLow: -h, BiasHigh: h, SDLow: 1, SDHigh: 4}, {Level: 7, Mean: 7, MeanLow: num.None, BiasLow: num.None, BiasHigh: h, SDLow: num.None, SDHigh: num.None}},
			Spread: assess.Spread{RepeatabilityLow: num.None, RepeatabilityHigh: num.None},
			Needs:  []assess.NeedFinding{{Need: "keep it low", Verdict: []string{assess.Fit, assess.NotFit, assess.Undecided, assess.FitWhenCorrected, ""}[run%5]}}}
		return assess.Findings{Methods: []assess.MethodFinding{m}}
	}
}

func TestForecastSumsUpRunsMadeAtOnce(t *testing.T) {
	var told [][2]int
	out := NewForecast(simTrial(t, 2), 5, 1, fakeJudge()).Run(func() bool { return false }, func(done, all int) { told = append(told, [2]int{done, all}) })
	if !slices.Equal(told, [][2]int{{0, 5}, {2, 5}, {4, 5}}) {
		t.Errorf("progress told: %v", told)
	}
	if out.Runs != 5 || out.Wanted != 5 || len(out.Methods) != 1 {
		t.Fatalf("outlook: %+v", out)
	}
	m := out.Methods[0]
	// Four of five of 1 … 5 keep to 4; the guess reads 3.2 at 3, and the further end counts.
	if b := m.SmallestBias[0]; b.Level != 3 || !(math.Abs(b.Bias-4.2) < 1e-9) {
		t.Errorf("smallest bias: %+v", m.SmallestBias)
	}
	if !math.IsNaN(m.SmallestBias[1].Bias) {
		t.Errorf("a bias that no run could compute: %g", m.SmallestBias[1].Bias)
	}
	if m.SpreadWithin != 2 { // √(4/1)
		t.Errorf("spread within %g, want 2", m.SpreadWithin)
	}
	n := m.Needs[0]
	// 3 of 5: 14.66 to 94.73 % (F tables, 0.975).
	if n.Runs != 5 || n.Fit != 2 || n.NotFit != 1 || n.Decided() != 3 || !(math.Abs(n.Low-0.1466) <= 1e-4) || !(math.Abs(n.High-0.9473) <= 1e-4) {
		t.Errorf("need: %+v", n)
	}
}

// A stopped forecast counts the runs that were made and no others, and goes on from there.
func TestForecastStops(t *testing.T) {
	asked := 0 // by one goroutine: the fake judge does not ask
	f := NewForecast(simTrial(t, 2), 9, 1, fakeJudge())
	out := f.Run(func() bool { asked++; return asked > 6 }, nil)
	if out.Runs != 6 || out.Wanted != 9 || len(out.Notes) == 0 || out.Methods[0].Needs[0].Runs != 6 || f.Whole() {
		t.Errorf("stopped after %d of %d: %+v, %v", out.Runs, out.Wanted, out.Methods, out.Notes)
	}
	out = f.Run(func() bool { return false }, nil)
	if out.Runs != 9 || out.Methods[0].Needs[0].Runs != 9 || !f.Whole() {
		t.Errorf("went on to %d: %+v", out.Runs, out.Methods)
	}
	never := NewForecast(simTrial(t, 2), 10, 1, fakeJudge()).Run(func() bool { return true }, nil)
	if never.Runs != 0 || len(never.Methods) != 0 {
		t.Errorf("stopped before the first: %+v", never)
	}
}

// TestForecastOfTheEngine: with the real engine the same seed gives the same
// outlook, more vials see a smaller bias, and a method whose error is far beyond
// the need is found unfit.
func TestForecastOfTheEngine(t *testing.T) {
	judge := func(d knownwater.Trial, seed uint64, _ func() bool) assess.Findings {
		return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true})
	}
	on := func() bool { return false }
	few, again, many := simTrial(t, 3), simTrial(t, 3), simTrial(t, 12)
	a := NewForecast(few, 8, 5, judge).Run(on, nil)
	if b := NewForecast(again, 8, 5, judge).Run(on, nil); !same(a, b) {
		t.Errorf("the same seed gave\n%+v\nand\n%+v", a, b)
	}
	c := NewForecast(many, 8, 5, judge).Run(on, nil)
	if !(c.Methods[0].SmallestBias[2].Bias < a.Methods[0].SmallestBias[2].Bias) {
		t.Errorf("3 vials see %g at 7, 12 see %g", a.Methods[0].SmallestBias[2].Bias, c.Methods[0].SmallestBias[2].Bias)
	}
	wrong := simTrial(t, 6)
	wrong.Guesses[0] = Guess{Slope: 1, Sigma0: 6}
	if out := NewForecast(wrong, 4, 5, judge).Run(on, nil); out.Methods[0].Needs[0].Fit > 0 {
		t.Errorf("a method with a spread of 6 is fit: %+v", out.Methods[0].Needs)
	}
}

// A bias as large as the smallest that would show is shown in four of five trials, either way.
func TestSmallestBiasShows(t *testing.T) {
	judge := func(d knownwater.Trial, seed uint64, _ func() bool) assess.Findings {
		return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true})
	}
	d := Design{Knowns: []DesignKnown{{Level: 1}, {Level: 3}, {Level: 7}}, Methods: []DesignMethod{{Techniques: []string{""}}}, Readers: 1, Sessions: 1, Replicates: 3, Check: -1}
	tr := simTrial(t, 1)
	tr.Vials, tr.Methods, tr.Needs = lay(t, d, 1), []knownwater.Method{{Name: "m", Kind: knownwater.Display, Resolution: 0.03}}, nil
	tr.Knowns = []SimKnown{{Level: 1}, {Level: 3}, {Level: 7}}
	tr.Guesses = []Guess{{Slope: 1, Sigma0: 0.3, Kappa: 0.02}}
	smallest := NewForecast(tr, 50, 1, judge).Run(func() bool { return false }, nil).Methods[0].SmallestBias[1]
	const runs = 25
	showed := 0
	for i := range 2 * runs {
		tr.Guesses[0].Offset = float64(1-2*(i%2)) * smallest.Bias
		l := judge(tr.simulate(rand.New(rand.NewPCG(9, uint64(i)))), 1, nil).Methods[0].Levels[1]
		if l.BiasLow > 0 || l.BiasHigh < 0 {
			showed++
		}
	}
	t.Logf("a bias of ±%.2g shows in %d of %d", smallest.Bias, showed, 2*runs)
	if showed < 30 || showed > 48 { // 80 %, three standard errors
		t.Errorf("a bias of ±%.2g shows in %d of %d", smallest.Bias, showed, 2*runs)
	}
}

// same compares outlooks; a number that is none equals another.
func same(a, b Outlook) bool {
	for i := range a.Methods {
		for _, o := range []Outlook{a, b} {
			m := &o.Methods[i]
			for j := range m.SmallestBias {
				if math.IsNaN(m.SmallestBias[j].Bias) {
					m.SmallestBias[j].Bias = -1
				}
			}
			if math.IsNaN(m.SpreadWithin) {
				m.SpreadWithin = -1
			}
		}
	}
	return reflect.DeepEqual(a, b)
}

// A method of two dilutions is forecast as its sheet says it is used.
func TestForecastOfAProcedure(t *testing.T) {
	need := func(v string) []assess.NeedFinding { return []assess.NeedFinding{{Need: "n", Verdict: v}} }
	judge := func(knownwater.Trial, uint64, func() bool) assess.Findings {
		return assess.Findings{
			Methods:    []assess.MethodFinding{{Method: "m", Dilution: 1, Needs: need(assess.Undecided)}, {Method: "m", Dilution: 4, Needs: need(assess.Undecided)}},
			Procedures: []assess.Procedure{{Method: "m", Branches: []assess.Branch{{Dilution: 1}, {Dilution: 4}}, Needs: need(assess.Fit)}},
		}
	}
	out := NewForecast(SimTrial{}, 3, 1, judge).Run(func() bool { return false }, nil)
	if len(out.Methods) != 2 || out.Methods[0].Needs[0].Fit != 3 || len(out.Methods[1].Needs) != 0 {
		t.Errorf("%+v", out.Methods)
	}
}

// Lots of a plan are named in the trials that are made up, as they will be in the real one: where two are
// told apart the method is fit as far as each of them is and one that was not tried, which two lots
// hardly show. Without names such a plan was forecast to find a good display fit in every trial.
func TestForecastNamesTheLots(t *testing.T) {
	judge := func(d knownwater.Trial, seed uint64, _ func() bool) assess.Findings {
		return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true})
	}
	for lots, fit := range []int{4, 4, 0} { // by so many lots
		tr := simTrial(t, 2)
		tr.Methods, tr.Guesses = tr.Methods[:1], []Guess{{Sigma0: 0.1, Slope: 1}}
		tr.Needs = []knownwater.Need{{Name: "wide", Low: 0, High: 7, Permitted: []knownwater.Permit{{At: 0, Error: 2}}}}
		d := Design{Knowns: []DesignKnown{{Blank: true}, {Level: 3}, {Level: 7}}, Methods: []DesignMethod{{Techniques: []string{""}, Lots: lots}},
			Readers: 1, Sessions: 1, Replicates: 6, Blanks: 6, Check: -1}
		tr.Vials = lay(t, d, 1)
		for i, o := range tr.simulate(rand.New(rand.NewPCG(1, 1))).Observations {
			if want := []string{"", "1", "2"}[tr.Vials[i].Lot+1]; o.Lot != want {
				t.Fatalf("%d lots, vial %d: lot %q, want %q", lots, i, o.Lot, want)
			}
		}
		out := NewForecast(tr, 4, 5, judge).Run(func() bool { return false }, nil)
		if n := out.Methods[0].Needs[0]; n.Fit != fit {
			t.Errorf("%d lots: fit in %d of %d, want %d", lots, n.Fit, n.Runs, fit)
		}
		if said := slices.ContainsFunc(out.Notes, func(n note.Note) bool { return n.Code == "forecast-lots" }); said != (lots == 2) {
			t.Errorf("%d lots: %v", lots, out.Notes)
		}
	}
}
