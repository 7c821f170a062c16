package bench

import (
	"context"
	"fmt"
	"math"

	"knownwater/bench/calibrations"
	"knownwater/science/history"
)

// madeBy is what made a result: its record, or less than 0 the version of its curve. Each version is a method
// of its own: made with other knowns or another lot it does not know the first one better, as a record's version does.
func madeBy(r calibrations.Result) int64 {
	if r.Record == 0 {
		return -r.VersionID
	}
	return r.Record
}

// curveInto adds the version of a curve that made a result, under a name of its own; empty: it says no unit or knows no scatter. What
// somebody stated of dilutions and lots is taken for the largest of it among the results.
func (b *Bench) curveInto(ctx context.Context, r calibrations.Result, list []calibrations.Result, into map[string][]history.Source) (name string, err error) {
	version, err := b.CurveVersion(ctx, r.VersionID)
	if err != nil {
		return "", err
	}
	doc, err := b.Fit(version)
	if err != nil {
		return "", nil // the curve's own page says why
	}
	rel := 0.0
	for _, o := range list {
		if o.Record == 0 && o.VersionID == r.VersionID {
			rel = math.Max(rel, math.Hypot(o.Sample.UDilution, o.Sample.ULot))
		}
	}
	if name = r.By; r.Version > 1 {
		name = fmt.Sprintf("%s, version %d", r.By, r.Version)
	}
	for into[name] != nil { // another method or curve of that name
		name += " (curve)"
	}
	source, ok := history.OfCurve(name, doc, rel, version.Spec.Gone())
	if !ok {
		return "", nil
	}
	into[name] = []history.Source{source}
	return name, nil
}
