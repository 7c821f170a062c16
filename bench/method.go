package bench

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"regexp"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/plan"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/sqlite"
)

// MethodSpec describes a method: what a person types into its form.
type MethodSpec struct {
	Name     string          `json:"name"`
	Kind     knownwater.Kind `json:"kind"`
	Scale    unit.Scale      `json:"scale"` // what the method's own numbers mean
	Swatches []Swatch        `json:"swatches,omitempty"`
	AtShare  float64         `json:"at_share,omitempty"` // chart; 0: knownwater.DefaultAtShare

	Resolution float64  `json:"resolution,omitempty"` // display, absorbance, photo
	DropValue  float64  `json:"drop_value,omitempty"` // drops
	RangeLow   *float64 `json:"range_low,omitempty"`  // display: both or neither
	RangeHigh  *float64 `json:"range_high,omitempty"`

	Steps    []plan.Step `json:"steps,omitempty"` // in order; the last one is the reading
	Dilution Dilution    `json:"dilution"`

	PackPrice      float64 `json:"pack_price,omitempty"`
	PackTests      int     `json:"pack_tests,omitempty"`
	RefillPrice    float64 `json:"refill_price,omitempty"`
	RefillTests    int     `json:"refill_tests,omitempty"`
	Minutes        float64 `json:"minutes,omitempty"`          // start to reading
	HandsOnMinutes float64 `json:"hands_on_minutes,omitempty"` // of those, with hands on it

	Note    string `json:"note,omitempty"`
	Caution string `json:"caution,omitempty"` // shown wherever the reagents are handled
}

// Swatch is one colour of a chart. The colour is only a reminder of order on
// the reading pad: nobody matches on a screen.
type Swatch struct {
	Value  float64 `json:"value"`
	Colour string  `json:"colour,omitempty"` // #rrggbb, the user's own
}

// Dilution is the rule by which a procedure dilutes, and with what.
type Dilution struct {
	Over         float64 `json:"over,omitempty"`      // dilute above this reading; 0: never
	Factor       float64 `json:"factor,omitempty"`    // 8 for 1 part sample + 7 parts water; worked out from the volumes where they are given
	SampleML     float64 `json:"sample_ml,omitempty"` // what was measured out, and with what
	USampleML    float64 `json:"u_sample_ml,omitempty"`
	SampleDevice string  `json:"sample_device,omitempty"`
	WaterML      float64 `json:"water_ml,omitempty"`
	UWaterML     float64 `json:"u_water_ml,omitempty"`
	WaterDevice  string  `json:"water_device,omitempty"`
}

// Method is one version of a method. A version never changes: saving a changed
// description makes the next one.
type Method struct {
	ID        int64 // of the method, whatever the version
	VersionID int64 // of this version: what trials and vials name
	Version   int   // 1, 2, 3 …
	Latest    bool
	Retired   bool
	Spec      MethodSpec
	Why       string // why this version was made
	Made      Stamp
	Trials    int // sealed trials that use this version
	Vials     int // vials in those
	TestsLeft int // over all lots; -1 where no lot says how many tests it holds
}

// Noun is the method as the science packages know it, on its own scale.
func (s MethodSpec) Noun() knownwater.Method {
	m := knownwater.Method{
		Name: s.Name, Kind: s.Kind, AtShare: s.AtShare, Resolution: s.Resolution, DropValue: s.DropValue,
		PackPrice: s.PackPrice, RefillPrice: s.RefillPrice, PackTests: s.PackTests, RefillTests: s.RefillTests,
		Minutes: s.Minutes, HandsOnMinutes: s.HandsOnMinutes,
	}
	for _, w := range s.Swatches {
		m.Swatches = append(m.Swatches, w.Value)
	}
	if s.RangeLow != nil && s.RangeHigh != nil {
		m.Range = &interval.Interval{Low: *s.RangeLow, High: *s.RangeHigh}
	}
	m.DilutionOver, m.DilutionFactor = s.Dilution.Over, s.Dilution.By()
	return m
}

// By is the factor of a dilution: from the volumes where they are given.
func (d Dilution) By() float64 {
	if d.SampleML > 0 && d.WaterML > 0 {
		return (d.SampleML + d.WaterML) / d.SampleML
	}
	return d.Factor
}

// U is the relative standard uncertainty of the factor, from the volumes; 0
// where they are not known. With D = 1 + w/s,
// u(D) = w/s · √((u(s)/s)² + (u(w)/w)²).
func (d Dilution) U() float64 {
	if !(d.SampleML > 0 && d.WaterML > 0) {
		return 0
	}
	r := d.WaterML / d.SampleML
	return r * math.Hypot(d.USampleML/d.SampleML, d.UWaterML/d.WaterML) / (1 + r)
}

