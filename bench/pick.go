package bench

import (
	"context"
	"fmt"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/note"
	"knownwater/science/unit"
	"knownwater/sqlite"
)

// WithSet is the plan with its levels taken from a prepared set: what came from
// a set before goes, what was typed stays, and each standard keeps the number of
// vials that it had.
func (p Plan) WithSet(s PreparedSet) Plan {
	vials := map[string]int{}
	var knowns []Known
	for _, k := range p.Knowns {
		if k.Standard == "" {
			knowns = append(knowns, k)
			continue
		}
		vials[k.Standard] = k.Vials
	}
	for _, x := range s.Spec.standards() {
		knowns = append(knowns, Known{Standard: x.Name, Label: x.Code, Vials: vials[x.Name]})
	}
	p.Set, p.Knowns = s.VersionID, knowns
	return p
}

// WithoutSet is the plan with the levels that came from a set taken out.
func (p Plan) WithoutSet() Plan {
	var knowns []Known
	for _, k := range p.Knowns {
		if k.Standard == "" {
			knowns = append(knowns, k)
		}
	}
	p.Set, p.Knowns = 0, knowns
	return p
}

// fromSet fills the knowns that name a standard with what that standard is: its
// code as label, its value, its uncertainty and the part that it shares. nil
// where the plan names no set.
func (t tx) fromSet(p Plan) (Plan, *PreparedSet, error) {
	if p.Set == 0 {
		return p, nil, nil
	}
	s, err := t.setVersion(p.Set)
	if err != nil {
		return p, nil, err
	}
	f, err := s.onScale(p)
	if err != nil {
		return p, &s, nil // CheckPlan tells
	}
	p.Knowns = append([]Known(nil), p.Knowns...)
	for i := range p.Knowns {
		k := &p.Knowns[i]
		if st, ok := s.Standard(k.Standard); ok {
			k.Label, k.Matrix = st.Solution.Code, s.Spec.Shelf.Water.Spec.Name
			k.Level, k.U, k.UShared = st.Value.Value*f, st.U*f, st.UShared*f
			k.Blank = st.Solution.From == ""
		}
	}
	return p, &s, nil
}

// onScale is what the set's numbers must be multiplied by for a plan.
func (s PreparedSet) onScale(p Plan) (float64, error) {
	if s.Spec.Shelf.Scale == p.Scale {
		return 1, nil
	}
	water := unit.Water{Temperature: s.Spec.Shelf.Temperature}
	if w := s.Spec.Shelf.Water.Spec.Water; w != nil {
		water.Salinity = w.Salinity
	}
	return unit.Factor(s.Spec.Shelf.Scale, p.Scale, water)
}

// setFaults is what keeps a plan from being sealed with its set.
func (p planned) setFaults() (fs knownwater.Faults) {
	wrong := func(row int, found, want string) {
		fs = append(fs, knownwater.Fault{Column: "set", Row: row, Found: found, Want: want})
	}
	if p.set == nil {
		for i, k := range p.Knowns {
			if k.Standard != "" {
				wrong(i+1, fmt.Sprintf("the standard %q of no set", k.Standard), "a set of standards, or a level typed in")
			}
		}
		return fs
	}
	s := p.set
	if _, err := s.onScale(p.Plan); err != nil {
		wrong(0, fmt.Sprintf("the set %q holds %s: %v", s.Spec.Name, s.Spec.Shelf.Scale.Analyte, err), "a set of the plan's analyte")
	}
	for i, k := range p.Knowns {
		if k.Standard == "" {
			continue
		}
		st, ok := s.Standard(k.Standard)
		if !ok {
			wrong(i+1, fmt.Sprintf("the set %q has no standard %q", s.Spec.Name, k.Standard), "standards of the set: pick it up again")
			continue
		}
		if x := s.Spec.Solutions[s.Spec.place(st.Solution.Name)]; !x.IsMade() {
			wrong(i+1, fmt.Sprintf("standard %s of the set %q is only planned: what it holds is not known yet", x.Code, s.Spec.Name),
				"make it, write down what was really taken, and pick the set up again")
		}
	}
	return fs
}

// LateStandards are warnings for whoever fills the vials of a trial: standards
// past their day, a stock that has expired. They tell no level. Owner.
func (b *Bench) LateStandards(ctx context.Context, by knownwater.Who, trial int64) (words []note.Note, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.read(ctx, func(t tx) error {
		r, err := t.trial(trial)
		if err != nil || r.Plan.Set == 0 {
			return err
		}
		s, err := store.One(t.Tx, "version of a set of standards", setVersionID, scanSet, r.Plan.Set)
		words = s.Spec.late(t.Now)
		return err
	})
	return words, err
}

// setDoubts are the doubts of a plan's set.
func (p planned) setDoubts() (out []note.Note) {
	if p.set == nil {
		return nil
	}
	if !p.set.Latest {
		out = append(out, note.Told(fmt.Sprintf("The set “%s” has a newer version than the plan's: pick it up again.", p.set.Spec.Name)))
	}
	return append(out, p.set.Doubts...)
}

