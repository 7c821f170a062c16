// Package assess turns a trial's readings of known water into findings: how
// wrong each method is, what it can tell apart, whether correcting it would
// help, whether it is fit for a need, and what each reading really says.
//
// One way through: observations are split into strands (a method, a dilution
// and a matrix each), a strand's readings go through package posterior to a
// posterior of level means and spread, that and the knowns' uncertainty make a
// record of performance, and every further finding is read off the record.
package assess

import (
	"cmp"
	"slices"
	"sync"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/posterior"
	"knownwater/science/reading"
)

// Options are what an assessment depends on besides the trial.
type Options struct {
	Seed    uint64
	Version string
	// Brief leaves out what simulations do not look at: averages, more tests, what
	// readings say; Promises keeps the tests.
	Brief, Promises bool
	// Few is for trials that were made up by the hundred, of which verdicts, limits of means and
	// biases, and spreads are counted: it takes fewer draws on coarser grids (posterior.Data) and
	// works out nothing else. Limits and steps, errors along a need and words are left out.
	Few bool
	// Progress, if given, is told how many of all strands are done. It may be
	// called from several goroutines.
	Progress func(done, all int)
	// Stop, if given, is asked between strands whether to give up.
	Stop func() bool
	// Fit, if given, stands for posterior.Fit: it may remember what it found. What it gives is only read.
	Fit func(posterior.Data) (*posterior.Posterior, error)
}

// fit is the posterior of a strand.
func (o Options) fit(d posterior.Data) (*posterior.Posterior, error) {
	if o.Fit == nil {
		return posterior.Fit(d)
	}
	return o.Fit(d)
}

// Run assesses a trial. Same trial, same seed: same findings, whatever the
// order of the observations.
func Run(t knownwater.Trial, o Options) Findings {
	t, a := settle(t)
	return run(t, a, o)
}

// settle puts right what was answered with yes about readings as they stand, one
// question after the other: each may bring up or take away others. The answers stand apart from there on.
func settle(t knownwater.Trial) (knownwater.Trial, *doubt.Answers) {
	a := doubt.NewAnswers(t.Answers)
	t.Answers = nil
	for again := a.Any(); again; {
		again = false
		for _, s := range doubt.Sights(t.Scale, readingsOf(split(t))) {
			for _, q := range s.Ask(a.Denied) {
				if t, again = a.Mended(t, q); again {
					break
				}
			}
			if again {
				break
			}
		}
	}
	return t, a
}

// run assesses a trial as it was put right so far. A yes to what only the findings
// ask puts it right once more.
func run(t knownwater.Trial, a *doubt.Answers, o Options) Findings {
	strands := split(t)
	f := Findings{
		Analyte: t.Scale.Analyte, Unit: t.Scale.Unit, Basis: t.Scale.Basis,
		Salinity: t.Water.Salinity, Temperature: t.Water.Temperature,
		Questions: []doubt.Question{}, WaterStated: t.WaterStated, Seed: o.Seed, Version: o.Version,
		Methods: make([]MethodFinding, len(strands)),
		Notes:   append([]note.Note{}, t.Notes...),
	}
	all := examineAll(t, strands, a, o)
	studies := all.studies
	for i, st := range studies {
		if st == nil { // given up
			f.Methods = nil
			return f
		}
		f.Methods[i] = st.finding
	}
	compareBranches(studies, f.Methods)
	sheetNotFollowed(studies, f.Methods)
	qs := doubts(t, strands, studies, all.seen)
	for _, q := range qs {
		if t, again := a.Mended(t, q.Question); again {
			return run(t, a, o)
		}
	}
	qs = slices.DeleteFunc(qs, func(q asked) bool { return !a.Open(q.Question) })
	ask(qs, t, studies, &f, o)
	f.Answers = a.All()
	f.Procedures = procedures(studies, all.joined, &f)
	nitrites(t, studies, &f)
	return f
}

// examined is what can be said of each strand, and of what joins or doubts them, by itself.
type examined struct {
	studies []*study
	seen    [][]asked                // what a plain look at each method asks
	joined  map[[2]int][]NeedFinding // by pair of strands: what they need as one procedure
}

// examineAll works it out side by side: the looks first, and strands that are judged again by what they
// ask; then the strands, the longest first, so that short pieces fill the end; and a procedure as
// soon as both its branches are there, which are among the first.
func examineAll(t knownwater.Trial, strands []strand, a *doubt.Answers, o Options) examined {
	looks := doubt.Sights(t.Scale, readingsOf(strands))
	all := examined{make([]*study, len(strands)), make([][]asked, len(looks)), map[[2]int][]NeedFinding{}}
	c := newCrew(o.Stop)
	for i, s := range looks {
		c.add(func() {
			all.seen[i] = unjudged(s.Ask(a.Denied))
			for k := range all.seen[i] {
				if q := &all.seen[i][k]; !a.Denied(q.Question) {
					c.next(func() { q.judge(t, o) })
				}
			}
		})
	}
	pairs := switches(strands)
	var mu sync.Mutex // of what is counted and joined
	done := 0
	for _, i := range longestFirst(strands, pairs) {
		c.add(func() {
			st := examine(strands[i], t, o)
			mu.Lock()
			all.studies[i] = st
			done++
			told := done
			for _, p := range pairs {
				if plain, diluted := all.studies[p[0]], all.studies[p[1]]; slices.Contains(p[:], i) && plain != nil && diluted != nil {
					c.next(func() {
						needs := join(plain, diluted)
						mu.Lock()
						all.joined[p] = needs
						mu.Unlock()
					})
				}
			}
			mu.Unlock()
			if o.Progress != nil {
				o.Progress(told, len(strands))
			}
		})
	}
	c.work()
	return all
}

// longestFirst are the strands' places, those that take the longest first: a chart's gaps are
// shared in several ways, and a procedure waits for both its branches.
func longestFirst(strands []strand, pairs [][2]int) []int {
	order, takes := make([]int, len(strands)), make([]int, len(strands))
	for i, s := range strands {
		order[i], takes[i] = i, len(s.obs)
		if reading.Of(s.method.Kind).ByEye {
			takes[i] *= 3
		}
	}
	for _, p := range pairs {
		both := takes[p[0]] + takes[p[1]]
		takes[p[0]], takes[p[1]] = both, both
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(takes[b], takes[a]) })
	return order
}
