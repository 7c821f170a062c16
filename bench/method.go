package bench

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
	"knownwater/sqlite"
)

var colour = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// CheckMethod returns every fault of a description, with the form field in Column.
func CheckMethod(s knownwater.MethodSpec) knownwater.Faults {
	fs := append(knownwater.Faults(nil), reading.Check(s.Method())...)
	wrong := func(column, found, want string) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want})
	}
	if _, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err != nil {
		wrong("scale", err.Error(), "an analyte, a unit and a basis that belong together")
	}
	for i, w := range s.Swatches {
		if w.Colour != "" && !colour.MatchString(w.Colour) {
			wrong("swatches", fmt.Sprintf("colour %q of swatch %d", w.Colour, i+1), "#rrggbb, or nothing")
		}
	}
	if len(s.Swatches) > 100 || len(s.Steps) > 50 {
		wrong("swatches", "a very long list", "at most 100 swatches and 50 steps")
	}
	if (s.RangeLow == nil) != (s.RangeHigh == nil) {
		wrong("range_low", "one end of the range", "both ends, or neither")
	}
	if err := plan.CheckSteps(s.Steps); err != nil {
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
func tidiedMethod(s knownwater.MethodSpec) (knownwater.MethodSpec, knownwater.Faults) {
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
	return s, append(fs, CheckMethod(s)...)
}

var (
	insertMethod  = sqlite.SQL(`insert into method (retired) values (?)`)
	retireMethod  = sqlite.SQL(`update method set retired = ? where id = ?`)
	insertVersion = sqlite.SQL(`insert into method_version (method_id, version, name, spec, why, made_at, made_by, made_from)
		values (?1, (select count(*) + 1 from method_version where method_id = ?1), ?2, ?3, ?4, ?5, ?6, ?7)`)

	selectHead = `select v.id, v.method_id, v.version, v.version = (select max(version) from method_version where method_id = v.method_id),
		m.retired, v.spec, v.why, v.made_at, v.made_by, v.made_from, `
	selectCounts = `(select count(distinct trial_id) from vial where version_id = v.id),
		(select count(*) from vial where version_id = v.id),
		coalesce((select sum(max(0, l.tests - (select count(distinct vial_id) from reading where lot_id = l.id)))
			from lot l where l.method_id = v.method_id and l.retired = 0 and l.tests > 0), -1) `
	selectFrom   = `from method_version v join method m on m.id = v.method_id `
	selectMethod = selectHead + selectCounts + selectFrom
	methodLatest = sqlite.SQL(selectMethod + `where v.method_id = ? order by v.version desc limit 1`)
	methodByID   = sqlite.SQL(selectMethod + `where v.id = ?`)
	methodBare   = sqlite.SQL(selectHead + `0, 0, -1 ` + selectFrom + `where v.id = ?`) // without the counts, which take time
	methodAll    = sqlite.SQL(selectMethod + `where v.method_id = ? order by v.version desc`)
	methodsNow   = sqlite.SQL(selectMethod + `where v.version = (select max(version) from method_version where method_id = v.method_id)
		order by m.retired, v.name collate nocase, v.id`)
	methodOther = sqlite.SQL(`select count(*) from method_version v join method m on m.id = v.method_id
		where m.retired = 0 and v.name = ? and v.method_id <> ?
		and v.version = (select max(version) from method_version where method_id = v.method_id)`)
)

func scanMethod(scan func(...any) error) (m knownwater.MethodVersion, err error) {
	err = scan(&m.VersionID, &m.ID, &m.Version, &m.Latest, &m.Retired, store.JSON(&m.Spec), &m.Why,
		store.Time(&m.Made.At), &m.Made.Name, &m.Made.Device, &m.Trials, &m.Vials, &m.TestsLeft)
	return m, err
}

// SaveMethod makes a new method (id 0) or the next version of one; an unchanged
// description makes nothing new. From the second version on it needs a why.
// Owner.
func (b *Bench) SaveMethod(ctx context.Context, by knownwater.Who, id int64, s knownwater.MethodSpec, why string) (m knownwater.MethodVersion, err error) {
	if err := by.MustOwn(); err != nil {
		return knownwater.MethodVersion{}, err
	}
	s, fs := tidiedMethod(s)
	store.Lines(&fs, "why", &why)
	if len(fs) > 0 {
		return knownwater.MethodVersion{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if id != 0 {
			if m, err = store.One(t.Tx, "method", methodLatest, scanMethod, id); err != nil || reflect.DeepEqual(m.Spec, s) {
				return err
			}
			if why, err = store.Reason(why); err != nil {
				return err
			}
		}
		if n, err := store.One(t.Tx, "method", methodOther, store.Value[int], s.Name, id); err != nil {
			return err
		} else if n > 0 {
			return knownwater.Faults{{Column: "name", Found: fmt.Sprintf("another method is called %q", s.Name), Want: "a name of its own"}}
		}
		m, err = t.saveVersion(by, id, s, why)
		return err
	})
	return m, err
}

// saveVersion adds a version, and its method where id is 0.
func (t tx) saveVersion(by knownwater.Who, id int64, s knownwater.MethodSpec, why string) (knownwater.MethodVersion, error) {
	spec, err := store.ToJSON(s)
	if err != nil {
		return knownwater.MethodVersion{}, err
	}
	what := "described method " + s.Name
	if id == 0 {
		if id, err = t.Insert(insertMethod, false); err != nil {
			return knownwater.MethodVersion{}, err
		}
	} else {
		what = "made a new version of method " + s.Name
	}
	at, name, device := t.Stamp(by)
	if _, err := t.Insert(insertVersion, id, s.Name, spec, why, at, name, device); err != nil {
		return knownwater.MethodVersion{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return knownwater.MethodVersion{}, err
	}
	return store.One(t.Tx, "method", methodLatest, scanMethod, id)
}

// RetireMethod takes a method off the lists for new plans, or puts it back.
// Owner.
func (b *Bench) RetireMethod(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		m, err := store.One(t.Tx, "method", methodLatest, scanMethod, id)
		if err != nil || m.Retired == retired {
			return err
		}
		if err := t.Exec(retireMethod, retired, id); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "retired method ", false: "took back method "}[retired]+m.Spec.Name, "")
	})
}

// Methods are the latest versions, by name; retired ones last.
func (b *Bench) Methods(ctx context.Context) (ms []knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = store.All(t.Tx, methodsNow, scanMethod)
		return err
	})
	return ms, err
}

// Method is the latest version of a method.
func (b *Bench) Method(ctx context.Context, id int64) (m knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = store.One(t.Tx, "method", methodLatest, scanMethod, id)
		return err
	})
	return m, err
}

// MethodVersion is a certain version, by its VersionID.
func (b *Bench) MethodVersion(ctx context.Context, versionID int64) (m knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = store.One(t.Tx, "version of a method", methodByID, scanMethod, versionID)
		return err
	})
	return m, err
}

// MethodVersions are all versions of a method, newest first.
func (b *Bench) MethodVersions(ctx context.Context, id int64) (ms []knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = store.All(t.Tx, methodAll, scanMethod, id)
		return err
	})
	return ms, err
}
