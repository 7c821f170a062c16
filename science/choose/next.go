package choose

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Experiment is a set of further vials that would most likely settle an open question.
type Experiment struct {
	Report, Method, Matrix, Need string
	Waters                       int // how many the method was tried in

	Vials    []Vials
	PSettles float64    // chance that they settle it
	Even     float64    // … of as many vials spread evenly over the knowns
	Minutes  num.Number // one after another; none where the method's are not stated
	Money    num.Number
	Changes  bool // fit, it would be used, or nothing is yet
}

// Vials are vials of one known to be tested by one method, each read once.
type Vials struct {
	Method          string
	Dilution, Level float64
	Readings        int
}

// Tests is how many vials there are in all.
func (x Experiment) Tests() (n int) {
	for _, v := range x.Vials {
		n += v.Readings
	}
	return n
}

// Ahead is what looking ahead depends on.
type Ahead struct {
	Minutes  float64 // that an evening has; 0: 120
	Stop     func() bool
	Progress func(done, all int)
}

// Evening is how long an evening is when nobody says, and untimed how many tests it holds
// where a method's minutes are not stated (common practice, no source).
const (
	Evening = 120
	untimed = 12
)

// How truths are looked at: screened for every plan, weighed for the best ones.
const (
	screened = 24
	weighed  = 64
	finalist = 3
	// mostQuestions is how many open questions are looked at, so that it takes seconds.
	mostQuestions = 6
	enough        = 0.8 // settles in 4 of 5
	evenings      = 3
)

// Next is the next best experiment for each open question: of the vials of one method that
// could still be run in an evening, those that would most likely settle an undecided need,
// and of those that settle it in four of five cases the fewest. Questions whose answer
// would change what to use come first, then the most chance an hour, then the least money.
//
// The plans tried are runs of neighbouring knowns, each known of a run as often, from those
// next to the worst place to all of them: what is learnt at a place is shared with its
// neighbours through the posterior, and a plan must be one that a person can follow. The
// chance is by simulation from the posterior (assess.OpenNeed); its random numbers come from
// the data.
func Next(c Choice, trials []Trial, o Ahead) []Experiment {
	if o.Minutes == 0 {
		o.Minutes = Evening
	}
	stopped := func() bool { return o.Stop != nil && o.Stop() }
	type question struct {
		trial   Trial
		changes bool
		need    *assess.OpenNeed
	}
	var all []question
	left := mostQuestions
	for _, t := range trials {
		if t.Curve != nil { // its knowns are points of the curve
			continue
		}
		open := map[[3]string]bool{}
		for _, n := range c.Needs {
			for _, w := range n.Ways {
				if w.Report == t.Name && w.Curve == "" && w.sheet() && w.Verdict == assess.Undecided && !w.forbidden() {
					key := [3]string{w.Method, w.Matrix, n.Need.Name}
					use, used := n.Used()
					open[key] = open[key] || !used || w.Inside() && before(w, use) < 0
				}
			}
		}
		if len(open) > left { // those that change nothing are left out
			maps.DeleteFunc(open, func(_ [3]string, changes bool) bool { return !changes })
		}
		asked := func(method, matrix, need string) bool {
			_, ok := open[[3]string{method, matrix, need}]
			if ok = ok && left > 0; ok {
				left--
			}
			return ok
		}
		for _, q := range assess.OpenNeeds(t.Trial, t.Findings, asked, assess.Options{Stop: o.Stop}) {
			all = append(all, question{t, open[[3]string{q.Method, q.Matrix, q.Need.Name}], q})
		}
	}
	var out []Experiment
	for i, q := range all {
		if o.Progress != nil {
			o.Progress(i, len(all))
		}
		if stopped() {
			return out
		}
		if x, ok := experimentOf(q.need, methodNamed(q.trial.Trial, q.need.Method), o, stopped); ok {
			x.Report, x.Waters, x.Changes = q.trial.Name, watersOf(q.trial.Findings, q.need.Method), q.changes
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b Experiment) int {
		return cmp.Or(-cmp.Compare(number(a.Changes), number(b.Changes)), -cmp.Compare(a.anHour(), b.anHour()), compareNumbers(a.Money, b.Money))
	})
	return out
}

func number(is bool) int {
	if is {
		return 1
	}
	return 0
}

// forbidden says whether a limit but that of money is known to be broken.
func (w Way) forbidden() bool {
	return w.Within != nil && !*w.Within && !w.insideBut("beyond-money")
}

// sheet says whether a way is one test as the sheet says.
func (w Way) sheet() bool { return w.Tests == 1 && (!w.Switches || w.Dilution == 0) }

// anHour is the chance to settle an hour of work.
func (x Experiment) anHour() float64 {
	if x.Minutes.OK() && x.Minutes > 0 {
		return x.PSettles / float64(x.Minutes) * 60
	}
	return x.PSettles / float64(x.Tests())
}

// plan is so many tests at each place, and the chance that they settle the question.
type plan struct {
	run   []int // places
	each  int
	p     float64
	late  float64 // that several such evenings do
	tests []int
}

