package choose

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
)

var curveScale, _ = unit.Parse("nitrate", "mg/L", "NO3")

// fitted is a curve of absorbances 0.08 a mg/L that scatter by sd, at eight levels four times;
// knowns kept out of it, three times each, read by so much too high.
func fitted(t *testing.T, sd, high float64, keptOut ...float64) curve.Document {
	t.Helper()
	rng := num.Source(5, 6, 7)
	var points []curve.Point
	add := func(c, by float64, times int, check bool) {
		for range times {
			points = append(points, curve.Point{Level: c, ULevel: 0.002 * c, Signal: 0.01 + 0.08*(c+by) + sd*rng.NormFloat64(), Check: check, Dilution: 1, Row: len(points) + 2})
		}
	}
	for _, c := range []float64{0, 1, 2, 3.5, 5, 7, 9, 12} {
		add(c, 0, 4, false)
	}
	for _, c := range keptOut {
		add(c, high, 4, true)
	}
	d, err := curve.Make(points, curve.Options{Light: true}, curve.Conversion{Kind: curve.Absorbance}, curve.Scope{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return d.On(curveScale)
}

func curveUse(t *testing.T, d curve.Document, permitted float64) Way {
	t.Helper()
	n := need
	n.Permitted = []knownwater.Permit{{At: 2, Error: permitted}}
	like := knownwater.Trial{Scale: curveScale, Water: unit.StandardSea, Needs: []knownwater.Need{n}}
	m := knownwater.Method{Name: "Photometer", Kind: knownwater.Chart, Swatches: []float64{0, 5}, DilutionOver: 3, DilutionFactor: 8, PackPrice: 25, PackTests: 50, Minutes: 6}
	x, err := OfCurve("shed", d, m, like, func(t knownwater.Trial) assess.Findings { return assess.Run(t, assess.Options{}) })
	if err != nil {
		t.Fatal(err)
	}
	c := Of(like.Needs, []Trial{x}, Options{})
	left := slices.ContainsFunc(c.Notes, func(n note.Note) bool { return n.Code == "choose-curve-left-open" })
	if open := slices.ContainsFunc(c.Needs[0].Ways, func(w Way) bool { return w.Verdict == assess.Undecided }); open != left {
		t.Errorf("a curve left open: %v, said: %v", open, left)
	}
	for _, w := range c.Needs[0].Ways {
		if w.Corrected {
			t.Errorf("a curve’s results are turned round already: %+v", w)
		}
		if w.Tests == 1 {
			if w.Curve != "shed" || w.Method != "Photometer" {
				t.Errorf("%+v", w.Use)
			}
			near(t, "money", w.Cost.Money, 72)
			return w
		}
	}
	t.Fatal("no single test")
	return Way{}
}

// By hand: signals that scatter by 0.008 are results that scatter by 0.1, error_95 0.196; a known
// that is kept out and reads 0.6 too high leaves 0.6 + 1.645·0.1.
func TestCurveWay(t *testing.T) {
	for _, c := range []struct {
		name      string
		d         curve.Document
		permitted float64
		verdict   string
		tried     bool
	}{
		{"kept out, does", fitted(t, 0.008, 0, 1.5, 2.5, 4, 6.2), 0.6, assess.Fit, true},
		{"left out in turn, does", fitted(t, 0.008, 0), 0.6, assess.Fit, false},
		{"does not", fitted(t, 0.008, 0), 0.05, assess.NotFit, false},
		{"kept out, speaks against it", fitted(t, 0.008, 0.6, 1.5, 2.5, 4, 6.2), 0.4, assess.NotFit, true},
		{"left open", fitted(t, 0.008, 0), 0.25, assess.Undecided, false},
		{"one kept out is too little to say", fitted(t, 0.008, 0, 4), 0.6, assess.Fit, false},
	} {
		w := curveUse(t, c.d, c.permitted)
		if w.Verdict != c.verdict || w.Tried != c.tried {
			t.Errorf("%s: %s, tried %v; want %s, %v (%+v)", c.name, w.Verdict, w.Tried, c.verdict, c.tried, w.Error)
		}
		if c.verdict == assess.Fit && !(w.Error.Low < 0.196 && 0.196 < w.Error.High && w.Error.High < 0.6) {
			t.Errorf("%s: error_95 is 0.196 of 0.6: %+v", c.name, w.Error)
		}
		// what truly shows from nothing is (1.645 + 1.645)·0.1, the smallest rise 1.645·√2·0.1
		for _, x := range []struct {
			Spanned
			truth float64
		}{{w.Shows, 0.329}, {w.Step, 0.2326}} {
			if !(float64(x.Low) < x.truth && x.truth < float64(x.High) && float64(x.Is) > 0.7*x.truth && float64(x.Is) < 1.5*x.truth) || len(w.Why) > 0 {
				t.Errorf("%s: %+v, in truth %g; %v", c.name, x.Spanned, x.truth, w.Why)
			}
		}
	}
}

// What a curve cannot say of single results is none, with the reason.
func TestCurveAlone(t *testing.T) {
	n := need
	n.Low = 4
	codes := func(a Alone) (out []string) {
		for _, x := range a.Why {
			out = append(out, x.Code)
		}
		return out
	}
	d := fitted(t, 0.008, 0)
	c := Curved{Name: "shed", doc: d}
	if a := c.alone(n, 1); len(a.Why) > 0 || !a.Shows.Is.OK() || !a.Step.Is.OK() {
		t.Errorf("%+v", a)
	}
	diluted := c.alone(n, 8) // one part in eight: nothing of the curve but its scale
	if a := c.alone(knownwater.Need{Low: 0.5}, 1); math.Abs(float64(diluted.Step.Is)-8*float64(a.Step.Is)) > 1e-9 || math.Abs(float64(diluted.Shows.High)-8*float64(a.Shows.High)) > 1e-9 {
		t.Errorf("diluted %+v, undiluted %+v", diluted, a)
	}
	n.Low = 11.95
	if a := c.alone(n, 1); a.Step.Is.OK() || !slices.Equal(codes(a), []string{"curve-rise-unknown"}) {
		t.Errorf("at the top of the range: %+v", a)
	}
	c.doc.Range.LevelLow = 3
	if a := c.alone(need, 1); a.Shows.Is.OK() || !slices.Equal(codes(a), []string{"curve-shows-unknown-above"}) {
		t.Errorf("without anything near nothing: %+v", a)
	}
}

// A curve without its points or on another scale is refused.
func TestCurveRefused(t *testing.T) {
	d := fitted(t, 0.008, 0)
	like := knownwater.Trial{Scale: curveScale}
	bare := d
	bare.Points = nil
	other := d.On(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"})
	for _, d := range []curve.Document{bare, other} {
		if _, err := OfCurve("shed", d, knownwater.Method{}, like, nil); err == nil {
			t.Error(fmt.Sprint(d.Scale, len(d.Points), " is taken"))
		}
	}
}
