package trials

import (
	"context"

	"knownwater/bench/store"
	"knownwater/science/assess"
)

// mostKnown is how many findings are remembered.
const mostKnown = 16

// findingsKey is all that findings depend on: readings only ever get added, and all
// else that can change leaves an event.
type findingsKey struct {
	trial, reading, event int64
	state                 State
	options               FindingsOptions
}

func (t tx) findingsKey(trial int64, o FindingsOptions) (findingsKey, error) {
	return store.One(t.Tx, "trial", selectFindingsKey, func(scan func(...any) error) (m findingsKey, err error) {
		m.trial, m.options = trial, o
		err = scan(&m.reading, &m.event, &m.state)
		return m, err
	}, trial)
}

// compute works the findings out, if nobody else has meanwhile. One trial is judged
// at a time.
func (b *Operations) compute(ctx context.Context, m findingsKey, s TrialFindings) (TrialFindings, error) {
	return b.remembered.OneAtATime(ctx, m, func() (TrialFindings, bool) {
		s.Findings = assess.Run(s.Data, assess.Options{Seed: seedOf(s.Trial), Version: s.version, Fit: Fit})
		s.computed = true
		return s, true
	})
}

// seedOf is the seed of a trial's findings: the plan's, so that the same trial
// gives the same numbers everywhere; 1 for imported data, as for files.
func seedOf(r Trial) uint64 { return max(1, r.Plan.Seed) }