func planOf(q *assess.OpenNeed, run []int, each, truths int) plan {
	x := plan{run: run, each: each, tests: make([]int, len(q.Places))}
	for _, i := range run {
		x.tests[i] = each
	}
	x.p = q.Settles(x.tests, truths)
	return x
}

func (x plan) all() int { return len(x.run) * x.each }

// experimentOf looks for the best plan for one question: every run as often as several
// evenings allow, screened, because what one evening settles now and then does not tell runs
// apart; of the best few the fewest tests of one evening that settle it in four of five
// cases, or, where none do, an evening of the run that settles it most often in the end.
func experimentOf(q *assess.OpenNeed, m knownwater.Method, o Ahead, stopped func() bool) (x Experiment, ok bool) {
	room := untimed
	if m.Minutes > 0 {
		room = int(o.Minutes / m.Minutes)
	}
	var full []plan
	for _, run := range runs(q, room) {
		if stopped() {
			return x, false
		}
		full = append(full, planOf(q, run, evenings*room/len(run), screened))
	}
	var best plan
	for _, f := range finals(full) {
		if stopped() {
			return x, false
		}
		late := planOf(q, f.run, f.each, weighed).p
		f = fewest(q, planOf(q, f.run, room/len(f.run), weighed))
		f.late = late
		if better(f, best) {
			best = f
		}
	}
	if best.p == 0 {
		return x, false
	}
	x = Experiment{Method: q.Method, Matrix: q.Matrix, Need: q.Need.Name, PSettles: best.p, Even: q.Settles(even(len(q.Places), best.all()), weighed), Minutes: num.None, Money: num.None}
	for _, i := range best.run {
		x.Vials = append(x.Vials, Vials{q.Method, q.Places[i].Dilution, q.Places[i].Level, best.each})
	}
	n := float64(best.all())
	if m.Minutes > 0 {
		x.Minutes = num.Number(n * m.Minutes)
	}
	for _, s := range m.Supplies() {
		if v := n * s.Price / float64(s.Tests); !x.Money.OK() || v < float64(x.Money) {
			x.Money = num.Number(v)
		}
	}
	return x, true
}

// fewest is the smallest number of tests at each known of a run that settles in four of
// five cases; the run as it is where it does not.
func fewest(q *assess.OpenNeed, f plan) plan {
	lo, hi := 0, f // lo is not enough
	for f.p >= enough && hi.each-lo > 1 {
		if mid := planOf(q, f.run, (lo+hi.each)/2, weighed); mid.p >= enough {
			hi = mid
		} else {
			lo = mid.each
		}
	}
	return hi
}

// finals are the plans to weigh: the best few, and the even spread.
func finals(full []plan) (out []plan) {
	slices.SortStableFunc(full, func(a, b plan) int { return cmp.Or(-cmp.Compare(a.p, b.p), cmp.Compare(a.all(), b.all())) })
	most := -1
	for i, f := range full {
		if most < 0 || len(f.run) > len(full[most].run) {
			most = i
		}
	}
	for i, f := range full {
		if i < finalist || i == most {
			out = append(out, f)
		}
	}
	return out
}

// better says which plan to take: of those that settle in four of five cases the fewer
// tests, else the one that does in the end.
func better(a, b plan) bool {
	switch {
	case a.p >= enough && b.p >= enough:
		return a.all() < b.all() || a.all() == b.all() && a.p > b.p
	case a.p >= enough || b.p >= enough:
		return a.p > b.p
	}
	return a.p+a.late > b.p+b.late
}

// runs are neighbouring knowns of one branch: up to four about the place where the error is
// worst, those in the need, and all; each no longer than there is room for.
func runs(q *assess.OpenNeed, room int) (out [][]int) {
	add := func(run []int) {
		if len(run) > 0 && len(run) <= room && !slices.ContainsFunc(out, func(o []int) bool { return slices.Equal(o, run) }) {
			out = append(out, run)
		}
	}
	var all []int
	for first := 0; first < len(q.Places); {
		var branch, needed []int
		for i := first; i < len(q.Places) && q.Places[i].Dilution == q.Places[first].Dilution; i++ {
			branch = append(branch, i)
			if l := q.Places[i].Level; l >= q.Need.Low && l <= q.Need.High {
				needed = append(needed, i)
			}
		}
		nearest := 0
		for k, i := range branch {
			if math.Abs(q.Places[i].Level-float64(q.WorstAt)) < math.Abs(q.Places[branch[nearest]].Level-float64(q.WorstAt)) {
				nearest = k
			}
		}
		for size := 1; size <= 4; size++ {
			for from := max(0, nearest-size); from <= min(nearest+1, len(branch)-size); from++ {
				add(branch[from : from+size])
			}
		}
		add(needed)
		first += len(branch)
		all = append(all, branch...)
	}
	add(all)
	return out
}

// even spreads tests over places.
func even(places, tests int) []int {
	out := make([]int, places)
	for i := range tests {
		out[(2*i+1)*places/(2*tests)%places]++
	}
	return out
}
