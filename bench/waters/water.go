package waters

import (
	"context"
	"fmt"
	"reflect"
	"slices"

	"knownwater"
	"knownwater/bench/store"
)

// check tidies a description, or says all that is wrong with it.
func check(s *knownwater.WaterSpec) (fs knownwater.Faults) {
	store.Line(&fs, "name", &s.Name, true)
	store.Lines(&fs, "note", &s.Note)
	if s.Kind == "" {
		s.Kind = knownwater.Tank
	}
	if s.Kind != knownwater.Tank && s.Kind != knownwater.Customer && s.Kind != knownwater.Batch {
		fs = append(fs, knownwater.Fault{Column: "kind", Found: fmt.Sprintf("%.40q", s.Kind), Want: "a tank, a customer’s water or a batch"})
	}
	if !(s.Litres >= 0 && s.Litres <= 1e9) {
		fs = append(fs, knownwater.Fault{Column: "litres", Found: fmt.Sprint(s.Litres), Want: "its net volume in litres; empty: not known"})
	}
	s.Needs = slices.Clone(s.Needs) // the caller's stay as they were
	slices.Sort(s.Needs)
	s.Needs = slices.Compact(s.Needs)
	if len(s.Needs) > mostNeeds {
		fs = append(fs, knownwater.Fault{Column: "needs", Found: "%d needs", Want: "at most %d"}.Of(len(s.Needs), mostNeeds))
	}
	return fs
}

const mostNeeds = 20

// SaveWater keeps a new water (id 0) or the next version of one; the same again makes
// nothing new. Owner.
func (b *Operations) SaveWater(ctx context.Context, by knownwater.Who, id int64, s knownwater.WaterSpec, why string) (w knownwater.Water, err error) {
	if err := by.MustOwn(); err != nil {
		return w, err
	}
	fs := check(&s)
	store.Lines(&fs, "why", &why)
	if len(fs) > 0 {
		return w, fs
	}
	err = b.write(ctx, func(t tx) error {
		for _, n := range s.Needs {
			if _, err := b.from.Need(t.Tx, n); err != nil {
				return err
			}
		}
		if taken, err := kept.NameTaken(t.Tx, s.Name, id); err != nil {
			return err
		} else if taken {
			return knownwater.Faults{knownwater.Fault{Column: "name", Found: "another water is called %q", Want: "a name of its own"}.Of(s.Name)}
		}
		what := "added the water " + s.Name
		if id != 0 {
			old, err := kept.Latest(t.Tx, id)
			if err != nil {
				return err
			}
			if reflect.DeepEqual(old.Spec, s) {
				w = old
				return nil
			}
			what = "changed the water " + s.Name
		}
		saved, err := kept.Put(t.Tx, by, id, s.Name, s, why)
		if err != nil {
			return err
		}
		if err := t.Note(by, 0, what, why); err != nil {
			return err
		}
		w, err = kept.Latest(t.Tx, saved)
		return err
	})
	return w, err
}

// Waters are all waters as they are described now, by name; those put away last.
func (b *Operations) Waters(ctx context.Context) (list []knownwater.Water, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = kept.Now(t.Tx)
		return err
	})
	return list, err
}

// Water is a water as it is described now.
func (b *Operations) Water(ctx context.Context, id int64) (w knownwater.Water, err error) {
	err = b.read(ctx, func(t tx) error {
		w, err = kept.Latest(t.Tx, id)
		return err
	})
	return w, err
}

// RetireWater puts a water away, or takes it back. Owner.
func (b *Operations) RetireWater(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		w, err := kept.Latest(t.Tx, id)
		if err != nil || w.Retired == retired {
			return err
		}
		if err := kept.Retire(t.Tx, id, retired); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "put away the water ", false: "took back the water "}[retired]+w.Spec.Name, "")
	})
}

// PutSample keeps what a result is of, in the result's own transaction, and answers its id.
//
// One of a blind vial names its code alone: the sample has been kept before.
func PutSample(t store.Tx, by knownwater.Who, s knownwater.Sample) (int64, error) {
	if s.Vial != "" {
		return blindSample(t, s.Vial)
	}
	return insertNew(t, by, s)
}

func insertNew(t store.Tx, by knownwater.Who, s knownwater.Sample) (int64, error) {
	if fs := checkSample(s); len(fs) > 0 {
		return 0, fs
	}
	if s.Water != 0 {
		if _, err := kept.Latest(t, s.Water); err != nil {
			return 0, err
		}
	}
	spec, err := store.ToJSON(s.SampleSpec)
	if err != nil {
		return 0, store.NoNumber()
	}
	var known any
	if s.Role == knownwater.Checked {
		known = s.Known
	}
	at, name, device := t.Stamp(by)
	return t.Insert(insertSample, s.Water, s.Role, known, s.UKnown, spec, at, name, device)
}

