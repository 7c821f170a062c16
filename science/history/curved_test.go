package history_test

import (
	"fmt"
	"math"
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
	t.Helper()
	rng := num.Source(seed, 31)
	off := 1 + uStock*rng.NormFloat64()
	var points []curve.Point
	for _, level := range []float64{0, 1, 2, 4, 7, 10} {
		for range 4 {
			points = append(points, curve.Point{Level: level, Signal: absorbance(level*off, rng.NormFloat64()), Dilution: 1})
		}
	}
	d, err := curve.Make(points, curve.Options{Shared: uStock}, curve.Conversion{Kind: curve.Absorbance}, curve.Scope{Lot: lot}, nil)
	if err != nil {
		t.Fatal(err)
	}
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		t.Fatal(err)
	}
	return d.On(scale)
}

func sourceOf(t *testing.T, name string, d curve.Document) history.Source {
	t.Helper()
	s, ok := history.OfCurve(name, d, 0)
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
