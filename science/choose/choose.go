// Package choose picks ways of using methods for needs: who should test with what, how
// often, at what cost, what would change that, and what to test next where it is open.
//
//  1. ways: every use of every method that was tried or that follows from what was tried,
//     with the verdict that the trial's findings give it (ways.go)
//  2. cost: what an answer takes, not a test (cost.go), and what wrong calls cost (loss.go)
//  3. limits: what somebody will not do (limits.go)
//  4. order: the ways that do, the least money first (order.go), and where the tests a month
//     change that order (crossing.go)
//  5. pair: a cheap way for every day and a good one to confirm, where that costs less (pair.go)
//
// Nothing is put together into one grade: a way is fit for a need or not, inside the limits
// or not, and what remains is ordered by money.
package choose

import (
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// Trial is a trial and what was found in it, judged for the needs that are asked about.
type Trial struct {
	Name     string // of its report, to tell two apart; may be empty
	Trial    knownwater.Trial
	Findings assess.Findings
	Curve    *Curved // a curve's knowns read back, instead of a method's readings
}

// Options are what is said beside the needs, and goes before them.
type Options struct {
	TestsAMonth float64 // 0: as each need says
	Readers     int     // 0: as each need says, else one
}

// Choice is what to use for every need.
type Choice struct {
	Needs []NeedChoice
	Notes []note.Note
}

// NeedChoice is what to use for one need.
type NeedChoice struct {
	Need    knownwater.Need // with the tests a month and readers that were reckoned with
	Use     int             // of Ways; −1: nothing is shown to do
	Because note.Note       // why that one, or why nothing
	Ways    []Way           // those that can be used first, in order
	Changes []Change
	Loosen  []Loosened
	Pair    *Pair
	Beside  []note.Note // what else would do, were a limit another
}

// Used is the way to use; not ok where there is none.
func (n NeedChoice) Used() (Way, bool) {
	if n.Use < 0 {
		return Way{}, false
	}
	return n.Ways[n.Use], true
}

// Way is one way of using a method for a need.
type Way struct {
	Use
	Tried   bool // it was tried as it is; else it follows from what was tried
	LeftOut bool // … from knowns of a curve's fit that were left out in turn
	Verdict string
	Error   Error // of 95 in 100 results, at the worst place
	Cost    Cost
	Loss    Loss
	Within  *bool       // the limits; nil where they cannot be told or there are none
	Beyond  []note.Note // which limits it does not keep, or might not

	Alone                       // of single results
	Along    []assess.AlongNeed // the error along the need of single results
	biases   biases             // what results are off by, as read
	lossEach float64            // money of wrong calls, an answer
}

// Use is how a method is used.
type Use struct {
	Report    string
	Method    string
	Matrix    string // the water of its knowns
	Waters    int    // how many the method was tried in
	Tests     int    // each of its own vial; their average is the result
	Readers   int
	Dilution  float64 // of all tests; 0: as the sheet says, ×Factor above Over
	Over      float64
	Factor    float64
	Switches  bool   // the method has a sheet that dilutes; where Dilution is not 0 it is not followed
	Corrected bool   // the result is turned round by the record
	Curve     string // … by this curve; empty: by none
	Supply    string // Pack or Refill, where the method can be bought as both

	method knownwater.Method
	supply knownwater.Supply // no tests: nothing has a price
	more   more
}

// What a method's tests are bought as.
const (
	Pack   = "pack"
	Refill = "refill"
)

// Error is the error within which 95 of 100 results lie, where it is worst against what is
// permitted, with 95 % limits.
type Error struct{ WorstAt, Error95, Low, High, Permitted num.Number }

// Can says whether a way is shown to do for the need.
func (w Way) Can() bool { return w.Verdict == assess.Fit || w.Verdict == assess.FitWhenCorrected }

// Stepped says whether the method reads in wide steps.
func (w Way) Stepped() bool { return reading.Of(w.method.Kind).Coarse }

// Inside says whether it is known to keep to every limit.
func (w Way) Inside() bool { return len(w.Beyond) == 0 }

// Of chooses. Every trial's findings hold every need, by name.
func Of(needs []knownwater.Need, trials []Trial, o Options) Choice {
	c := Choice{Needs: []NeedChoice{}}
	for _, n := range needs {
		if o.TestsAMonth > 0 {
			n.TestsAMonth = o.TestsAMonth
		}
		if o.Readers > 0 {
			n.Readers = o.Readers
		}
		c.Needs = append(c.Needs, forNeed(n, trials))
	}
	c.Notes = doubts(c, trials)
	return c
}

func forNeed(n knownwater.Need, trials []Trial) NeedChoice {
	out := NeedChoice{Need: n, Use: -1, Ways: []Way{}}
	for _, t := range trials {
		out.Ways = append(out.Ways, bought(waysOf(n, t))...)
	}
	for i := range out.Ways {
		w := &out.Ways[i]
		w.Cost = costOf(w.Use, n.TestsAMonth)
		w.Loss = lossOf(*w, n)
		if w.Loss.Money.OK() {
			w.lossEach = w.Loss.each(n)
		}
		w.Within, w.Beyond = limitsOf(*w, n)
	}
	sortWays(out.Ways)
	if len(out.Ways) > 0 && out.Ways[0].Can() && out.Ways[0].Inside() {
		out.Use = 0
	}
	out.Because = because(out)
	out.Beside = beside(out)
	out.Changes = changes(out)
	out.Loosen = loosened(out)
	out.Pair = pairOf(out)
	return out
}

// doubts are what the choice as a whole leaves out or takes for granted.
func doubts(c Choice, trials []Trial) []note.Note {
	out := []note.Note{}
	open := 0
	for _, t := range trials {
		if t.Curve == nil {
			open += len(t.Findings.Questions)
		}
	}
	if open > 0 {
		out = append(out, note.New("choose-open-questions").Number("n", float64(open)))
	}
	unpriced, unspoiled := []string{}, []string{}
	for _, t := range trials {
		for _, m := range t.Trial.Methods {
			switch supplies := m.Supplies(); {
			case len(supplies) == 0:
				unpriced = addName(unpriced, m.Name)
			case m.ShelfMonths == 0:
				unspoiled = addName(unspoiled, m.Name)
			}
		}
	}
	if len(unpriced) > 0 {
		out = append(out, note.New("choose-no-price").Name("methods", unpriced...))
	}
	if len(unspoiled) > 0 {
		out = append(out, note.New("choose-no-shelf-life").Name("methods", unspoiled...))
	}
	if curves := undecidedCurves(c); len(curves) > 0 {
		out = append(out, note.New("choose-curve-left-open").Name("curves", curves...))
	}
	for _, n := range c.Needs {
		if n.Need.TestsAMonth == 0 {
			out = append(out, note.New("choose-no-tests-a-month").Name("need", n.Need.Name))
		}
		if n.Need.Readers < 2 {
			if w, ok := secondReader(n, trials); ok {
				out = append(out, note.New("choose-second-reader").Name("need", n.Need.Name).Name("method", w))
			}
		}
	}
	return out
}

// undecidedCurves are those whose ways are undecided: Next does not look for what would
// settle them, since their knowns are the points that they were fitted to.
func undecidedCurves(c Choice) (out []string) {
	for _, n := range c.Needs {
		for _, w := range n.Ways {
			if w.Curve != "" && w.Verdict == assess.Undecided {
				out = addName(out, w.Curve)
			}
		}
	}
	return out
}

// secondReader names a method that would do with two readers and does not without.
func secondReader(n NeedChoice, trials []Trial) (string, bool) {
	if n.Use >= 0 {
		return "", false
	}
	two := n.Need
	two.Readers = 2
	for _, t := range trials {
		for _, w := range bought(waysOf(two, t)) {
			_, w.Beyond = limitsOf(Way{Use: w.Use, Cost: costOf(w.Use, two.TestsAMonth)}, two)
			if w.Readers == 2 && w.Can() && w.Inside() {
				return w.Method, true
			}
		}
	}
	return "", false
}

func addName(list []string, name string) []string {
	for _, have := range list {
		if have == name {
			return list
		}
	}
	return append(list, name)
}

// Judged says whether needs ask of results what others by the same names asked already:
// what was found for those holds for these.
func Judged(before, now []knownwater.Need) bool {
	for _, n := range now {
		i := slices.IndexFunc(before, func(b knownwater.Need) bool { return b.Name == n.Name })
		if i < 0 || before[i].Low != n.Low || before[i].High != n.High || !slices.Equal(before[i].Permitted, n.Permitted) {
			return false
		}
	}
	return true
}