// Provenance says where the levels of a trial came from.
type Provenance struct {
	Set       string // its name
	SetID     int64
	Version   int
	VersionID int64
	UseBy     string
	Stocks    []string // in words, with value and dates
	Standards []StandardChain
}

// StandardChain is the way of one known from its stock.
type StandardChain struct {
	Code    string
	Level   float64 // on the trial's scale
	U       float64
	UShared float64
	Chain   []string
	Largest string // the largest part of its uncertainty, in words
	MadeAt  string
	Shares  []PartShare
}

// PartShare is one line of a budget.
type PartShare struct {
	Kind  string
	U     float64 // on the trial's scale
	Share float64 // of the variance
}

// provenance tells the chain of a trial's levels; nil where no set was picked.
func (t tx) provenance(r Trial) (*Provenance, error) {
	if r.Plan.Set == 0 {
		return nil, nil
	}
	s, err := t.setVersion(r.Plan.Set)
	if err != nil {
		return nil, err
	}
	f, err := s.onScale(r.Plan)
	if err != nil {
		return nil, err
	}
	out := &Provenance{Set: s.Spec.Name, SetID: s.ID, Version: s.Version, VersionID: s.VersionID, UseBy: s.Spec.UseBy}
	out.Stocks = s.Spec.StockWords()
	for _, k := range r.Plan.Knowns {
		st, ok := s.Standard(k.Standard)
		if !ok {
			continue
		}
		c := StandardChain{Code: k.Label, Level: k.Level, U: k.U, UShared: k.UShared, Chain: st.Chain, Largest: st.Largest,
			MadeAt: s.Spec.Solutions[s.Spec.place(st.Solution.Name)].MadeAt}
		for _, share := range st.Value.Parts.ByKind() {
			c.Shares = append(c.Shares, PartShare{share.Kind, share.U * f, share.Share})
		}
		out.Standards = append(out.Standards, c)
	}
	return out, nil
}

// StockWords are the stocks that a set comes from, as their labels say.
func (s SetSpec) StockWords() (out []string) {
	for _, x := range s.used() {
		out = append(out, x.Spec.Name+": "+x.Spec.Stock.words())
	}
	return out
}

// words are a stock's particulars as they stand on its label.
func (s StockSpec) words() string {
	out := ""
	switch {
	case s.Salt != nil:
		out = fmt.Sprintf("%g g of %s, purity %g, filled up in %s", s.Salt.Mass, s.Salt.Salt, s.Salt.Purity, s.Salt.Flask)
	case s.Expanded > 0:
		out = fmt.Sprintf("%g %s, U = %g (k = %g)", s.Value, s.Scale, s.Expanded, s.K)
	default:
		out = fmt.Sprintf("%g %s, u = %g", s.Value, s.Scale, s.U)
	}
	if s.Loss > 0 {
		out += fmt.Sprintf(", raised by %.2g g of water lost from %g mL", s.Loss, s.LossFrom)
	}
	if s.Made != "" {
		out += ", made " + s.Made
	}
	if s.Expires != "" {
		out += ", expires " + s.Expires
	}
	return out
}

var countAfterDay = sqlite.SQL(`select count(*) from reading r where r.trial_id = ? and r.withdrawn = 0 and r.read_at <> '' and substr(r.read_at, 1, 10) > ?
	and not exists (select 1 from reading s where s.supersedes = r.id)`)

// standardNotes are warnings about the standards of a trial: used late, or from
// a stock that had expired by the time of the readings.
func (t tx) standardNotes(r Trial) (notes []string, err error) {
	if r.Plan.Set == 0 {
		return nil, nil
	}
	s, err := t.setVersion(r.Plan.Set)
	if err != nil {
		return nil, err
	}
	late := func(until, words string, args ...any) error {
		if until == "" {
			return nil
		}
		n, err := store.One(t.Tx, "count", countAfterDay, store.Value[int], r.ID, until)
		if err == nil && n > 0 {
			notes = append(notes, fmt.Sprintf("%d readings were taken after %s, ", n, until)+fmt.Sprintf(words, args...))
		}
		return err
	}
	if err := late(s.Spec.UseBy, "the day until which the standards of %q were to be used.", s.Spec.Name); err != nil {
		return nil, err
	}
	for _, x := range s.Spec.used() {
		if err := late(x.Spec.Stock.Expires, "when the stock %q, which their standards come from, had expired.", x.Spec.Name); err != nil {
			return nil, err
		}
	}
	if day := s.Spec.lastMade(); !day.IsZero() {
		for _, x := range s.Spec.used() {
			if e := dayOf(x.Spec.Stock.Expires); !e.IsZero() && e.Before(day) {
				notes = append(notes, fmt.Sprintf("The standards were made on %s from the stock %q, which had expired on %s.", day.Format(time.DateOnly), x.Spec.Name, x.Spec.Stock.Expires))
			}
		}
	}
	return notes, nil
}

// lastMade is the day on which the last solution was made.
func (s SetSpec) lastMade() (day time.Time) {
	for _, x := range s.Solutions {
		if len(x.MadeAt) < len(time.DateOnly) {
			continue
		}
		if d := dayOf(x.MadeAt[:len(time.DateOnly)]); d.After(day) {
			day = d
		}
	}
	return day
}
