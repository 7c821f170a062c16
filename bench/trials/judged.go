package trials

import (
	"context"

	"knownwater/bench/store"
	"knownwater/science/assess"
)

// mostJudged is how many findings are remembered.
const mostJudged = 16

// mark is all that findings depend on: readings only ever get added, and all
// else that can change leaves an event.
type mark struct {
	trial, reading, event int64
	state                 State
	options               FindingsOptions
}

func (t tx) mark(trial int64, o FindingsOptions) (mark, error) {
	return store.One(t.Tx, "trial", markOf, func(scan func(...any) error) (m mark, err error) {
		m.trial, m.options = trial, o
		err = scan(&m.reading, &m.event, &m.state)
		return m, err
	}, trial)
}

// judge computes the findings, if nobody else has meanwhile. One trial is judged
// at a time.
func (b *Operations) judge(ctx context.Context, m mark, s TrialFindings) (TrialFindings, error) {
	return b.judged.OneAtATime(ctx, m, func() TrialFindings {
		s.Findings = assess.Run(s.Data, assess.Options{Seed: seedOf(s.Trial), Version: s.version})
		s.judged = true
		return s
	})
}

// seedOf is the seed of a trial's findings: the plan's, so that the same trial
// gives the same numbers everywhere; 1 for imported data, as for files.
func seedOf(r Trial) uint64 { return max(1, r.Plan.Seed) }
