package web

import (
	"html/template"
	"math"
	"net/http"

	"knownwater/bench"
	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/science/unit"
)

// additionsPage says what a water holds from its signals after known additions.
// Nothing is kept.
type additionsPage struct {
	Form      *form
	Signals   []curve.Signal
	Curves    []bench.Curve // in use
	Result    *curve.Added
	Words     string // the level with its interval
	Figure    template.HTML
	Slope     template.HTML
	SlopeAxis template.HTML
	Notes     []string
	Loose     []string
}

// Said says whether a level came out of it.
func (p additionsPage) Said() bool { return p.Result != nil && !math.IsNaN(p.Result.Value) }

func (s *Server) standardAdditions(w http.ResponseWriter, r *http.Request) {
	s.showAdditions(w, r, http.StatusOK, additionsPage{Form: &form{Values: map[string][]string{}}})
}

func (s *Server) showAdditions(w http.ResponseWriter, r *http.Request, status int, p additionsPage) {
	var err error
	if p.Curves, err = s.bench.CurvesInUse(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	p.Signals, p.Loose = waterSignals, p.Form.Loose("points", "signal", "zero", "u_zero", "curve")
	s.show(w, r, status, "curve-additions", frame{Title: "What does the water hold?", Part: "curves", Page: p})
}

func (s *Server) estimateAdditions(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := additionsPage{Form: f}
	k, against, err := s.againstCurve(r, f)
	if err == nil {
		err = p.estimate(r, k, against)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	status := http.StatusOK
	if len(f.faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.showAdditions(w, r, status, p)
}

// againstCurve is the curve that the slope is held against, nil for none, and what
// the signals are: what that curve takes, else what the form says.
func (s *Server) againstCurve(r *http.Request, f *form) (curve.Conversion, *curve.Curve, error) {
	if f.text("curve") == "" {
		return f.signalKind(), nil, nil
	}
	v, err := s.bench.CurveVersion(r.Context(), atoi(f.text("curve")))
	if err != nil {
		return curve.Conversion{}, nil, err
	}
	d, err := s.bench.Fit(v)
	if f.mixed("curve", err) {
		return v.Spec.Conversion, nil, nil
	}
	return v.Spec.Conversion, &d.Curve, err
}

func (p *additionsPage) estimate(r *http.Request, k curve.Conversion, against *curve.Curve) error {
	f := p.Form
	points, _, err := f.waterPoints(r, "points", k)
	if err != nil {
		return err
	}
	zero, uZero := f.rest(k)
	if len(f.faults) > 0 {
		return nil
	}
	a, err := curve.Additions(points, zero, uZero, against)
	if f.mixed("points", err) || err != nil {
		return err
	}
	p.Result, p.Notes = &a, a.Notes // what is added counts as exact: its u is no matter here
	if !p.Said() {
		return nil
	}
	u := (a.High - a.Low) / 4
	p.Words = unit.TrueMinus(unit.Round(a.Value, u)) + ", " + spanWords(a.Low, a.High, u)
	p.Figure = additionsFigure(a, points, zero)
	if !math.IsNaN(a.SlopeRatio) {
		v := chart.Outside
		if a.SlopeRatioLow <= 1 && 1 <= a.SlopeRatioHigh {
			v = chart.Within
		}
		p.Slope, p.SlopeAxis = shiftRow("slope", "slope against the curve", a.SlopeRatioLow-1, a.SlopeRatio-1, a.SlopeRatioHigh-1, 0, v)
	}
	return nil
}

// rest is the signal of pure water with reagent and its standard uncertainty, both
// as the points' signals are fitted; none given is 0.
func (f *form) rest(k curve.Conversion) (zero, u float64) {
	raw, uRaw := f.number("zero", aNumber), f.number("u_zero", aNumber)
	if uRaw < 0 || math.Abs(uRaw) > 1e9 {
		f.wrong("u_zero", f.text("u_zero"), "a standard uncertainty from 0 up")
	}
	if math.Abs(raw) > 1e9 {
		f.wrong("zero", f.text("zero"), "a signal")
	}
	if f.text("zero") == "" {
		if uRaw > 0 {
			f.wrong("zero", "nothing", "the signal of pure water with reagent that this is the uncertainty of")
		}
		return 0, 0
	}
	zero, u, fault := k.Unsure(raw, uRaw)
	if fault != nil {
		f.wrong(fault.Column, fault.Found, fault.Want)
		return 0, 0
	}
	return zero, u
}

func additionsFigure(a curve.Added, points []curve.Point, zero float64) template.HTML {
	l := chart.Lines{ID: "additions", Title: "Signals after additions, and their line drawn back to what nothing would give", Desc: "Left of 0 the bar is what the water holds, with its 95 % interval.",
		Across: "added; left of 0: what the water holds", Up: "signal", Rest: zero, Held: &chart.Bar{Low: -a.High, High: -a.Low, Notch: -a.Value, Verdict: chart.Plain}}
	set := chart.Set{}
	for _, p := range points {
		set.Seen = append(set.Seen, chart.Seen{Level: p.Level, Signal: p.Signal})
		l.High = math.Max(l.High, 1.03*p.Level)
	}
	l.Low = math.Min(0, -1.08*math.Max(a.High, a.Value))
	l.High = math.Max(l.High, -1.08*math.Min(a.Low, 0))
	for _, x := range []float64{-a.Value, l.High} {
		set.At, set.Y = append(set.At, x), append(set.Y, zero+a.Slope*(x+a.Value))
	}
	l.Sets = []chart.Set{set}
	return template.HTML(l.SVG())
}
