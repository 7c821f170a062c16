package trials

import (
	"context"
	"fmt"
	"strings"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/plan"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// NewTrial begins a trial with a plan, which may be empty but for its title.
// Owner.
func (b *Operations) NewTrial(ctx context.Context, by knownwater.Who, p Plan) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	p, _, err = p.tidied()
	if err != nil {
		return Trial{}, err
	}
	err = b.write(ctx, func(t tx) error {
		p, text, err := t.filled(p)
		if err != nil {
			return err
		}
		at, name, device := t.Stamp(by)
		id, err := t.Insert(insertTrial, Planned, p.Title, text, "[]", "[]", false, "", 0, at, name, device)
		if err != nil {
			return err
		}
		if err := t.Note(by, id, "began the plan", ""); err != nil {
			return err
		}
		r, err = t.trial(id)
		return err
	})
	return r, err
}

// SavePlan keeps a plan while the trial is in state planned. Owner.
func (b *Operations) SavePlan(ctx context.Context, by knownwater.Who, trial int64, p Plan) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	p, _, err = p.tidied()
	if err != nil {
		return Trial{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if r, err = t.trialIn(trial, Planned); err != nil {
			return err
		}
		p, text, err := t.filled(p)
		if err != nil {
			return err
		}
		if err := t.Exec(updatePlan, p.Title, text, trial); err != nil {
			return err
		}
		r, err = t.trial(trial)
		return err
	})
	return r, err
}

// DropTrial forgets a trial that is still only planned. Owner.
func (b *Operations) DropTrial(ctx context.Context, by knownwater.Who, trial int64) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		r, err := t.trial(trial)
		if err != nil {
			return err
		}
		if err := r.mustBe(Planned); err != nil {
			return err
		}
		if err := t.Exec(dropTrial, trial); err != nil {
			return err
		}
		return t.Note(by, trial, "dropped the plan "+r.Plan.Title, "")
	})
}

// tidied is the plan as it is kept, and its JSON. Only what cannot be kept is a
// fault here; what keeps it from being sealed is CheckPlan's business.
func (p Plan) tidied() (Plan, string, error) {
	var fs knownwater.Faults
	store.Line(&fs, "title", &p.Title, true)
	store.Lines(&fs, "question", &p.Question)
	store.Line(&fs, "check", &p.Check, false)
	if scale, err := unit.Parse(p.Scale.Analyte, p.Scale.Unit, p.Scale.Basis); err == nil {
		p.Scale = scale
	}
	p.Knowns = append([]Known(nil), p.Knowns...)
	for i := range p.Knowns {
		store.Line(&fs, "knowns", &p.Knowns[i].Label, false)
		store.Line(&fs, "knowns", &p.Knowns[i].Matrix, false)
		store.Line(&fs, "knowns", &p.Knowns[i].Standard, false)
	}
	p.Methods = append([]PlanMethod(nil), p.Methods...)
	for i := range p.Methods {
		ts := append([]string(nil), p.Methods[i].Techniques...)
		for j := range ts {
			store.Line(&fs, "techniques", &ts[j], false)
		}
		p.Methods[i].Techniques = ts
	}
	if len(p.Knowns) > 200 || len(p.Methods) > 50 || len(p.Readers) > 500 || len(p.Needs) > 100 {
		fs = append(fs, knownwater.Fault{Found: "a plan beyond all measure", Want: "at most 200 knowns, 50 methods, 500 readers and 100 needs"})
	}
	if p.Seed >= 1<<53 {
		fs = append(fs, knownwater.Fault{Column: "seed", Found: fmt.Sprint(p.Seed), Want: "below 9007199254740992"})
	}
	if len(fs) > 0 {
		return p, "", fs
	}
	text, err := store.ToJSON(p)
	if err != nil { // JSON knows no infinity and no NaN
		return p, "", knownwater.Faults{{Found: "a number that is none", Want: "numbers throughout"}}
	}
	return p, text, nil
}

// filled is a tidied plan with the levels of its set, and its JSON.
func (t tx) filled(p Plan) (Plan, string, error) {
	p, _, err := t.fromSet(p)
	if err != nil {
		return p, "", err
	}
	return p.tidied()
}

// fullPlan is a plan with all that it names.
type fullPlan struct {
	Plan
	methods []knownwater.MethodVersion
	lots    [][]knownwater.Lot
	readers []knownwater.Person
	needs   []knownwater.NeedEntry
	set     *knownwater.Standards // nil: none
	check   int                   // place of the check standard among the knowns; −1: none
}