var roles = []knownwater.SampleRole{knownwater.Routine, knownwater.Checked, knownwater.Duplicate, knownwater.Blanked, knownwater.Spiked}

func checkSample(s knownwater.Sample) (fs knownwater.Faults) {
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	if !slices.Contains(roles, s.Role) {
		wrong("role", fmt.Sprintf("%.40q", s.Role), "why this vial was tested")
	}
	if s.Role == knownwater.Checked {
		if !(s.Known >= 0 && s.Known <= 1e9) {
			wrong("known", fmt.Sprint(s.Known), "what the known holds, from 0 up")
		}
		if s.Water != 0 {
			wrong("water", "a water beside a known", "one of them")
		}
	} else if s.Water == 0 {
		wrong("water", "no water", "the water that was tested")
	}
	if !(s.UKnown >= 0 && s.UKnown <= 1e9) {
		wrong("u_known", fmt.Sprint(s.UKnown), "a standard uncertainty from 0 up")
	}
	if s.Filtered != "" && s.Filtered != "yes" && s.Filtered != "no" {
		wrong("filtered", fmt.Sprintf("%.40q", s.Filtered), "yes or no")
	}
	for _, n := range []struct {
		column    string
		v         *float64
		low, high float64
	}{{"temperature", s.Temperature, -5, 60}, {"salinity", s.Salinity, 0, 300}, {"spike", s.Spike, 0, 1e9}, {"hours_kept", s.HoursKept, 0, 1e6}} {
		if n.v != nil && !(*n.v >= n.low && *n.v <= n.high) {
			wrong(n.column, "%v", "a number from %g to %g; empty: not said", *n.v, n.low, n.high)
		}
	}
	return fs
}

// SayStanding says what became of results that waited. Owner.
func (b *Operations) SayStanding(ctx context.Context, by knownwater.Who, results []int64, standing knownwater.Ruling, why string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	var fs knownwater.Faults
	why, err := store.Reason(why)
	if more, ok := err.(knownwater.Faults); ok {
		fs = append(fs, more...)
	}
	if standing != knownwater.ResultStands && standing != knownwater.ResultLeftOut {
		fs = append(fs, knownwater.Fault{Column: "standing", Found: "nothing chosen", Want: "whether they stand or are left out"})
	}
	if len(results) == 0 || len(results) > mostSettled {
		fs = append(fs, knownwater.Fault{Column: "result", Found: "%d results", Want: "1 to %d of them"}.Of(len(results), mostSettled))
	}
	if len(fs) > 0 {
		return fs
	}
	return b.write(ctx, func(t tx) error {
		at, name, device := t.Stamp(by)
		for _, id := range results {
			if err := b.from.Result(t.Tx, id); err != nil {
				return err
			}
			if err := t.Exec(insertStanding, id, standing, why, at, name, device); err != nil {
				return err
			}
		}
		return t.Note(by, 0, fmt.Sprintf("said of %d results that they are: %s", len(results), standing), why)
	})
}

const mostSettled = 5000

// KeptFaults looks into the descriptions that the tables themselves cannot check.
func KeptFaults(t store.Tx) (table string, err error) {
	specs, err := store.All(t, everyWater, store.ScanJSON[knownwater.WaterSpec])
	if err != nil {
		return "water_version", err
	}
	for _, s := range specs {
		if fs := check(&s); len(fs) > 0 {
			return "water_version", fs
		}
	}
	samples, err := store.All(t, everySample, scanSample)
	if err != nil {
		return "sample", err
	}
	for _, s := range samples {
		if fs := checkSample(s); len(fs) > 0 {
			return "sample", fs
		}
	}
	rows, err := store.All(t, everyEarlierRow, scanEarlierRow)
	if err != nil {
		return "earlier_row", err
	}
	for _, r := range rows {
		if fs := checkEarlier("", &r); len(fs) > 0 {
			return "earlier_row", fs
		}
	}
	return "", nil
}

func scanSample(scan func(...any) error) (s knownwater.Sample, err error) {
	var known *float64
	err = scan(&s.ID, &s.Water, &s.Role, &known, &s.UKnown, store.JSON(&s.SampleSpec))
	if known != nil {
		s.Known = *known
	}
	return s, err
}
