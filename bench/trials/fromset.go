package trials

import (
	"context"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/note"
)

// WithSet is the plan with its levels taken from a prepared set: what came from
// a set before goes, what was typed stays, and each standard keeps the number of
// vials that it had.
func (p Plan) WithSet(s knownwater.Standards) Plan {
	vials := map[string]int{}
	var knowns []Known
	for _, k := range p.Knowns {
		if k.Standard == "" {
			knowns = append(knowns, k)
			continue
		}
		vials[k.Standard] = k.Vials
	}
	for _, x := range s.Standards {
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
func (t tx) fromSet(p Plan) (Plan, *knownwater.Standards, error) {
	if p.Set == 0 {
		return p, nil, nil
	}
	s, err := t.from.Standards(t.Tx, p.Set)
	if err != nil {
		return p, nil, err
	}
	f, err := s.To(p.Scale)
	if err != nil {
		return p, &s, nil // CheckPlan tells
	}
	p.Knowns = append([]Known(nil), p.Knowns...)
	for i := range p.Knowns {
		k := &p.Knowns[i]
		if st, ok := s.Find(k.Standard); ok {
			k.Label, k.Matrix = st.Code, s.Matrix
			k.Level, k.U, k.UShared, k.UBackground = st.Level*f, st.U*f, st.UShared*f, st.UBackground*f
			k.Blank = st.Blank
		}
	}
	return p, &s, nil
}

// setFaults is what keeps a plan from being sealed with its set.
func (p fullPlan) setFaults() (fs knownwater.Faults) {
	wrong := func(row int, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: "set", Row: row, Found: found, Want: want}.Of(values...))
	}
	if p.set == nil {
		for i, k := range p.Knowns {
			if k.Standard != "" {
				wrong(i+1, "the standard %q of no set", "a set of standards, or a level typed in", k.Standard)
			}
		}
		return fs
	}
	s := p.set
	if _, err := s.To(p.Scale); err != nil {
		wrong(0, "the set %q holds %s: %v", "a set of the plan's analyte", s.Name, s.Scale.Analyte, err)
	}
	for i, k := range p.Knowns {
		if k.Standard == "" {
			continue
		}
		st, ok := s.Find(k.Standard)
		if !ok {
			wrong(i+1, "the set %q has no standard %q", "standards of the set: pick it up again", s.Name, k.Standard)
			continue
		}
		if !st.Made {
			wrong(i+1, "standard %s of the set %q is only planned: what it holds is not known yet",
				"make it, write down what was really taken, and pick the set up again", st.Code, s.Name)
		}
	}
	return fs
}

// LateStandards are warnings for whoever fills the vials of a trial: standards
// past their day, a stock that has expired. They tell no level. Owner.
func (b *Operations) LateStandards(ctx context.Context, by knownwater.Who, trial int64) (words []note.Note, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.read(ctx, func(t tx) error {
		r, err := t.trial(trial)
		if err != nil || r.Plan.Set == 0 {
			return err
		}
		s, err := t.from.Standards(t.Tx, r.Plan.Set)
		words = s.Late
		return err
	})
	return words, err
}

// setDoubts are the doubts of a plan's set.
func (p fullPlan) setDoubts() (out []note.Note) {
	if p.set == nil {
		return nil
	}
	if !p.set.Latest {
		out = append(out, note.New("set-has-newer").Name("set", p.set.Name))
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
	Code                 string
	Level                float64 // on the trial's scale
	U                    float64
	UShared, UBackground float64
	Chain                []note.Note
	Largest              note.Note // the largest part of its uncertainty
	MadeAt               string
	Shares               []knownwater.PartShare
}

// provenance tells the chain of a trial's levels; nil where no set was picked.
func (t tx) provenance(r Trial) (*Provenance, error) {
	if r.Plan.Set == 0 {
		return nil, nil
	}
	s, err := t.from.Standards(t.Tx, r.Plan.Set)
	if err != nil {
		return nil, err
	}
	f, err := s.To(r.Plan.Scale)
	if err != nil {
		return nil, err
	}
	out := &Provenance{Set: s.Name, SetID: s.ID, Version: s.Version, VersionID: s.VersionID, UseBy: s.UseBy}
	for _, x := range s.Stocks {
		out.Stocks = append(out.Stocks, x.Name+": "+x.Words)
	}
	for _, k := range r.Plan.Knowns {
		st, ok := s.Find(k.Standard)
		if !ok {
			continue
		}
		c := StandardChain{Code: k.Label, Level: k.Level, U: k.U, UShared: k.UShared, UBackground: k.UBackground, Chain: st.Chain, Largest: st.Largest, MadeAt: st.MadeAt}
		for _, share := range st.Shares {
			share.U *= f
			c.Shares = append(c.Shares, share)
		}
		out.Standards = append(out.Standards, c)
	}
	return out, nil
}

// standardNotes are warnings about the standards of a trial: used late, or from
// a stock that had expired by the time of the readings.
func (t tx) standardNotes(r Trial) (notes []note.Note, err error) {
	if r.Plan.Set == 0 {
		return nil, nil
	}
	s, err := t.from.Standards(t.Tx, r.Plan.Set)
	if err != nil {
		return nil, err
	}
	late := func(until string, n note.Note) error {
		if until == "" {
			return nil
		}
		count, err := store.One(t.Tx, "count", countAfterDay, store.Value[int], r.ID, until)
		if err == nil && count > 0 {
			notes = append(notes, n.Number("readings", float64(count)).Name("day", until))
		}
		return err
	}
	if err := late(s.UseBy, note.New("read-after-use-by").Name("set", s.Name)); err != nil {
		return nil, err
	}
	for _, x := range s.Stocks {
		if err := late(x.Expires, note.New("read-after-expiry").Name("stock", x.Name)); err != nil {
			return nil, err
		}
	}
	if day := s.LastMade; !day.IsZero() {
		for _, x := range s.Stocks {
			if e, err := time.Parse(time.DateOnly, x.Expires); err == nil && e.Before(day) {
				notes = append(notes, note.New("made-from-expired").Name("made", day.Format(time.DateOnly)).Name("stock", x.Name).Name("expired", x.Expires))
			}
		}
	}
	return notes, nil
}
