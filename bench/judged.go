package bench

import (
	"context"
	"sync"

	"knownwater/bench/store"
	"knownwater/science/assess"
	"knownwater/sqlite"
)

// judged remembers findings until something changes, and lets one trial be
// judged at a time: two would only take the processor from each other.
type judged struct {
	one chan struct{}

	mu   sync.Mutex
	kept map[mark]Standing
	used []mark // oldest first
}

// mostJudged is how many findings are remembered.
const mostJudged = 16

func newJudged() *judged {
	return &judged{one: make(chan struct{}, 1), kept: map[mark]Standing{}}
}

// mark is all that findings depend on: readings only ever get added, and all
// else that can change leaves an event.
type mark struct {
	trial, reading, event int64
	state                 State
	options               FindingsOptions
}

var markOf = sqlite.SQL(`select coalesce((select max(id) from reading where trial_id = ?1), 0), coalesce((select max(id) from event), 0),
	(select state from trial where id = ?1)`)

func (t tx) mark(trial int64, o FindingsOptions) (mark, error) {
	return store.One(t.Tx, "trial", markOf, func(scan func(...any) error) (m mark, err error) {
		m.trial, m.options = trial, o
		err = scan(&m.reading, &m.event, &m.state)
		return m, err
	}, trial)
}

func (j *judged) get(m mark) (Standing, bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	s, ok := j.kept[m]
	return s, ok
}

// judge computes the findings, if nobody else has meanwhile, and remembers them.
func (j *judged) judge(ctx context.Context, m mark, s Standing) (Standing, error) {
	select {
	case j.one <- struct{}{}:
		defer func() { <-j.one }()
	case <-ctx.Done():
		return Standing{}, ctx.Err()
	}
	if known, ok := j.get(m); ok {
		return known, nil
	}
	s.Findings = assess.Run(s.Data, assess.Options{Seed: seedOf(s.Trial), Version: s.version})
	s.judged = true
	j.mu.Lock()
	defer j.mu.Unlock()
	j.kept[m] = s
	j.used = append(j.used, m)
	if len(j.used) > mostJudged {
		delete(j.kept, j.used[0])
		j.used = j.used[1:]
	}
	return s, nil
}

// seedOf is the seed of a trial's findings: the plan's, so that the same trial
// gives the same numbers everywhere; 1 for imported data, as for files.
func seedOf(r Trial) uint64 { return max(1, r.Plan.Seed) }
