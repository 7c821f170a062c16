package bench

import (
	"context"
	"fmt"
	"reflect"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
	"knownwater/sqlite"
)

// Curve is one version of a curve. A version never changes: whatever is decided
// anew makes the next one, and the one in use stays in use until another is
// adopted.
type Curve struct {
	ID        int64
	VersionID int64
	Version   int
	Latest    bool
	InUse     bool
	Retired   bool
	Spec      CurveSpec
	Why       string
	Made      knownwater.Stamp
	Adopted   knownwater.Stamp // when it was last taken into use; zero: never
}

var (
	insertCurve        = sqlite.SQL(`insert into curve (retired) values (0)`)
	retireCurve        = sqlite.SQL(`update curve set retired = ? where id = ?`)
	insertCurveVersion = sqlite.SQL(`insert into curve_version (curve_id, version, name, spec, why, made_at, made_by, made_from)
		values (?1, (select count(*) + 1 from curve_version where curve_id = ?1), ?2, ?3, ?4, ?5, ?6, ?7)`)
	insertAdoption = sqlite.SQL(`insert into curve_adoption (version_id, why, made_at, made_by, made_from) values (?, ?, ?, ?, ?)`)

	selectCurve = `select v.id, v.curve_id, v.version, v.version = (select max(version) from curve_version where curve_id = v.curve_id),
		coalesce(v.id = (select a.version_id from curve_adoption a join curve_version x on x.id = a.version_id where x.curve_id = v.curve_id order by a.id desc limit 1), 0),
		c.retired, v.spec, v.why, v.made_at, v.made_by, v.made_from,
		coalesce(a.made_at, ''), coalesce(a.made_by, ''), coalesce(a.made_from, '')
		from curve_version v join curve c on c.id = v.curve_id
		left join curve_adoption a on a.id = (select max(id) from curve_adoption where version_id = v.id) `
	curveByID      = sqlite.SQL(selectCurve + `where v.curve_id = ? order by v.version desc limit 1`)
	curveVersionID = sqlite.SQL(selectCurve + `where v.id = ?`)
	curveAll       = sqlite.SQL(selectCurve + `where v.curve_id = ? order by v.version desc`)
	curvesInUse    = sqlite.SQL(selectCurve + `where c.retired = 0 and v.id = (select a.version_id from curve_adoption a join curve_version x on x.id = a.version_id
		where x.curve_id = v.curve_id order by a.id desc limit 1) order by v.name, v.id`)
	curvesNow = sqlite.SQL(selectCurve + `where v.version = (select max(version) from curve_version where curve_id = v.curve_id) order by c.retired, v.curve_id desc`)
)

func scanCurve(scan func(...any) error) (c Curve, err error) {
	err = scan(&c.VersionID, &c.ID, &c.Version, &c.Latest, &c.InUse, &c.Retired, store.JSON(&c.Spec), &c.Why,
		store.Time(&c.Made.At), &c.Made.Name, &c.Made.Device, store.Time(&c.Adopted.At), &c.Adopted.Name, &c.Adopted.Device)
	return c, err
}

// SaveCurve keeps a new curve (id 0) or the next version of one; the same again
// makes nothing new. Points that carry no curve are refused. From the second
// version on it needs a why. Owner.
func (b *Bench) SaveCurve(ctx context.Context, by knownwater.Who, id int64, s CurveSpec, why string) (c Curve, err error) {
	if err := by.MustOwn(); err != nil {
		return Curve{}, err
	}
	s, fs := s.tidied()
	store.Lines(&fs, "why", &why)
	if len(fs) > 0 {
		return Curve{}, fs
	}
	if _, err := s.Fit(); err != nil {
		return Curve{}, inPoints(err)
	}
	err = b.write(ctx, func(t tx) error {
		if id == 0 {
			if id, err = t.Insert(insertCurve); err != nil {
				return err
			}
			c, err = t.putCurve(by, id, s, why, "made the curve "+s.Name)
			return err
		}
		old, err := store.One(t.Tx, "curve", curveByID, scanCurve, id)
		if err != nil {
			return err
		}
		same := s
		same.Program = old.Spec.Program
		if reflect.DeepEqual(old.Spec, same) {
			c = old
			return nil
		}
		if why, err = store.Reason(why); err != nil {
			return err
		}
		c, err = t.putCurve(by, id, s, why, "made another version of the curve "+s.Name)
		return err
	})
	return c, err
}

// inPoints puts faults of a fit beside the points.
func inPoints(err error) error {
	if f, ok := err.(knownwater.Fault); ok {
		err = knownwater.Faults{f}
	}
	fs, ok := err.(knownwater.Faults)
	if !ok {
		return err
	}
	out := make(knownwater.Faults, len(fs))
	for i, f := range fs {
		f.Column = "points"
		out[i] = f
	}
	return out
}