var colour = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// Check returns every fault of a description, with the form field in Column.
func (s MethodSpec) Check() knownwater.Faults {
	fs := append(knownwater.Faults(nil), reading.Check(s.Noun())...)
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
func (s MethodSpec) tidied() (MethodSpec, knownwater.Faults) {
	var fs knownwater.Faults
	line(&fs, "name", &s.Name, false) // Check asks for it
	line(&fs, "sample_device", &s.Dilution.SampleDevice, false)
	line(&fs, "water_device", &s.Dilution.WaterDevice, false)
	lines(&fs, "note", &s.Note)
	lines(&fs, "caution", &s.Caution)
	s.Steps = append([]Step(nil), s.Steps...)
	for i := range s.Steps {
		line(&fs, "steps", &s.Steps[i].Name, false)
	}
	if scale, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err == nil {
		s.Scale = scale
	}
	s.Swatches = append([]Swatch(nil), s.Swatches...)
	return s, append(fs, s.Check()...)
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

func scanMethod(scan func(...any) error) (m Method, err error) {
	err = scan(&m.VersionID, &m.ID, &m.Version, &m.Latest, &m.Retired, jsonText{&m.Spec}, &m.Why,
		when{&m.Made.At}, &m.Made.Name, &m.Made.Device, &m.Trials, &m.Vials, &m.TestsLeft)
	return m, err
}

// SaveMethod makes a new method (id 0) or the next version of one; an unchanged
// description makes nothing new. From the second version on it needs a why.
// Owner.
func (b *Bench) SaveMethod(ctx context.Context, by Who, id int64, s MethodSpec, why string) (m Method, err error) {
	if err := by.mustOwn(); err != nil {
		return Method{}, err
	}
	s, fs := s.tidied()
	lines(&fs, "why", &why)
	if len(fs) > 0 {
		return Method{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if id != 0 {
			if m, err = one(t, "method", methodLatest, scanMethod, id); err != nil || reflect.DeepEqual(m.Spec, s) {
				return err
			}
			if why, err = reason(why); err != nil {
				return err
			}
		}
		if n, err := one(t, "method", methodOther, value[int], s.Name, id); err != nil {
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
func (t tx) saveVersion(by Who, id int64, s MethodSpec, why string) (Method, error) {
	spec, err := toJSON(s)
	if err != nil {
		return Method{}, err
	}
	what := "described method " + s.Name
	if id == 0 {
		if id, err = t.insert(insertMethod, false); err != nil {
			return Method{}, err
		}
	} else {
		what = "made a new version of method " + s.Name
	}
	at, name, device := t.stamp(by)
	if _, err := t.insert(insertVersion, id, s.Name, spec, why, at, name, device); err != nil {
		return Method{}, err
	}
	if err := t.note(by, 0, what, why); err != nil {
		return Method{}, err
	}
	return one(t, "method", methodLatest, scanMethod, id)
}

// RetireMethod takes a method off the lists for new plans, or puts it back.
// Owner.
func (b *Bench) RetireMethod(ctx context.Context, by Who, id int64, retired bool) error {
	if err := by.mustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		m, err := one(t, "method", methodLatest, scanMethod, id)
		if err != nil || m.Retired == retired {
			return err
		}
		if err := t.exec(retireMethod, retired, id); err != nil {
			return err
		}
		return t.note(by, 0, map[bool]string{true: "retired method ", false: "took back method "}[retired]+m.Spec.Name, "")
	})
}

// Methods are the latest versions, by name; retired ones last.
func (b *Bench) Methods(ctx context.Context) (ms []Method, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = all(t, methodsNow, scanMethod)
		return err
	})
	return ms, err
}

// Method is the latest version of a method.
func (b *Bench) Method(ctx context.Context, id int64) (m Method, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = one(t, "method", methodLatest, scanMethod, id)
		return err
	})
	return m, err
}

// MethodVersion is a certain version, by its VersionID.
func (b *Bench) MethodVersion(ctx context.Context, versionID int64) (m Method, err error) {
	err = b.read(ctx, func(t tx) error {
		m, err = one(t, "version of a method", methodByID, scanMethod, versionID)
		return err
	})
	return m, err
}

// MethodVersions are all versions of a method, newest first.
func (b *Bench) MethodVersions(ctx context.Context, id int64) (ms []Method, err error) {
	err = b.read(ctx, func(t tx) error {
		ms, err = all(t, methodAll, scanMethod, id)
		return err
	})
	return ms, err
}
