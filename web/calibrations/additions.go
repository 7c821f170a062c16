package calibrations

import (
	"html/template"
	"math"
	"net/http"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/matrix"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// additionsPage says what a water holds from its signals after known additions.
// Nothing is kept.
type additionsPage struct {
	Form      *form.Form
	Signals   []curve.Signal
	Curves    []calibrations.Curve // in use
	Result    *matrix.Added
	Words     string // the level with its interval
	Figure    template.HTML
	Slope     template.HTML
	SlopeAxis template.HTML
	Notes     []string
	Loose     knownwater.Faults

	in *wording.Language
}

// Said says whether a level came out of it.
func (p additionsPage) Said() bool { return p.Result != nil && !math.IsNaN(p.Result.Value) }

func (s *Pages) standardAdditions(w http.ResponseWriter, r *http.Request) {
	s.showAdditions(w, r, http.StatusOK, additionsPage{Form: &form.Form{Values: map[string][]string{}}})
}

func (s *Pages) showAdditions(w http.ResponseWriter, r *http.Request, status int, p additionsPage) {
	var err error
	if p.Curves, err = s.Bench.CurvesInUse(r.Context()); err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Signals, p.Loose = waterSignals, p.Form.Loose("points", "signal", "zero", "u_zero", "curve")
	s.Show(w, r, status, "curve-additions", page.Frame{Heading: "What does the water hold?", Part: "calibrations", Page: p})
}

func (s *Pages) estimateAdditions(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := additionsPage{Form: f, in: s.ReaderOn(r, "curve-additions").Language}
	k, alike, err := s.alikeCurves(r, f)
	if err == nil {
		err = p.estimate(r, k, alike)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	status := http.StatusOK
	if f.Bad() {
		status = http.StatusUnprocessableEntity
	}
	s.showAdditions(w, r, status, p)
}

// alikeCurves are the curve that the additions are read by and those that its points do not tell from it, none for none, and what
// the signals are: what that curve takes, else what the form says.
func (s *Pages) alikeCurves(r *http.Request, f *form.Form) (curve.Conversion, []curve.Curve, error) {
	if f.Text("curve") == "" {
		return readSignalKind(f), nil, nil
	}
	v, err := s.Bench.CurveVersion(r.Context(), form.ID(f.Text("curve")))
	if err != nil {
		return curve.Conversion{}, nil, err
	}
	d, err := s.Bench.Fit(v)
	if faultsBeside(f, "curve", err) {
		return v.Spec.Conversion, nil, nil
	}
	if err != nil {
		return v.Spec.Conversion, nil, err
	}
	return v.Spec.Conversion, d.Alike(), nil
}

func (p *additionsPage) estimate(r *http.Request, k curve.Conversion, alike []curve.Curve) error {
	f := p.Form
	points, _, err := readWaterPoints(f, r, "points", k)
	if err != nil {
		return err
	}
	zero := readZero(f, k)
	if f.Bad() {
		return nil
	}
	a, err := matrix.Additions(points, zero, alike)
	if faultsBeside(f, "points", err) || err != nil {
		return err
	}
	p.Result, p.Notes = &a, report.SayAll(a.Notes) // what is added counts as exact: its u is no matter here
	if !p.Said() {
		return nil
	}
	u := (a.High - a.Low) / 4
	p.Words = unit.TrueMinus(unit.Round(a.Value, u)) + ", " + render.Interval(a.Low, a.High, u)
	p.Figure = additionsFigure(p.in, a, points)
	if !math.IsNaN(a.SlopeRatio) {
		v := chart.Outside
		if a.SlopeRatioLow <= 1 && 1 <= a.SlopeRatioHigh {
			v = chart.Within
		}
		p.Slope, p.SlopeAxis = render.ShiftMark("slope", p.in.Say("slope against the curve"), a.SlopeRatioLow-1, a.SlopeRatio-1, a.SlopeRatioHigh-1, 0, v)
	}
	return nil
}

// readZero is the signal of pure water with reagent and its standard uncertainty, both
// as the points' signals are fitted; nil where none is given.
func readZero(f *form.Form, k curve.Conversion) *matrix.Zero {
	raw, uRaw := f.Number("zero", form.WantNumber), f.Number("u_zero", form.WantNumber)
	if uRaw < 0 || math.Abs(uRaw) > 1e9 {
		f.Reject("u_zero", f.Text("u_zero"), "a standard uncertainty from 0 up")
	}
	if math.Abs(raw) > 1e9 {
		f.Reject("zero", f.Text("zero"), "a signal")
	}
	if f.Text("zero") == "" {
		if uRaw > 0 {
			f.Reject("zero", "nothing", "the signal of pure water with reagent that this is the uncertainty of")
		}
		return nil
	}
	zero, u, fault := k.Unsure(raw, uRaw)
	if fault != nil {
		f.AddFault(*fault)
		return nil
	}
	return &matrix.Zero{Signal: zero, U: u}
}

func additionsFigure(in *wording.Language, a matrix.Added, points []curve.Point) template.HTML {
	l := chart.Lines{ID: "additions", Title: in.Say("Signals after additions, and their line drawn back to what nothing would give"), Desc: in.Say("Left of 0 the bar is what the water holds, with its 95 % interval."),
		Across: in.Say("added; left of 0: what the water holds"), Up: in.Say("signal"), Rest: a.At(-a.Value), Held: &chart.Bar{Low: -a.High, High: -a.Low, Notch: -a.Value, Verdict: chart.Plain}}
	set := chart.Series{}
	for _, p := range points {
		set.Seen = append(set.Seen, chart.Seen{Level: p.Level, Signal: p.Signal})
		l.High = math.Max(l.High, 1.03*p.Level)
	}
	l.Low = math.Min(0, -1.08*math.Max(a.High, a.Value))
	l.High = math.Max(l.High, -1.08*math.Min(a.Low, 0))
	const steps = 24 // it bends as the curve does
	for i := range steps + 1 {
		x := -a.Value + (l.High+a.Value)*float64(i)/steps
		set.At, set.Y = append(set.At, x), append(set.Y, a.At(x))
	}
	l.Sets = []chart.Series{set}
	return template.HTML(l.SVG())
}
