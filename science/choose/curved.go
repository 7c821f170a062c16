package choose

import (
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/curve"
	"knownwater/science/interval"
	"knownwater/science/unit"
)

// Curved is what stands for a curve among the trials: knowns that it was not told, read
// back by it.
type Curved struct {
	Name string
	// Held are findings of the knowns that were kept out of the fit; the findings of the
	// trial hold those that were left out in turn besides. No methods: none were kept out.
	Held assess.Findings

	doc curve.Document
}

// OfCurve makes a curve a way of using a method, by the rules that judge every other: a
// known's signal read back by a curve that did not know the known is a reading of that
// known, and those readings are judged like any method's (assess). like is a trial whose
// water, needs and method are taken; of the method what tests cost. judge judges.
//
// What is read is turned round already, so the results are those as read; a bias that is
// left is the curve's.
func OfCurve(name string, d curve.Document, method knownwater.Method, like knownwater.Trial, judge func(knownwater.Trial) assess.Findings) (Trial, error) {
	if d.Scale.Unit == "" {
		return Trial{}, knownwater.Fault{Found: "it does not say what its levels are", Want: "a curve fitted with --analyte, --unit and --basis"}
	}
	if d.Scale != like.Scale {
		return Trial{}, knownwater.Fault{Found: "its levels are in %s", Want: "a curve in %s, as the trials are"}.Of(d.Scale.String(), like.Scale.String())
	}
	held, left := d.Untold()
	if len(held)+len(left) == 0 {
		return Trial{}, knownwater.Fault{Found: "the curve holds no known that could judge it", Want: "a curve with its points, three levels or more, as curve fit --out writes it"}
	}
	method.Kind, method.Swatches, method.Range, method.Own, method.Factor = knownwater.Display, nil, nil, unit.Scale{}, 0
	method.DilutionOver, method.DilutionFactor = 0, 0
	top := 0.0
	for _, b := range slices.Concat(held, left) {
		top = math.Max(top, b.Cell())
	}
	method.Resolution = math.Pow(10, math.Floor(math.Log10(math.Max(top, 1e-300)))-4) // finer than any signal shows
	out := Trial{Curve: &Curved{Name: name, doc: d}, Trial: knownwater.Trial{Scale: like.Scale, Water: like.Water, WaterStated: like.WaterStated, Needs: like.Needs, Methods: []knownwater.Method{method}}}
	trial := func(list []curve.ReadBack) knownwater.Trial {
		t := out.Trial
		for i, b := range list {
			t.Observations = append(t.Observations, observed(method, b, d.Choices.Shared, i))
		}
		return t
	}
	if len(held) > 0 {
		out.Curve.Held = judge(trial(held))
	}
	out.Trial = trial(slices.Concat(held, left))
	if len(left) == 0 {
		out.Findings = out.Curve.Held
	} else {
		out.Findings = judge(out.Trial)
	}
	return out, nil
}

// observed is a known's signal read back, as a reading of the method.
func observed(m knownwater.Method, b curve.ReadBack, shared float64, i int) knownwater.Observation {
	o := knownwater.Observation{Method: m.Name, Level: b.Level, ULevel: math.Max(b.ULevel, shared*b.Level), UShared: shared * b.Level, UBackground: b.UBackground,
		Dilution: b.Dilution, Session: b.Session, Vial: fmt.Sprint(i + 1), Count: 1, Row: i + 1}
	half := m.Resolution / 2
	switch s := b.Seen; {
	case s.OpenAbove():
		o.Seen, o.Text = s, fmt.Sprintf(">%g", s.Low)
	case s.OpenBelow():
		o.Seen, o.Text = s, fmt.Sprintf("<%g", s.High)
	default:
		shown := math.Round(s.Low/m.Resolution) * m.Resolution
		o.Seen, o.Text = interval.Interval{Low: shown - half, High: shown + half}, fmt.Sprintf("%.6g", shown)
	}
	return o
}

// curveWays are single tests and averages by a curve. They were tried where knowns that
// were kept out of the fit settle the verdict; else they follow from knowns that were left
// out in turn.
func curveWays(n knownwater.Need, t Trial) (out []Way) {
	for _, m := range t.Findings.Methods {
		f, ok := findingFor(m.Needs, n.Name)
		if !ok {
			continue
		}
		tried, seen := false, biasesOnly(m, t.Trial.Methods[0])
		for _, h := range t.Curve.Held.Methods {
			if g, ok := findingFor(h.Needs, n.Name); ok && h.Dilution == m.Dilution && (g.Raw.Verdict == assess.Fit || g.Raw.Verdict == assess.NotFit) {
				f, tried, seen = g, true, biasesOnly(h, t.Trial.Methods[0])
			}
		}
		u := Use{Method: m.Method, Waters: 1, Tests: 1, Readers: 1, Dilution: m.Dilution, Curve: t.Curve.Name, method: t.Trial.Methods[0]}
		verdict := f.Raw.Verdict
		if f.Verdict == assess.HeldBack || f.Verdict == assess.NotTried {
			verdict = f.Verdict
		}
		out = append(out, Way{Use: u, Tried: tried, LeftOut: !tried, Verdict: verdict, Error: errorOf(f.Raw), Along: f.Along, biases: seen})
		for _, w := range averages(u, f, 1) {
			if !w.Corrected {
				w.LeftOut, w.biases = !tried, seen
				out = append(out, w)
			}
		}
	}
	return out
}
