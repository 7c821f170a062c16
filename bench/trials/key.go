package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// OpenKey opens the key. Before the stop rule is met it needs a why, which is
// recorded and shown. Opening an open key changes nothing. Owner.
func (b *Operations) OpenKey(ctx context.Context, by knownwater.Who, trial int64, why string) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if r, err = t.trial(trial); err != nil || r.keyOpen() {
			return err
		}
		if err := r.mustBe(SealedUp, Running); err != nil {
			return err
		}
		why = store.Tidy(why)
		early := !r.Progress.StopMet
		if early {
			if why, err = store.Reason(why); err != nil {
				return err
			}
		}
		at, name, device := t.Stamp(by)
		if err := t.Exec(openKey, at, name, device, early, why, r.Progress.Taken, trial); err != nil {
			return err
		}
		what := "opened the key"
		if early {
			what = "opened the key early"
		}
		if err := t.Note(by, trial, what, why); err != nil {
			return err
		}
		r, err = t.trial(trial)
		return err
	})
	return r, err
}

// Finish closes a trial whose key is open: no more readings. Owner.
func (b *Operations) Finish(ctx context.Context, by knownwater.Who, trial int64) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if r, err = t.trial(trial); err != nil || r.State == Finished {
			return err
		}
		if err := r.mustBe(Opened); err != nil {
			return err
		}
		if err := t.Exec(finish, trial); err != nil {
			return err
		}
		if err := t.Note(by, trial, "finished the trial", ""); err != nil {
			return err
		}
		r, err = t.trial(trial)
		return err
	})
	return r, err
}

// Seal is what proves that the key which is open now is the one that was shut; nil
// of a trial that was sealed before there were commitments, or imported. Refused
// while the key is sealed, and to readers until the trial is finished.
func (b *Operations) Seal(ctx context.Context, by knownwater.Who, trial int64) (seal *knownwater.Seal, err error) {
	err = b.read(ctx, func(t tx) error {
		r, err := t.trial(trial)
		if err != nil {
			return err
		}
		if err := t.maySeeFindings(by, r); err != nil {
			return err
		}
		seal, err = t.sealOf(trial)
		return err
	})
	return seal, err
}

func (t tx) sealOf(trial int64) (*knownwater.Seal, error) {
	var s knownwater.Seal
	var plan string
	_, err := store.One(t.Tx, "trial", sealOf, func(scan func(...any) error) (any, error) { return nil, scan(&plan, &s.Commitment, &s.Salt) }, trial)
	if err != nil || s.Salt == "" {
		return nil, err
	}
	s.Plan = store.Digest(plan)
	s.Key, err = t.keyText(trial)
	return &s, err
}

// keyText is the key as it is committed to.
func (t tx) keyText(trial int64) (string, error) {
	rows, err := store.All(t.Tx, keyOfRows, func(scan func(...any) error) (k knownwater.KeyRow, err error) {
		err = scan(&k.Order, &k.Code, &k.Session, &k.Method, &k.Version, &k.Known, &k.Level, &k.Role, &k.Technique, &k.Dilution, &k.Nitrite)
		return k, err
	}, trial)
	if err != nil {
		return "", err
	}
	return store.ToJSON(rows)
}
