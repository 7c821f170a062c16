package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/assess"
	"knownwater/science/note"
)

// TrialFindings is a trial's findings from the readings so far.
type TrialFindings struct {
	Trial      Trial
	Findings   assess.Findings
	Data       knownwater.Trial // what they were computed from
	Unfinished bool             // the stop rule is not met
	Taken      int
	Planned    int
	Excluded   []Reading   // left out, with reasons
	Dropped    []Reading   // superseded, withdrawn, or no reading possible
	Notes      []note.Note // about the trial: key opened early, readings after that, window misses, expired standards …
	Answers    []Answer    // to questions about the readings, those that stand
	Provenance *Provenance // where the levels came from; nil where no prepared set was picked

	computed bool   // Findings are in
	version  string // of the program
}

// FindingsOptions say which findings are wanted.
type FindingsOptions struct {
	WithExcluded bool   // the other way: with the excluded readings in
	HideNames    bool   // readers by alias
	Version      string // of the program, for the findings
}

// maySeeFindings refuses while the key is sealed, and to readers before the end.
func (t tx) maySeeFindings(by knownwater.Who, r Trial) error {
	if err := r.mustBeOpen(); err != nil {
		return err
	}
	if by.Role == knownwater.Owner {
		return nil
	}
	n, err := store.One(t.Tx, "count", mayReadTrial, store.Value[int], by.Person, r.ID)
	if err == nil && (n == 0 || r.State != Finished) {
		return knownwater.Refuse(knownwater.NotAllowed, "the findings are for the readers of the trial, once it is finished")
	}
	return err
}

// trialToJudge loads a trial whose findings this person may see now.
func (t tx) trialToJudge(by knownwater.Who, trial int64) (Trial, error) {
	r, err := t.trial(trial)
	if err == nil {
		err = t.maySeeFindings(by, r)
	}
	return r, err
}

// Findings are computed from the readings so far; refused while the key is
// sealed. They are remembered until something changes, so that asking again is
// quick. Owner, and readers of the trial once it is finished.
func (b *Operations) Findings(ctx context.Context, by knownwater.Who, trial int64, o FindingsOptions) (s TrialFindings, err error) {
	var mark findingsKey
	err = b.read(ctx, func(t tx) error {
		r, err := t.trialToJudge(by, trial)
		if err != nil {
			return err
		}
		if mark, err = t.findingsKey(trial, o); err != nil {
			return err
		}
		if known, ok := b.remembered.Find(mark); ok {
			s = known
			return nil
		}
		s, err = t.inputs(r, o)
		return err
	})
	if err != nil || s.computed {
		return s, err
	}
	return b.compute(ctx, mark, s)
}

// inputs loads all that the findings of a trial are computed from.
func (t tx) inputs(r Trial, o FindingsOptions) (s TrialFindings, err error) {
	s = TrialFindings{Trial: r, Unfinished: !r.Progress.StopMet, Taken: r.Progress.Taken, Planned: r.Progress.Planned, version: o.Version}
	if s.Data, err = t.data(r, o); err != nil {
		return s, err
	}
	if s.Excluded, err = t.readings(r.ID, ReadingFilter{Excluded: true, Limit: -1}); err != nil {
		return s, err
	}
	if s.Dropped, err = store.All(t.Tx, readingsDropped, scanReading, r.ID); err != nil {
		return s, err
	}
	if s.Answers, err = t.answers(r.ID, always.Answer); err != nil {
		return s, err
	}
	if o.HideNames {
		for i := range s.Answers {
			s.Answers[i].Stamp = knownwater.Stamp{At: s.Answers[i].At}
		}
		aliases, err := t.aliases(r.ID)
		if err != nil {
			return s, err
		}
		hideNames(s.Excluded, aliases)
		hideNames(s.Dropped, aliases)
		s.Trial = r.withoutNames()
	}
	if s.Provenance, err = t.provenance(r); err != nil {
		return s, err
	}
	s.Notes, err = t.trialNotes(r)
	return s, err
}

// trialNotes are what a reader of the findings should know about the trial.
func (t tx) trialNotes(r Trial) (notes []note.Note, err error) {
	say := func(n note.Note) { notes = append(notes, n) }
	if r.Imported {
		say(note.New("imported").Name("source", r.Source))
		return notes, nil
	}
	if r.Key.Early {
		say(note.New("key-opened-early").Number("readings", float64(r.Key.Readings)).Number("planned", float64(r.stopAfter())).Name("why", r.Key.Why))
	}
	if r.Key.After > 0 {
		read, err := store.One(t.Tx, "count", countAfterButRead, store.Value[int], r.ID)
		if err != nil {
			return nil, err
		}
		say(note.New("after-the-key").Number("entries", float64(r.Key.After)).Number("read", float64(read)))
	}
	off, err := store.One(t.Tx, "count", countOff, func(scan func(...any) error) (n [2]int, err error) {
		err = scan(&n[0], &n[1])
		return n, err
	}, r.ID)
	if err != nil {
		return nil, err
	}
	if off[0]+off[1] > 0 {
		say(note.New("outside-the-window").Number("late", float64(off[0])).Number("early", float64(off[1])))
	}
	expired, err := store.One(t.Tx, "count", countExpired, store.Value[int], r.ID)
	if err == nil && expired > 0 {
		say(note.New("expired-lot").Number("readings", float64(expired)))
	}
	late, err := t.standardNotes(r)
	if err != nil {
		return nil, err
	}
	notes = append(notes, late...)
	if seen := len(r.Key.Seen); seen > 0 {
		say(note.New("key-seen").Number("times", float64(seen)))
	}
	return notes, err
}

// TrialData is the trial as a data set, the same that an assessment from files
// has; refused while the key is sealed.
func (b *Operations) TrialData(ctx context.Context, by knownwater.Who, trial int64, o FindingsOptions) (d knownwater.Trial, err error) {
	err = b.read(ctx, func(t tx) error {
		r, err := t.trialToJudge(by, trial)
		if err != nil {
			return err
		}
		d, err = t.data(r, o)
		return err
	})
	return d, err
}
