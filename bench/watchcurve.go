package bench

import (
	"context"
	"fmt"
	"math"

	"knownwater/bench/calibrations"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/interval"
	"knownwater/science/num"
)

// watchedByCurve are checks of one known that were read by one curve. They stand on the scale of
// concentrations: what each signal says of itself is its scatter, what the curve, its knowns and
// the check's own known are off by moves all of them alike.
func (b *Bench) watchedByCurve(ctx context.Context, results []calibrations.Result) ([]Watched, error) {
	version, err := b.CurveVersion(ctx, results[0].VersionID)
	if err != nil {
		return nil, err
	}
	key := fmt.Sprint("curve ", version.VersionID)
	for _, r := range results {
		key += fmt.Sprint(",", r.ID)
	}
	if w, ok := b.watch.Find(key); ok {
		return w, nil
	}
	doc, err := b.Fit(version)
	if err != nil {
		return nil, nil // the curve's own page says why
	}
	var log []history.Entry
	var row control.Row
	for _, r := range results {
		if math.IsNaN(r.Outcome.Level) {
			continue
		}
		draws := curveDraws(r, doc.DF)
		if draws == nil {
			continue
		}
		row.Checks = append(row.Checks, control.Check{Seen: interval.Exact(r.Outcome.Level), Draws: draws})
		log = append(log, history.Entry{Row: int(r.ID), At: r.TakenAt, Water: r.Water, Method: version.Spec.Name, Reading: r.Text, Lot: r.Lot, Reader: r.Reader,
			Dilution: r.Sample.Dilution, Check: true, Known: r.Of.Known, UKnown: r.Of.UKnown})
	}
	if len(log) == 0 {
		return nil, nil
	}
	return b.watch.Of(key, func() []Watched {
		w := Watched{Checks: history.ChecksOf(log, row), Curve: version.ID, CurveVersion: version.VersionID}
		w.plan()
		return []Watched{w}
	}), nil
}

// curveDraws are how a check of a known should read by a curve that has not moved: an error that
// all checks share, of the curve, its knowns and the known itself, normal, and scatter of the
// signal known with the curve's degrees of freedom, σ = s √(ν/χ²). Both at evenly spread
// places, the same for every check. nil where the result does not say what it consists of.
func curveDraws(r calibrations.Result, df float64) []control.Normal {
	const many = 61
	var own, shared float64
	for _, p := range r.Outcome.Parts {
		switch p.Name {
		case "reading", "interval seen":
			own = math.Hypot(own, p.U)
		default:
			shared = math.Hypot(shared, p.U)
		}
	}
	if !(own > 0) || !(df > 0) {
		return nil
	}
	shared = math.Hypot(shared, r.Of.UKnown)
	out := make([]control.Normal, many)
	for i := range out {
		chi := num.ChiSquareQuantile((float64(i)+0.5)/many, df)
		z := num.PhiInv((float64(i*37%many) + 0.5) / many)
		out[i] = control.Normal{Mean: r.Of.Known + shared*z, SD: own * math.Sqrt(df/chi)}
	}
	return out
}
