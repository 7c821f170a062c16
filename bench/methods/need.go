package methods

import (
	"context"
	"fmt"
	"math"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/unit"
)

func checkNeed(n *knownwater.NeedEntry) knownwater.Faults {
	var fs knownwater.Faults
	store.Line(&fs, "name", &n.Need.Name, true)
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	scale, err := unit.Parse(n.Scale.Analyte, n.Scale.Unit, n.Scale.Basis)
	if err != nil {
		wrong("scale", err.Error(), "an analyte, a unit and a basis that belong together")
	}
	n.Scale = scale
	d := n.Need
	if !(d.Low >= 0 && d.Low < d.High) || math.IsInf(d.High, 0) {
		wrong("low", "from %g to %g", "the lower limit, then a higher one, both from 0 up", d.Low, d.High)
	}
	if len(d.Permitted) == 0 || len(d.Permitted) > 100 {
		wrong("permitted", "%d permitted errors", "at least one: the largest error a single result may have at a concentration", len(d.Permitted))
	}
	for i, p := range d.Permitted {
		if !(p.At >= 0 && p.Error > 0) || math.IsInf(p.At, 0) || math.IsInf(p.Error, 0) || i > 0 && p.At <= d.Permitted[i-1].At {
			wrong("permitted", "error %g at %g", "an error above 0, at concentrations that rise from 0 up", p.Error, p.At)
		}
	}
	for column, v := range map[string]float64{"tests_a_month": d.TestsAMonth, "minutes_at_most": d.MinutesAtMost, "money_a_year": d.MoneyAYear,
		"waste_ml_a_year": d.WasteMLAYear, "wrong_below": d.WrongBelow, "wrong_above": d.WrongAbove, "false_alarm": d.FalseAlarm, "change": d.Change} {
		if !(v >= 0) || math.IsInf(v, 0) {
			wrong(column, fmt.Sprint(v), "0 or more")
		}
	}
	if d.Sure != 0 && !(d.Sure > 0.5 && d.Sure < 1) {
		wrong("sure", fmt.Sprint(d.Sure), "between 0.5 and 1, such as 0.95")
	}
	if what := knownwater.NoHazard(d.Hazards); what != "" {
		wrong("hazards", fmt.Sprintf("%q", what), knownwater.HazardNames())
	}
	if u := d.Usual; u != [2]float64{} && !(u[0] >= 0 && u[0] < u[1] && !math.IsInf(u[1], 0)) {
		wrong("usual_low", "from %g to %g", "two concentrations from 0 up, the second above the first", u[0], u[1])
	}
	return fs
}

// SaveNeed adds a need (ID 0) or changes it. Sealed trials keep the need as it
// was when they were sealed. Owner.
func (b *Operations) SaveNeed(ctx context.Context, by knownwater.Who, n knownwater.NeedEntry) (saved knownwater.NeedEntry, err error) {
	if err := by.MustOwn(); err != nil {
		return knownwater.NeedEntry{}, err
	}
	if fs := checkNeed(&n); len(fs) > 0 {
		return knownwater.NeedEntry{}, fs
	}
	spec, err := store.ToJSON(needSpec{n.Scale, n.Need})
	if err != nil {
		return knownwater.NeedEntry{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if same, err := store.One(t.Tx, "need", needSame, store.Value[int], n.Need.Name, n.ID); err != nil {
			return err
		} else if same > 0 {
			return knownwater.Faults{knownwater.Fault{Column: "name", Found: "another need is called %q", Want: "a name of its own"}.Of(n.Need.Name)}
		}
		id, err := t.putNeed(by, n, spec)
		if err != nil {
			return err
		}
		saved, err = NeedByID(t.Tx, id)
		return err
	})
	return saved, err
}

func (t tx) putNeed(by knownwater.Who, n knownwater.NeedEntry, spec string) (int64, error) {
	if n.ID == 0 {
		at, name, device := t.Stamp(by)
		id, err := t.Insert(insertNeed, n.Need.Name, spec, n.Retired, at, name, device)
		if err != nil {
			return 0, err
		}
		return id, t.Note(by, 0, "added need "+n.Need.Name, "")
	}
	old, err := NeedByID(t.Tx, n.ID)
	if err != nil {
		return 0, err
	}
	was, err := store.ToJSON(needSpec{old.Scale, old.Need})
	if err != nil {
		return 0, err
	}
	if err := t.Exec(updateNeed, n.Need.Name, spec, n.Retired, n.ID); err != nil {
		return 0, err
	}
	return n.ID, t.Note(by, 0, "changed need "+old.Need.Name, "was "+was)
}

// Needs are all needs, by name; retired ones last.
func (b *Operations) Needs(ctx context.Context) (ns []knownwater.NeedEntry, err error) {
	err = b.read(ctx, func(t tx) error {
		ns, err = store.All(t.Tx, needsAll, scanNeed)
		return err
	})
	return ns, err
}

// NeedLike is the need of that name and scale that is in use, or a new one. Owner, where it is new.
func (b *Operations) NeedLike(ctx context.Context, by knownwater.Who, n knownwater.NeedEntry) (knownwater.NeedEntry, error) {
	all, err := b.Needs(ctx)
	if err != nil {
		return n, err
	}
	for _, have := range all {
		if have.Need.Name == n.Need.Name && have.Scale == n.Scale && !have.Retired {
			return have, nil
		}
	}
	return b.SaveNeed(ctx, by, n)
}

// Need is one need.
func (b *Operations) Need(ctx context.Context, id int64) (n knownwater.NeedEntry, err error) {
	err = b.read(ctx, func(t tx) error {
		n, err = NeedByID(t.Tx, id)
		return err
	})
	return n, err
}
