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
	"sync"

	"knownwater"
	"knownwater/science/note"
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
}

// workers is how many strands are worked on at once.
const workers = 2

// Run assesses a trial. Same trial, same seed: same findings, whatever the
// order of the observations.
func Run(t knownwater.Trial, o Options) Findings {
	a := &answers{given: t.Answers}
	t.Answers = nil
	return run(a.settle(t), a, o)
}

// run assesses a trial as it was put right so far. A yes to what only the findings
// ask puts it right once more.
func run(t knownwater.Trial, a *answers, o Options) Findings {
	strands := split(t)
	f := Findings{
		Analyte: t.Scale.Analyte, Unit: t.Scale.Unit, Basis: t.Scale.Basis,
		Salinity: t.Water.Salinity, Temperature: t.Water.Temperature,
		Questions: []Question{}, WaterStated: t.WaterStated, Seed: o.Seed, Version: o.Version,
		Methods: make([]MethodFinding, len(strands)),
		Notes:   append([]note.Note{}, t.Notes...),
	}
	studies := make([]*study, len(strands))
	each(len(strands), o, func(i int) {
		studies[i] = examine(strands[i], t, o)
		f.Methods[i] = studies[i].finding
	})
	for i := range studies {
		if studies[i] == nil { // given up
			f.Methods = nil
			return f
		}
	}
	compareBranches(studies, f.Methods)
	qs := doubts(t, strands, studies, a.denied)
	for _, q := range qs {
		if t, again := a.mended(t, q); again {
			return run(t, a, o)
		}
	}
	ask(a.open(qs), t, studies, &f, o)
	f.Answers = a.all()
	f.Procedures = procedures(studies, &f, o)
	nitrites(t, studies, &f)
	return f
}

// each runs work on 0 … n−1, a few at a time.
func each(n int, o Options, work func(i int)) {
	var wg sync.WaitGroup
	var mu sync.Mutex
	next, done := 0, 0
	for range workers {
		wg.Go(func() {
			for {
				mu.Lock()
				i := next
				next++
				mu.Unlock()
				if i >= n || o.Stop != nil && o.Stop() {
					return
				}
				work(i)
				mu.Lock()
				done++
				d := done
				mu.Unlock()
				if o.Progress != nil {
					o.Progress(d, n)
				}
			}
		})
	}
	wg.Wait()
}
