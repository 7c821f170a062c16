package calibrations

import (
	"context"
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
)

// SlopeUpdate is a decision: the curve keeps its shape and its slope is
// multiplied, because of what a re-check showed. The factor stays as it was
// decided; the signals it came from stand beside it.
type SlopeUpdate struct {
	Factor float64 `json:"factor"`
	U      float64 `json:"u"` // standard uncertainty of the factor
	Seen   Recheck `json:"seen"`
}

// on puts the update on a curve. From then on the vials of the re-check are what
// was measured last; those of the fit belong to the slope before.
func (u SlopeUpdate) on(d curve.Document) (curve.Document, error) {
	if len(d.Segments) > 0 {
		return d, severalDilutions()
	}
	dilution := RecheckDilution(d)
	var points []curve.Point
	add := func(level, uLevel float64, signals []float64) {
		for _, v := range signals {
			points = append(points, curve.Point{Level: level, ULevel: uLevel, Signal: v, Dilution: dilution})
		}
	}
	add(0, 0, u.Seen.Blank)
	for _, k := range u.Seen.Knowns {
		add(k.Level, k.ULevel, k.Signals)
	}
	points, fs := d.Conversion.Points(points)
	if len(fs) > 0 {
		return d, fs
	}
	d.Curve = d.WithSlope(u.Factor, u.U)
	d.Points, d.Checks, d.LeftOut = d.PointsBack(points), nil, nil
	return d, nil
}

func severalDilutions() knownwater.Faults {
	return knownwater.Faults{{Column: "update", Found: "a curve of several dilutions", Want: "a new curve: another slope of one dilution would leave the others behind"}}
}

// check says what no slope update can be.
func (u SlopeUpdate) check() (fs knownwater.Faults) {
	if !finiteAll(u.Factor, u.U) || !(u.Factor > 0.01 && u.Factor < 100) || !(u.U >= 0 && u.U < u.Factor) {
		fs = append(fs, knownwater.Fault{Column: "slopes", Found: "a factor of %g ± %g", Want: "a factor above 0 with its standard uncertainty"}.Of(u.Factor, u.U))
	}
	return append(fs, u.Seen.check(math.MaxFloat64)...)
}

// SameFit says whether two specs are fitted alike, so that what a re-check showed
// of the one holds for the other.
func (s CurveSpec) SameFit(o CurveSpec) bool {
	return s.Conversion == o.Conversion && s.Choices == o.Choices && slices.Equal(s.Points, o.Points)
}

// KeptRecheck is a re-check as it was kept: what was seen, what it said then, and
// the version that it led to.
type KeptRecheck struct {
	ID        int64
	VersionID int64 // that was re-checked
	Version   int
	Seen      Recheck
	Said      curve.Recheck
	LedTo     int64 // VersionID; 0: no version was made of it
	LedToN    int   // its number
	Why       string
	Made      knownwater.Stamp
}

func scanRecheck(scan func(...any) error) (k KeptRecheck, err error) {
	err = scan(&k.ID, &k.VersionID, &k.Version, store.JSON(&k.Seen), store.JSON(&k.Said), &k.LedTo, &k.LedToN, &k.Why, store.Time(&k.Made.At), &k.Made.Name, &k.Made.Device)
	return k, err
}

// Rechecks are the kept re-checks of all versions of a curve, newest first.
func (b *Operations) Rechecks(ctx context.Context, id int64) (list []KeptRecheck, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, rechecksOf, scanRecheck, id)
		return err
	})
	return list, err
}

// KeepRecheck keeps a re-check of a version. With update it also makes the next
// version of the curve, whose slope is the re-checked one's times the factor; only
// where the re-check says that this is enough, and of the latest version. It answers
// the latest version. Owner.
func (b *Operations) KeepRecheck(ctx context.Context, by knownwater.Who, version int64, r Recheck, update bool, why, program string) (Curve, error) {
	if err := by.MustOwn(); err != nil {
		return Curve{}, err
	}
	c, err := b.CurveVersion(ctx, version)
	if err != nil {
		return Curve{}, err
	}
	d, err := b.Fit(c)
	if err != nil {
		return Curve{}, inPoints(err)
	}
	said, err := r.Against(d)
	if err != nil {
		return Curve{}, err
	}
	next := c.Spec
	if update {
		if next, err = c.slopeUpdated(d, r, said, program); err != nil {
			return Curve{}, err
		}
		why, err = store.Reason(why)
	} else {
		var fs knownwater.Faults
		store.Lines(&fs, "why", &why)
		err = store.OrNil(fs)
	}
	if err != nil {
		return Curve{}, err
	}
	err = b.write(ctx, func(t tx) error { c, err = t.putRecheck(by, c, r, said, update, next, why); return err })
	return c, err
}

// slopeUpdated is the spec of the next version, or why there can be none.
func (c Curve) slopeUpdated(d curve.Document, r Recheck, said curve.Recheck, program string) (CurveSpec, error) {
	switch {
	case said.Verdict != curve.UpdateSlope:
		return c.Spec, knownwater.Faults{{Column: "update", Found: "no slope update to make", Want: "a re-check that finds the slope changed, and nothing else"}}
	case len(d.Segments) > 0:
		return c.Spec, severalDilutions()
	}
	next := c.Spec
	next.Slopes = append(slices.Clone(next.Slopes), SlopeUpdate{Factor: said.Slope, U: said.USlope, Seen: r})
	next.Program, next.ValidUntil = program, "" // the day was set for the curve before
	next, fs := next.tidied()
	if len(fs) > 0 {
		return next, fs
	}
	_, err := next.Fit()
	return next, err
}

func (t tx) putRecheck(by knownwater.Who, c Curve, r Recheck, said curve.Recheck, update bool, next CurveSpec, why string) (Curve, error) {
	latest, err := curves.Latest(t.Tx, c.ID)
	if err != nil {
		return Curve{}, err
	}
	spec, err := store.ToJSON(r)
	if err != nil {
		return Curve{}, err
	}
	outcome, err := store.ToJSON(said)
	if err != nil {
		return Curve{}, err
	}
	from, ledTo := c.VersionID, int64(0)
	if update {
		if latest.VersionID != from {
			return Curve{}, knownwater.Refuse(knownwater.WrongState, "version %d is not the latest of this curve: look at that first", c.Version)
		}
		if latest.Retired {
			return Curve{}, knownwater.Refuse(knownwater.WrongState, "the curve %q is put away", c.Spec.Name)
		}
		if latest, err = t.putCurve(by, c.ID, next, why, "made another version of the curve "+next.Name+" by its re-check"); err != nil {
			return Curve{}, err
		}
		ledTo = latest.VersionID
	}
	at, name, device := t.Stamp(by)
	if err := t.Exec(insertRecheck, from, spec, outcome, ledTo, why, at, name, device); err != nil {
		return Curve{}, err
	}
	if !update {
		err = t.Note(by, 0, fmt.Sprintf("kept a re-check of version %d of the curve %s: %s", c.Version, c.Spec.Name, said.Verdict), why)
	}
	return latest, err
}