func (t tx) putCurve(by knownwater.Who, id int64, s CurveSpec, why, what string) (Curve, error) {
	text, err := store.ToJSON(s)
	if err != nil {
		return Curve{}, knownwater.Faults{{Found: "a number that is none", Want: "numbers throughout"}}
	}
	at, name, device := t.Stamp(by)
	if _, err := t.Insert(insertCurveVersion, id, s.Name, text, why, at, name, device); err != nil {
		return Curve{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return Curve{}, err
	}
	return store.One(t.Tx, "curve", curveByID, scanCurve, id)
}

// PointUse is what a point is for.
type PointUse string

// The uses of a point.
const (
	ForFit   PointUse = "fit"
	ForCheck PointUse = "check" // judges the curve
	ForNone  PointUse = "out"   // left out, with a reason
)

// UsePoint makes the next version of a curve with another use of one point, or
// of all points at its level. from is the VersionID that was looked at, so that
// nobody decides on what has changed meanwhile. Slope updates are not taken along.
// Owner.
func (b *Bench) UsePoint(ctx context.Context, by knownwater.Who, from int64, point int, level bool, use PointUse, why, program string) (c Curve, err error) {
	if err := by.MustOwn(); err != nil {
		return Curve{}, err
	}
	old, err := b.CurveVersion(ctx, from)
	if err != nil {
		return Curve{}, err
	}
	if !old.Latest {
		return Curve{}, knownwater.Refuse(knownwater.WrongState, "version %d is not the latest of this curve: look at that first", old.Version)
	}
	why, err = store.Reason(why)
	var fs knownwater.Faults
	if more, ok := err.(knownwater.Faults); ok {
		fs = more
	}
	if point < 1 || point > len(old.Spec.Points) {
		fs = append(fs, knownwater.Fault{Column: "point", Found: fmt.Sprintf("no point %d", point), Want: "one of the list"})
	}
	if use != ForFit && use != ForCheck && use != ForNone {
		fs = append(fs, knownwater.Fault{Column: "use", Found: "nothing chosen", Want: "what the point is to be used for"})
	}
	if len(fs) > 0 {
		return Curve{}, fs
	}
	s := old.Spec
	s.Program = program
	s.Slopes = nil // what a re-check showed was of the fit before
	s.Points = append([]CurvePoint(nil), s.Points...)
	for i := range s.Points {
		p := &s.Points[i]
		if i+1 != point && !(level && p.Level == old.Spec.Points[point-1].Level && p.Out == "") {
			continue
		}
		p.Check, p.Out, p.OutBy = use == ForCheck, "", ""
		if use == ForNone {
			p.Out, p.OutBy = why, by.Name
		}
	}
	return b.SaveCurve(ctx, by, old.ID, s, why)
}

// AdoptCurve takes a version into use. It says why where it takes the place of
// another. Owner.
func (b *Bench) AdoptCurve(ctx context.Context, by knownwater.Who, version int64, why string) (c Curve, err error) {
	if err := by.MustOwn(); err != nil {
		return Curve{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if c, err = store.One(t.Tx, "version of a curve", curveVersionID, scanCurve, version); err != nil || c.InUse {
			return err
		}
		if c.Retired {
			return knownwater.Refuse(knownwater.WrongState, "the curve %q is put away", c.Spec.Name)
		}
		versions, err := store.All(t.Tx, curveAll, scanCurve, c.ID)
		if err != nil {
			return err
		}
		why = store.Tidy(why)
		for _, v := range versions {
			if v.InUse {
				if why, err = store.Reason(why); err != nil {
					return err
				}
			}
		}
		at, name, device := t.Stamp(by)
		if err := t.Exec(insertAdoption, version, why, at, name, device); err != nil {
			return err
		}
		if err := t.Note(by, 0, fmt.Sprintf("took version %d of the curve %s into use", c.Version, c.Spec.Name), why); err != nil {
			return err
		}
		c, err = store.One(t.Tx, "version of a curve", curveVersionID, scanCurve, version)
		return err
	})
	return c, err
}

// Curves are the latest versions of all curves, newest first; those put away last.
func (b *Bench) Curves(ctx context.Context) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = store.All(t.Tx, curvesNow, scanCurve)
		return err
	})
	return cs, err
}

// CurvesInUse are the versions in use of all curves that are not put away, by name.
func (b *Bench) CurvesInUse(ctx context.Context) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = store.All(t.Tx, curvesInUse, scanCurve)
		return err
	})
	return cs, err
}

// Curve is the latest version of a curve.
func (b *Bench) Curve(ctx context.Context, id int64) (c Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		c, err = store.One(t.Tx, "curve", curveByID, scanCurve, id)
		return err
	})
	return c, err
}

// CurveVersion is a certain version, by its VersionID.
func (b *Bench) CurveVersion(ctx context.Context, version int64) (c Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		c, err = store.One(t.Tx, "version of a curve", curveVersionID, scanCurve, version)
		return err
	})
	return c, err
}

// CurveVersions are all versions of a curve, newest first.
func (b *Bench) CurveVersions(ctx context.Context, id int64) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = store.All(t.Tx, curveAll, scanCurve, id)
		return err
	})
	return cs, err
}

// RetireCurve puts a curve away, or takes it back. Owner.
func (b *Bench) RetireCurve(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		c, err := store.One(t.Tx, "curve", curveByID, scanCurve, id)
		if err != nil || c.Retired == retired {
			return err
		}
		if err := t.Exec(retireCurve, retired, id); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "put away the curve ", false: "took back the curve "}[retired]+c.Spec.Name, "")
	})
}

// CompareCurves holds a new version against an old one, where their signals are
// of one kind.
func CompareCurves(old, now curve.Document, need *knownwater.Need) (curve.Comparison, bool) {
	if old.Conversion != now.Conversion {
		return curve.Comparison{}, false
	}
	return curve.Compare(old.Curve, now.Curve, need), true
}
