package trials

import (
	"context"
	"crypto/rand"
	"encoding/hex"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/plan"
)

// SealPlan draws codes and run order from the seed, makes the vials, and shuts
// the key. A commitment to plan and key is written down and shown, so that everybody
// can check later that neither was changed. Owner.
func (b *Operations) SealPlan(ctx context.Context, by knownwater.Who, trial int64) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if r, err = t.trialIn(trial, Planned); err != nil {
			return err
		}
		p, err := t.sealable(r.Plan)
		if err != nil {
			return err
		}
		if p.Seed == 0 {
			p.Seed = store.DrawSeed()
		}
		if err := t.seal(by, trial, p); err != nil {
			return err
		}
		r, err = t.trial(trial)
		return err
	})
	return r.blinded(by), err
}

func (t tx) seal(by knownwater.Who, trial int64, p fullPlan) error {
	vials, err := plan.Lay(p.design(), p.Seed)
	if err != nil {
		return err
	}
	knowns, err := t.putKnowns(trial, p.Knowns)
	if err != nil {
		return err
	}
	slots := p.schedule(vials)
	readings := 0
	for i, v := range vials {
		if err := t.putVial(trial, i+1, v, p, knowns, slots[i]); err != nil {
			return err
		}
		readings += len(v.Readers)
	}
	key, err := t.keyText(trial)
	if err != nil {
		return err
	}
	planText, err := store.ToJSON(p.Plan)
	if err != nil {
		return err
	}
	needs, err := p.needsOnScale()
	if err != nil {
		return err
	}
	needText, err := store.ToJSON(needs)
	if err != nil {
		return err
	}
	at, name, device := t.Stamp(by)
	var salt [32]byte
	rand.Read(salt[:]) // never fails
	salted := hex.EncodeToString(salt[:])
	if err := t.Exec(sealTrial, planText, needText, readings, knownwater.Commit(salted, store.Digest(planText), key), salted, at, name, device, trial); err != nil {
		return err
	}
	return t.Note(by, trial, "sealed plan and key", "")
}

func (t tx) putKnowns(trial int64, knowns []Known) (ids []int64, err error) {
	for i, k := range knowns {
		id, err := t.Insert(insertKnown, trial, i+1, k.Label, k.Level, k.U, k.UShared, k.Matrix, k.isBlank(), k.Nitrite, k.UNitrite, k.UBackground)
		if err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

func (t tx) putVial(trial int64, pos int, v plan.Vial, p fullPlan, knowns []int64, at plan.Slot) error {
	m := p.methods[v.Method]
	var lot int64
	if v.Lot >= 0 {
		lot = p.lots[v.Method][v.Lot].ID
	}
	var u float64
	if v.Dilution != 1 {
		u = m.Spec.Dilution.U()
	}
	id, err := t.Insert(insertVial, trial, knowns[v.Known], m.VersionID, v.Code, v.Session, sessionName(v.Session), pos,
		v.Role, v.Technique, lot, v.Dilution, u, at.Start, at.Read)
	if err != nil {
		return err
	}
	for _, r := range v.Readers {
		if err := t.Exec(insertViewer, p.readers[r].ID, trial, id); err != nil {
			return err
		}
	}
	return nil
}

// schedule staggers each session by itself.
func (p fullPlan) schedule(vials []plan.Vial) []plan.Slot {
	slots := make([]plan.Slot, len(vials))
	for from := 0; from < len(vials); {
		to := from
		var tasks []plan.Task
		for to < len(vials) && vials[to].Session == vials[from].Session {
			s := p.methods[vials[to].Method].Spec
			tasks = append(tasks, plan.Task{Steps: plan.StepsOf(s.Steps, s.Minutes, s.HandsOnMinutes), Readers: vials[to].Readers})
			to++
		}
		session, _ := plan.Stagger(tasks, plan.DefaultPace)
		copy(slots[from:], session)
		from = to
	}
	return slots
}
