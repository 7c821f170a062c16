package history_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"knownwater/science/curve"
	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// absorbance of a bent curve, with its scatter.
func absorbance(c, z float64) float64 { return 0.01 + 0.09*c/(1+c/60) + 0.006*z }

// fitted is a curve from knowns of 0 to 10, four signals each, that are all off by the same part of their doubt.
func fitted(t *testing.T, seed uint64, lot string, uStock float64) curve.Document {
	return fittedTo(t, pointsOf(seed, uStock, 0), curve.Options{Shared: uStock}, lot)
}

// pointsOf are signals on knowns, off by what their stock is and each by an error of its own.
func pointsOf(seed uint64, uStock, uOwn float64) (points []curve.Point) {
	rng := num.Source(seed, 31)
	off := 1 + uStock*rng.NormFloat64()
	for _, level := range []float64{0, 1, 2, 4, 7, 10} {
		own := 0.0
		if uOwn > 0 {
			own = uOwn * level * rng.NormFloat64()
		}
		for range 4 {
			points = append(points, curve.Point{Level: level, ULevel: level * math.Hypot(uStock, uOwn), Signal: absorbance(level*off+own, rng.NormFloat64()), Dilution: 1})
		}
	}
	return points
}

func fittedTo(t *testing.T, points []curve.Point, o curve.Options, lot string) curve.Document {
	t.Helper()
	d, err := curve.Make(points, o, curve.Conversion{Kind: curve.Absorbance}, curve.Scope{Lot: lot}, nil)
	if err != nil {
		t.Fatal(err)
	}
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		t.Fatal(err)
	}
	return d.On(scale)
}

func sourceOf(t *testing.T, name string, d curve.Document, gone ...curve.Point) history.Source {
	t.Helper()
	s, ok := history.OfCurve(name, d, 0, gone)
	if !ok {
		t.Fatal("the curve is no source")
	}
	return s
}

// What signals share by a curve and what they do not are what the curve says of a reading by first order
// (QUAM, appendix E.3): two routes to the same parts.
func TestCurveAsASource(t *testing.T) {
	d := fitted(t, 1, "L1", 0.01)
	way := sourceOf(t, "curve", d).Way("", "", 1)
	for _, c := range []float64{1.5, 4, 8} {
		r, fault := d.Read(curve.Sample{Signals: []float64{d.At(c)}, Dilution: 1})
		if fault != nil {
			t.Fatal(fault)
		}
		own, shared := 0.0, 0.0
		for _, p := range r.Parts {
			if p.Name == "reading" {
				own = p.U
			} else {
				shared = math.Hypot(shared, p.U)
			}
		}
		errors := make([]float64, 128)
		way.Shared(c, 1, errors)
		_, sd := num.MeanSD(errors)
		if math.Abs(sd/shared-1) > 0.2 || math.Abs(way.Own(c)/own-1) > 0.1 || math.Abs(way.Level(d.At(c))-c) > 0.05 {
			t.Errorf("at %v: shared %.4f, the curve says %.4f; own %.4f, the curve says %.4f; level %.3f", c, sd, shared, way.Own(c), own, way.Level(d.At(c)))
		}
	}
}

