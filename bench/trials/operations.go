// Package trials is what is done with a trial: plan it, seal its key, take
// readings with their photos, open the key, read the findings, leave readings out
// with a reason. Every operation has three movements: load, compute, save in one
// transaction.
package trials

import (
	"context"
	"slices"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/plan"
)

// Operations are what is done about trials.
type Operations struct {
	store       *store.Store
	from        Sources
	remembered  *store.Memo[findingsKey, TrialFindings]
	forecasts   *store.Memo[string, *plan.Forecast] // by the plan, with all that it names, as it would be simulated
	forecasting chan struct{}                       // one forecast goes on at a time
	bringIn     chan struct{}                       // one data set comes in at a time
}

// Sources are what a trial takes from other subjects, in its own transaction.
type Sources struct {
	Method    func(t store.Tx, version int64) (knownwater.MethodVersion, error)
	Described func(t store.Tx, version int64) (knownwater.MethodVersion, error) // without the counts, which take time
	Lot       func(t store.Tx, id int64) (knownwater.Lot, error)
	Lots      func(t store.Tx, method int64) ([]knownwater.Lot, error)
	Need      func(t store.Tx, id int64) (knownwater.NeedEntry, error)
	Person    func(t store.Tx, id int64) (knownwater.Person, error)
	Standards func(t store.Tx, version int64) (knownwater.Standards, error)

	// Of a data set on its way in: what is there already, or is made; seen by nobody
	// until the others settle it, or abandoned one thing after the other.
	BringInMethod func(t store.Tx, by knownwater.Who, trial int64, s knownwater.MethodSpec, source string) (knownwater.MethodVersion, error)
	BringInLot    func(t store.Tx, by knownwater.Who, trial, method int64, code string) (int64, error)
	BringInNeed   func(t store.Tx, by knownwater.Who, trial int64, n knownwater.NeedEntry, title string) (int64, error)
	BringInPerson func(t store.Tx, by knownwater.Who, trial int64, name string) (int64, error)
	Settle        []func(t store.Tx, by knownwater.Who, trial int64) error
	Abandon       []func(t store.Tx, trial int64) (more bool, err error)
}

// On are the operations on an open bench.
func On(s *store.Store, from Sources) *Operations {
	return &Operations{store: s, from: from, remembered: store.NewMemo[findingsKey, TrialFindings](mostKnown, nil),
		forecasts: store.NewMemo[string, *plan.Forecast](mostForecasts, nil), forecasting: make(chan struct{}, 1), bringIn: make(chan struct{}, 1)}
}

// tx is one transaction.
type tx struct {
	store.Tx
	from Sources
}

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}

// NoteExport writes into the story of every trial whose key is sealed that its key
// went out with an export of the bench.
func NoteExport(t store.Tx, by knownwater.Who) error {
	ids, err := store.All(t, sealedTrials, store.Value[int64])
	for _, id := range ids {
		if err := t.Note(by, id, exportedSealed, ""); err != nil {
			return err
		}
	}
	return err
}

// KeptFaults looks into the plans, which the tables themselves cannot check.
func KeptFaults(t store.Tx, standards func(store.Tx, int64) (knownwater.Standards, error)) (table string, err error) {
	plans, err := store.All(t, everyPlan, store.ScanJSON[Plan])
	if err != nil {
		return "trial", err
	}
	for _, p := range plans {
		if _, _, err := p.tidied(); err != nil {
			return "trial", err
		}
		if p.Set == 0 {
			continue
		}
		if _, err := standards(t, p.Set); err != nil {
			return "trial", err
		}
	}
	return "", nil
}

// mostPointReadings is more than any curve is fitted to.
const mostPointReadings = 20_000

// MethodReadings are the readings of one version of a method in a finished trial;
// for calibrations, in their transaction.
func (b *Operations) MethodReadings(t store.Tx, trial, method int64) (out knownwater.MethodReadings, err error) {
	x := tx{t, b.from}
	r, err := x.trialIn(trial, Finished)
	if err != nil {
		return out, err
	}
	if !slices.ContainsFunc(r.Plan.Methods, func(m PlanMethod) bool { return m.VersionID == method }) {
		return out, knownwater.Refuse(knownwater.NotFound, "the trial has no such method")
	}
	m, err := b.from.Described(t, method)
	if err != nil {
		return out, err
	}
	list, err := x.readings(trial, ReadingFilter{Method: m.Spec.Name, Limit: mostPointReadings})
	if err != nil {
		return out, err
	}
	out = knownwater.MethodReadings{Trial: r.Plan.Title, Method: m.Spec.Name, Kind: m.Spec.Kind, Scale: r.Plan.Scale}
	for _, k := range r.Plan.Knowns {
		if k.Nitrite > 0 {
			continue
		}
		out.Knowns = append(out.Knowns, knownwater.LevelTried{Level: k.Level, U: k.U, UShared: k.UShared, UBackground: k.UBackground, Matrix: k.Matrix, Blank: k.isBlank()})
	}
	for _, v := range list {
		if v.VersionID == method && v.Nitrite == 0 {
			out.Readings = append(out.Readings, knownwater.VialReading{Vial: v.Vial, Code: v.Code, Session: v.Session, Dilution: v.Dilution,
				Level: v.Level, ULevel: v.ULevel, Text: v.Text, Lot: v.Lot, LeftOut: v.Excluded != nil})
		}
	}
	return out, nil
}