// named loads what a plan names.
func (t tx) named(p Plan) (fullPlan, error) {
	out := fullPlan{Plan: p, check: -1}
	var err error
	if out.Plan, out.set, err = t.fromSet(p); err != nil {
		return out, err
	}
	p = out.Plan
	for _, pm := range p.Methods {
		m, err := t.from.Method(t.Tx, pm.VersionID)
		if err != nil {
			return out, err
		}
		var lots []knownwater.Lot
		for _, id := range pm.Lots {
			l, err := t.from.Lot(t.Tx, id)
			if err != nil {
				return out, err
			}
			lots = append(lots, l)
		}
		out.methods, out.lots = append(out.methods, m), append(out.lots, lots)
	}
	for _, id := range p.Readers {
		who, err := t.from.Person(t.Tx, id)
		if err != nil {
			return out, err
		}
		out.readers = append(out.readers, who)
	}
	for _, id := range p.Needs {
		n, err := t.from.Need(t.Tx, id)
		if err != nil {
			return out, err
		}
		out.needs = append(out.needs, n)
	}
	for i, k := range p.Knowns {
		if p.Check != "" && k.Label == p.Check {
			out.check = i
		}
	}
	return out, nil
}

// isBlank says whether a known counts as a blank.
func (k Known) isBlank() bool { return k.Blank || k.Level == 0 && k.Nitrite == 0 }

// LabelOf is what a known is called where nobody says.
func LabelOf(level, nitrite float64, unit string) string {
	label := strings.TrimSpace(fmt.Sprintf("%g %s", level, unit))
	if nitrite > 0 {
		label += fmt.Sprintf(" + %g NO2", nitrite)
	}
	return label
}

// design is the plan in numbers.
func (p fullPlan) design() plan.Design {
	d := plan.Design{
		Readers: len(p.readers), Sessions: p.Sessions, Replicates: p.Replicates, Blanks: p.Blanks,
		Check: p.check, CheckEvery: p.CheckEvery, Duplicates: p.Duplicates,
	}
	for _, k := range p.Knowns {
		d.Knowns = append(d.Knowns, plan.DesignKnown{Level: k.Level, Blank: k.isBlank(), Vials: k.Vials})
	}
	for i, m := range p.methods {
		pm := p.Methods[i]
		techniques := pm.Techniques
		if len(techniques) == 0 {
			techniques = []string{""}
		}
		f, _ := p.factor(m)
		d.Methods = append(d.Methods, plan.DesignMethod{
			Techniques: techniques, Lots: len(p.lots[i]), Together: pm.Together,
			DilutionOver: m.Spec.Dilution.Over * f, Dilution: dilutes(m.Spec.Dilution),
		})
	}
	return d
}

// dilutes is the factor by which a method's procedure dilutes; 0: it does not.
func dilutes(d knownwater.Dilution) float64 {
	if d.Over <= 0 {
		return 0
	}
	return d.By()
}

// factor turns a number on the method's scale into one on the plan's. A signal
// has no scale of a concentration.
func (p Plan) factor(m knownwater.MethodVersion) (float64, error) {
	if m.Spec.Scale == p.Scale || reading.Of(m.Spec.Kind).Signal {
		return 1, nil
	}
	return unit.Factor(m.Spec.Scale, p.Scale, p.Water)
}

// onScale is a method on the plan's scale.
func (p Plan) onScale(m knownwater.MethodVersion) (knownwater.Method, error) {
	f, err := p.factor(m)
	n := m.Spec.Method()
	if m.Spec.Scale != p.Scale && !reading.Of(n.Kind).Signal {
		n.Own = m.Spec.Scale
	}
	return reading.OnScale(n, f), err
}

// Need is a need on the plan's scale.
func (p Plan) Need(n knownwater.NeedEntry) (knownwater.Need, error) {
	d := n.Need
	if n.Scale == p.Scale {
		return d, nil
	}
	f, err := unit.Factor(n.Scale, p.Scale, p.Water)
	d.Low, d.High = d.Low*f, d.High*f
	d.Usual = [2]float64{d.Usual[0] * f, d.Usual[1] * f}
	d.Permitted = append([]knownwater.Permit(nil), d.Permitted...)
	for i := range d.Permitted {
		d.Permitted[i].At *= f
		d.Permitted[i].Error *= f
	}
	return d, err
}

// needsOnScale are the plan's needs on its scale.
func (p fullPlan) needsOnScale() ([]knownwater.Need, error) { return each(p.needs, p.Need) }

// methodsOnScale are the plan's methods on its scale.
func (p fullPlan) methodsOnScale() ([]knownwater.Method, error) { return each(p.methods, p.onScale) }

// each turns every one of a list, up to the first that cannot be.
func each[A, B any](list []A, turn func(A) (B, error)) ([]B, error) {
	var out []B
	for _, a := range list {
		b, err := turn(a)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}