// A water of 4 that rises to 6, read by one version of a curve and then by another with new knowns and a new lot; a lot that
// no curve was made with is not held against them.
func TestHistoryByCurves(t *testing.T) {
	var held, called, changed, n float64
	for seed := range uint64(12) {
		rng := num.Source(seed, 32)
		m := history.Methods{Records: map[string][]history.Source{
			"curve":            {sourceOf(t, "curve", fitted(t, 2*seed+1, "L1", 0.01))},
			"curve, version 2": {sourceOf(t, "curve, version 2", fitted(t, 2*seed+2, "L2", 0.01))},
		}}
		var log []history.Entry
		for week := range 24 {
			e := history.Entry{Row: week + 2, At: time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "north tank", Method: "curve", Lot: "L1", Dilution: 1}
			c := 4.0
			if week >= 8 {
				e.Method, e.Lot = "curve, version 2", "L2"
			}
			if week >= 16 {
				c = 6
			}
			e.Reading = fmt.Sprintf("%.4f", absorbance(c, rng.NormFloat64()))
			log = append(log, e)
		}
		h, err := history.Of(log, m)
		if err != nil {
			t.Fatal(err)
		}
		if len(h.Results) != 24 || h.Results[0].Outcome == nil || len(h.Levels) != 24 {
			t.Fatalf("%d results, %d levels", len(h.Results), len(h.Levels))
		}
		for _, c := range h.Changes {
			switch {
			case c.Came && !c.Whole: // another version, the same water
				n++
				if c.Low <= 0 && 0 <= c.High {
					held++
				}
				if c.Verdict != history.Undecided {
					changed++
				}
			case c.Whole && c.Verdict == history.Rose:
				called++
			}
		}
		if seed > 0 {
			continue
		}
		for i := range log {
			if log[i].Lot == "L2" {
				log[i].Lot = "L3"
			}
		}
		if h, err = history.Of(log, m); err != nil {
			t.Fatal(err)
		}
		for _, c := range h.Changes {
			if c.Came && c.Verdict != history.CannotBeTold {
				t.Errorf("across to a lot without knowns: %s", c.Verdict)
			}
		}
	}
	if n != 12 || held < 10 || changed > 1 || called < 11 {
		t.Errorf("%.0f of %.0f differences between versions hold 0, %.0f called; the rise is called in %.0f of 12", held, n, changed, called)
	}
}

// What two versions of a curve share of the same points falls out of what one reads less the other: a version of the same
// points is not apart from the first at all; one without two of them, or of another shape's weights, is as far apart as it is in made-up
// trials; one of other signals on other knowns goes its own way.
func TestVersionsShareTheirKnowns(t *testing.T) {
	const uStock, uOwn, at = 0.02, 0.015, 6.0
	o := curve.Options{Shared: uStock, Shape: curve.Saturating, Weights: curve.Equal}
	errors := func(name string, d curve.Document, gone ...curve.Point) []float64 {
		out := make([]float64, 128)
		sourceOf(t, name, d, gone...).Way("", "", 1).Shared(at, 1, out)
		return out
	}
	apart := func(a, b []float64) float64 {
		less := make([]float64, len(a))
		for i := range a {
			less[i] = a[i] - b[i]
		}
		_, sd := num.MeanSD(less)
		return sd
	}
	var differences []float64
	said, alone, again, own := 0.0, 0.0, 0.0, 0.0
	const runs = 40
	for seed := range uint64(runs) {
		points := pointsOf(seed, uStock, uOwn)
		first, second := fittedTo(t, points, o, "L1"), fittedTo(t, slices.Delete(slices.Clone(points), 18, 20), o, "L1")
		level := func(d curve.Document) float64 {
			r, fault := d.Read(curve.Sample{Signals: []float64{absorbance(at, 0)}, Dilution: 1})
			if fault != nil {
				t.Fatal(fault)
			}
			return r.Level
		}
		differences = append(differences, level(second)-level(first))
		e := errors("curve", first)
		_, sd := num.MeanSD(e)
		own += sd / runs
		said += apart(errors("curve, version 2", second, points[18:20]...), e) / runs
		again += apart(errors("curve, version 2", fittedTo(t, points, o, "L2")), e) / runs
		alone += apart(errors("curve, version 2", fittedTo(t, pointsOf(seed+1000, uStock, uOwn), o, "L1")), e) / runs
	}
	_, truly := num.MeanSD(differences)
	t.Logf("own %.4f; two points left out: said %.4f, truly %.4f; again %.2g; other knowns %.4f", own, said, truly, again, alone)
	if again > 1e-12 {
		t.Errorf("the same points again: %.2g apart", again)
	}
	if !(math.Abs(said/truly-1) < 0.3) {
		t.Errorf("two points left out: said to be %.4f apart, truly %.4f", said, truly)
	}
	if !(alone > 1.2*own) {
		t.Errorf("other knowns: %.4f apart, one has %.4f", alone, own)
	}
}
