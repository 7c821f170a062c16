package calibrations

import (
	"context"
	"fmt"
	"reflect"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
)

// Curve is one version of a curve. A version never changes: whatever is decided
// anew makes the next one, and the one in use stays in use until another is
// adopted.
type Curve struct {
	knownwater.Versioned[CurveSpec]
	InUse   bool
	Adopted knownwater.Stamp // when it was last taken into use; zero: never
}

// SaveCurve keeps a new curve (id 0) or the next version of one; the same again
// makes nothing new. Points that carry no curve are refused. From the second
// version on it needs a why. Owner.
func (b *Operations) SaveCurve(ctx context.Context, by knownwater.Who, id int64, s CurveSpec, why string) (c Curve, err error) {
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
			c, err = t.putCurve(by, 0, s, why, "made the curve "+s.Name)
			return err
		}
		old, err := curves.Latest(t.Tx, id)
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
	id, err := curves.Put(t.Tx, by, id, s.Name, s, why)
	if err != nil {
		return Curve{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return Curve{}, err
	}
	return curves.Latest(t.Tx, id)
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
func (b *Operations) UsePoint(ctx context.Context, by knownwater.Who, from int64, point int, level bool, use PointUse, why, program string) (c Curve, err error) {
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
		fs = append(fs, knownwater.Fault{Column: "point", Found: "no point %d", Want: "one of the list"}.Of(point))
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
func (b *Operations) AdoptCurve(ctx context.Context, by knownwater.Who, version int64, why string) (c Curve, err error) {
	if err := by.MustOwn(); err != nil {
		return Curve{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if c, err = curves.Version(t.Tx, version); err != nil || c.InUse {
			return err
		}
		if c.Retired {
			return knownwater.Refuse(knownwater.WrongState, "the curve %q is put away", c.Spec.Name)
		}
		versions, err := curves.All(t.Tx, c.ID)
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
		c, err = curves.Version(t.Tx, version)
		return err
	})
	return c, err
}

// Curves are the latest versions of all curves, newest first; those put away last.
func (b *Operations) Curves(ctx context.Context) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = curves.Now(t.Tx)
		return err
	})
	return cs, err
}

// CurvesInUse are the versions in use of all curves that are not put away, by name.
func (b *Operations) CurvesInUse(ctx context.Context) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = store.All(t.Tx, curvesInUse, curves.Scan)
		return err
	})
	return cs, err
}

// Curve is the latest version of a curve.
func (b *Operations) Curve(ctx context.Context, id int64) (c Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		c, err = curves.Latest(t.Tx, id)
		return err
	})
	return c, err
}

// CurveVersion is a certain version, by its VersionID.
func (b *Operations) CurveVersion(ctx context.Context, version int64) (c Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		c, err = curves.Version(t.Tx, version)
		return err
	})
	return c, err
}

// CurveVersions are all versions of a curve, newest first.
func (b *Operations) CurveVersions(ctx context.Context, id int64) (cs []Curve, err error) {
	err = b.read(ctx, func(t tx) error {
		cs, err = curves.All(t.Tx, id)
		return err
	})
	return cs, err
}

// RetireCurve puts a curve away, or takes it back. Owner.
func (b *Operations) RetireCurve(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		c, err := curves.Latest(t.Tx, id)
		if err != nil || c.Retired == retired {
			return err
		}
		if err := curves.Retire(t.Tx, id, retired); err != nil {
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
	return old.Compare(now, need), true
}
