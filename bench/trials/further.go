package trials

import (
	"context"
	"fmt"
	"slices"

	"knownwater"
)

// FurtherVials are vials of knowns that a trial tried, to be tested again by one of its methods.
type FurtherVials struct {
	Trial  int64
	Method string // by name
	Matrix string // the water that its knowns were made in
	Levels []float64
	Each   int
	Needs  []int64
}

// PlanFurther begins a trial of further vials: the same version of the method, the same
// people, the knowns as they were. Everything can still be changed. Owner.
func (b *Operations) PlanFurther(ctx context.Context, by knownwater.Who, f FurtherVials) (Trial, error) {
	var p Plan
	err := b.read(ctx, func(t tx) error {
		r, err := t.trialToJudge(by, f.Trial)
		if err != nil {
			return err
		}
		p = Plan{Title: "Further vials: " + f.Method, Question: "Does this settle what “" + r.Plan.Title + "” left open?", Scale: r.Plan.Scale, Water: r.Plan.Water, NoWater: r.Plan.NoWater,
			Readers: r.Plan.Readers, Needs: f.Needs, Sessions: 1, Replicates: f.Each, Blanks: f.Each}
		for _, m := range r.Plan.Methods {
			v, err := t.from.Described(t.Tx, m.VersionID)
			if err != nil {
				return err
			}
			if v.Spec.Name == f.Method {
				m.Techniques = nil // the first: what is judged
				p.Methods = []PlanMethod{m}
			}
		}
		if p.Methods == nil {
			return knownwater.Faults{{Column: "method", Found: fmt.Sprintf("%q", f.Method), Want: "a method of the trial"}}
		}
		d, err := t.data(r, FindingsOptions{})
		if err != nil {
			return err
		}
		p.Knowns, err = knownsAt(d, f)
		return err
	})
	if err != nil {
		return Trial{}, err
	}
	return b.NewTrial(ctx, by, p)
}

// knownsAt are a trial's knowns at some levels.
func knownsAt(d knownwater.Trial, f FurtherVials) (out []Known, err error) {
	for _, level := range f.Levels {
		i := slices.IndexFunc(d.Observations, func(o knownwater.Observation) bool {
			return o.Method == f.Method && o.Matrix == f.Matrix && o.Level == level
		})
		if i < 0 {
			return nil, knownwater.Faults{{Column: "level", Found: fmt.Sprint(level), Want: "a level that the method was tried at"}}
		}
		o := d.Observations[i]
		out = append(out, Known{Label: LabelOf(level, 0, ""), Level: level, U: o.ULevel, UShared: o.UShared, UBackground: o.UBackground, Matrix: o.Matrix, Blank: level == 0, Vials: f.Each})
	}
	return out, nil
}
