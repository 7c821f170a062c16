package methods

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"regexp"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/plan"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

var colour = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// Faults returns every fault of a description, with the form field in Column.
func Faults(s knownwater.MethodSpec) knownwater.Faults {
	fs := append(knownwater.Faults(nil), reading.Faults(s.Method())...)
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	if _, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err != nil {
		wrong("scale", err.Error(), "an analyte, a unit and a basis that belong together")
	}
	for i, w := range s.Swatches {
		if w.Colour != "" && !colour.MatchString(w.Colour) {
			wrong("swatches", "colour %q of swatch %d", "#rrggbb, or nothing", w.Colour, i+1)
		}
	}
	if len(s.Swatches) > 100 || len(s.Steps) > 50 {
		wrong("swatches", "a very long list", "at most 100 swatches and 50 steps")
	}
	if (s.RangeLow == nil) != (s.RangeHigh == nil) {
		wrong("range_low", "one end of the range", "both ends, or neither")
	}
	if err := plan.ValidSteps(s.Steps); err != nil {
		wrong("steps", err.Error(), "steps with a name and a time")
	}
	d := s.Dilution
	for column, v := range map[string]float64{
		"sample_ml": d.SampleML, "u_sample_ml": d.USampleML, "water_ml": d.WaterML, "u_water_ml": d.UWaterML, "over": d.Over,
	} {
		if !(v >= 0) || math.IsInf(v, 0) {
			wrong(column, fmt.Sprint(v), "0 or more")
		}
	}
	if (d.SampleML > 0) != (d.WaterML > 0) {
		wrong("sample_ml", "one volume of the dilution", "both volumes, or neither")
	}
	return fs
}

// tidied is the description as it is kept, with the faults of its texts.
func tidied(s knownwater.MethodSpec) (knownwater.MethodSpec, knownwater.Faults) {
	var fs knownwater.Faults
	store.Line(&fs, "name", &s.Name, false) // Check asks for it
	store.Line(&fs, "sample_device", &s.Dilution.SampleDevice, false)
	store.Line(&fs, "water_device", &s.Dilution.WaterDevice, false)
	store.Lines(&fs, "note", &s.Note)
	store.Lines(&fs, "caution", &s.Caution)
	s.Steps = append([]knownwater.Step(nil), s.Steps...)
	for i := range s.Steps {
		store.Line(&fs, "steps", &s.Steps[i].Name, false)
	}
	if scale, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err == nil {
		s.Scale = scale
	}
	s.Swatches = append([]knownwater.Swatch(nil), s.Swatches...)
	return s, append(fs, Faults(s)...)
}

// SaveMethod makes a new method (id 0) or the next version of one; an unchanged
// description makes nothing new. From the second version on it needs a why.
// Owner.
func (b *Operations) SaveMethod(ctx context.Context, by knownwater.Who, id int64, s knownwater.MethodSpec, why string) (m knownwater.MethodVersion, err error) {
	if err := by.MustOwn(); err != nil {
		return knownwater.MethodVersion{}, err
	}
	s, fs := tidied(s)
	store.Lines(&fs, "why", &why)
	if len(fs) > 0 {
		return knownwater.MethodVersion{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if id != 0 {
			if m, err = kept.Latest(t.Tx, id); err != nil || reflect.DeepEqual(m.Spec, s) {
				return err
			}
			if why, err = store.Reason(why); err != nil {
				return err
			}
		}
		if taken, err := kept.NameTaken(t.Tx, s.Name, id); err != nil {
			return err
		} else if taken {
			return knownwater.Faults{knownwater.Fault{Column: "name", Found: "another method is called %q", Want: "a name of its own"}.Of(s.Name)}
		}
		m, err = t.put(by, id, s, why)
		return err
	})
	return m, err
}

// put keeps the next version of a method, or a new one where id is 0.
func (t tx) put(by knownwater.Who, id int64, s knownwater.MethodSpec, why string) (knownwater.MethodVersion, error) {
	what := "described method " + s.Name
	if id != 0 {
		what = "made a new version of method " + s.Name
	}
	id, err := kept.Put(t.Tx, by, id, s.Name, s, why)
	if err != nil {
		return knownwater.MethodVersion{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return knownwater.MethodVersion{}, err
	}
	return kept.Latest(t.Tx, id)
}

// RetireMethod takes a method off the lists for new plans, or puts it back.
// Owner.
func (b *Operations) RetireMethod(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		m, err := kept.Latest(t.Tx, id)
		if err != nil || m.Retired == retired {
			return err
		}
		if err := kept.Retire(t.Tx, id, retired); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "retired method ", false: "took back method "}[retired]+m.Spec.Name, "")
	})
}

// Methods are the latest versions, by name; retired ones last.
func (b *Operations) Methods(ctx context.Context) (ms []knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = kept.Now(t.Tx)
		return err
	})
	return ms, err
}

// MethodNamed is the method in use that is called so; not ok where there is none.
func (b *Operations) MethodNamed(ctx context.Context, name string) (m knownwater.MethodVersion, ok bool, err error) {
	all, err := b.Methods(ctx)
	if err != nil {
		return m, false, err
	}
	for _, m := range all {
		if m.Spec.Name == name && !m.Retired {
			return m, true, nil
		}
	}
	return m, false, nil
}

// Method is the latest version of a method.
func (b *Operations) Method(ctx context.Context, id int64) (m knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = kept.Latest(t.Tx, id)
		return err
	})
	return m, err
}

// MethodVersion is a certain version, by its VersionID.
func (b *Operations) MethodVersion(ctx context.Context, versionID int64) (m knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = kept.Version(t.Tx, versionID)
		return err
	})
	return m, err
}

// MethodVersions are all versions of a method, newest first.
func (b *Operations) MethodVersions(ctx context.Context, id int64) (ms []knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = kept.All(t.Tx, id)
		return err
	})
	return ms, err
}
