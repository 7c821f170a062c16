package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// readingState is a reading that nothing supersedes yet, or an earlier one.
type readingState struct {
	id, root, vial, reader int64
	key                    string
	replicate              int
	dilution               float64
	withdrawn              bool
	next                   int64 // what supersedes it; 0: nothing
}

func scanState(scan func(...any) error) (s readingState, err error) {
	err = scan(&s.id, &s.root, &s.vial, &s.reader, &s.key, &s.replicate, &s.dilution, &s.withdrawn, &s.next)
	return s, err
}

// keptBefore finds what was kept under a key before. A different reading under the
// same key is refused.
func (t tx) keptBefore(key, digest string) (Kept, bool, error) {
	type row struct {
		Kept
		digest string
	}
	rows, err := store.All(t.Tx, readingByKey, func(scan func(...any) error) (r row, err error) {
		var reader, supersedes any
		r.Key, r.Again = key, true
		err = scan(&r.ID, &r.digest, store.Time(&r.KeptAt), &r.OffBy, &reader, &supersedes)
		return r, err
	}, key)
	if err != nil || len(rows) == 0 {
		return Kept{}, false, err
	}
	if rows[0].digest != digest {
		return Kept{}, false, knownwater.Refuse(knownwater.AlreadyRead, "another reading was kept under this key: nothing was changed")
	}
	return rows[0].Kept, true, nil
}

// KeepReading keeps by.Person's reading of a vial. When it returns without an
// error the reading is on the disk. Refused: AlreadyRead where this person has
// read the vial (another key), NotAllowed where the vial is not theirs,
// WrongState before sealing and after finishing, Faults where the text is no
// reading of this method.
func (b *Operations) KeepReading(ctx context.Context, by knownwater.Who, r NewReading) (k Kept, err error) {
	if r, err = r.tidied(by); err != nil {
		return Kept{}, err
	}
	sum := r.digest(0, false, "")
	err = b.write(ctx, func(t tx) error {
		found := false
		if k, found, err = t.keptBefore(r.Key, sum); err != nil || found {
			return err
		}
		u, err := t.understand(by, r)
		if err != nil {
			return err
		}
		u.digest = sum
		if err := t.place(&u); err != nil {
			return err
		}
		k, err = t.put(by, u)
		return err
	})
	return k, err
}

// place refuses a second reading of a vial by the same reader, and lets a
// reading follow one that was taken back.
func (t tx) place(u *understood) error {
	there, err := store.All(t.Tx, statesOf, scanState, u.Vial, u.Reader)
	if err != nil {
		return err
	}
	for _, s := range there {
		if s.replicate != u.Replicate {
			continue
		}
		if s.withdrawn {
			u.supersedes, u.root, u.why = s.id, s.root, "read anew after it was taken back"
			return nil
		}
		if s.dilution == u.Dilution {
			return knownwater.Refuse(knownwater.AlreadyRead, "this vial has been read: correct that reading and say why")
		}
	}
	return nil
}

// CorrectReading supersedes a reading (by its ID) with another, and needs a
// why. The old one stays. A reader corrects their own, an owner anybody's.
// For undo see TakeBack.
func (b *Operations) CorrectReading(ctx context.Context, by knownwater.Who, old int64, r NewReading, why string) (k Kept, err error) {
	if why, err = store.Reason(why); err != nil {
		return Kept{}, err
	}
	err = b.write(ctx, func(t tx) error {
		was, err := store.One(t.Tx, "reading", stateByID, scanState, old)
		if err != nil {
			return err
		}
		r.Vial, r.Reader, r.Replicate = was.vial, was.reader, was.replicate
		if r.Dilution == 0 {
			r.Dilution = was.dilution
		}
		if r, err = r.tidied(by); err != nil {
			return err
		}
		k, err = t.supersede(by, was, understood{NewReading: r, why: why})
		return err
	})
	return k, err
}

// TakeBack withdraws by.Person's own reading: undo. The vial then counts as not
// read and can be read anew (by CorrectReading or by KeepReading); what was
// taken back stays in the records as withdrawn. old is the Key of the reading,
// so that a phone can undo what it has not yet had an answer for; key is the
// new entry's own.
func (b *Operations) TakeBack(ctx context.Context, by knownwater.Who, old, key string) (k Kept, err error) {
	if err := store.CheckKey(key); err != nil {
		return Kept{}, err
	}
	err = b.write(ctx, func(t tx) error {
		was, err := store.One(t.Tx, "reading", stateByKey, scanState, old)
		if err != nil {
			return err
		}
		r := NewReading{Key: key, Vial: was.vial, Reader: was.reader, Replicate: was.replicate, Dilution: was.dilution}
		k, err = t.supersede(by, was, understood{NewReading: r, withdrawn: true, why: "taken back"})
		return err
	})
	return k, err
}

// supersede writes what follows a reading, whose right the caller has.
func (t tx) supersede(by knownwater.Who, was readingState, u understood) (Kept, error) {
	sum := u.NewReading.digest(was.id, u.withdrawn, u.why)
	if k, found, err := t.keptBefore(u.Key, sum); err != nil || found {
		return k, err
	}
	if was.next != 0 {
		return Kept{}, knownwater.Refuse(knownwater.AlreadyRead, "this reading has been corrected before: correct the newer one")
	}
	full, err := t.understand(by, u.NewReading)
	if err != nil {
		return Kept{}, err
	}
	full.supersedes, full.root, full.withdrawn, full.why, full.digest = was.id, was.root, u.withdrawn, u.why, sum
	return t.put(by, full)
}
