package calibrations

import (
	"fmt"
	"html/template"
	"math"
	"net/http"

	"knownwater"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/matrix"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// waterSignals are what signals of a comparison may be: those that need no counts
// beside them.
var waterSignals = []curve.Signal{curve.Absorbance, curve.Transmittance, curve.Percent, curve.DisplayValue, curve.Other}

// mostWaterPoints keeps a page from taking seconds.
const mostWaterPoints = 2000

// matrixPage says whether another water changes the slope, the blank or both. Nothing
// is kept.
type matrixPage struct {
	Form       *form.Form
	Signals    []curve.Signal
	Effect     *matrix.Effect
	Verdict    string
	Class      string
	Figure     template.HTML
	Slope      template.HTML
	SlopeAxis  template.HTML
	Offset     template.HTML
	OffsetAxis template.HTML
	Notes      []string
	Loose      knownwater.Faults

	in *wording.Language
}

func (s *Pages) matrix(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{}}
	f.Set("margin", "5")
	s.showMatrix(w, r, http.StatusOK, matrixPage{Form: f})
}

func (s *Pages) showMatrix(w http.ResponseWriter, r *http.Request, status int, p matrixPage) {
	p.Signals, p.Loose = waterSignals, p.Form.Loose("first", "second", "signal", "margin")
	s.Show(w, r, status, "curve-matrix", page.Frame{Heading: "Does the water matter?", Part: "calibrations", Page: p})
}

func (s *Pages) compareWaters(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := matrixPage{Form: f, in: s.ReaderOn(r, "curve-matrix").Language}
	if err := p.compare(r); err != nil {
		s.Fail(w, r, err)
		return
	}
	status := http.StatusOK
	if f.Bad() {
		status = http.StatusUnprocessableEntity
	}
	s.showMatrix(w, r, status, p)
}

// readSignalKind is what the signals of a form were said to be.
func readSignalKind(f *form.Form) curve.Conversion {
	for _, k := range waterSignals {
		if f.Text("signal") == string(k) {
			return curve.Conversion{Kind: k}
		}
	}
	f.Reject("signal", fmt.Sprintf("“%.40s”", f.Text("signal")), "what the signals are")
	return curve.Conversion{Kind: curve.Other}
}

// readWaterPoints are the points of a field as curves take them; none is a fault.
func readWaterPoints(f *form.Form, r *http.Request, field string, k curve.Conversion) (points []curve.Point, notes []string, err error) {
	list, notes, err := readPoints(f, r, field)
	if err != nil {
		return nil, nil, err
	}
	if len(list) == 0 && f.Wrong(field) == nil {
		f.Reject(field, "no points", "a row for each vial: level and signal, such as 4 0.273")
	}
	if len(list) > mostWaterPoints {
		f.Reject(field, "%d points", "at most %d", len(list), mostWaterPoints)
		return nil, nil, nil
	}
	points, fs := k.Points(list)
	for _, x := range fs {
		f.AddFault(inField(field, x))
	}
	return points, notes, nil
}

func (p *matrixPage) compare(r *http.Request) error {
	f := p.Form
	k := readSignalKind(f)
	margin := f.Number("margin", "per cent such as 5") / 100
	if !(margin > 0 && margin < 1) && f.Wrong("margin") == nil {
		f.Reject("margin", f.Text("margin")+" %", "above 0 and below 100 %, such as 5")
	}
	o := curve.Options{Light: k.Kind.Light(), Sure: !k.Kind.Light()}
	var waters [2][]curve.Point
	for i, field := range []string{"first", "second"} {
		points, notes, err := readWaterPoints(f, r, field, k)
		if err != nil {
			return err
		}
		if f.Wrong(field) == nil {
			for _, x := range curve.Faults(points, o) {
				f.AddFault(inField(field, x))
			}
		}
		for _, n := range notes {
			p.Notes = append(p.Notes, p.in.Say(map[string]string{"first": wording.Key("first water: {1}"), "second": wording.Key("second water: {1}")}[field], n))
		}
		waters[i] = points
	}
	if f.Bad() {
		return nil
	}
	m, err := matrix.Compare(waters[0], waters[1], o, margin)
	if faultsBeside(f, "first", err) || err != nil {
		return err
	}
	p.show(m, waters)
	return nil
}

// faultsBeside puts faults of a computation with several fields beside the first of them.
func faultsBeside(f *form.Form, field string, err error) bool {
	faults := form.FaultsOf(err)
	ok := faults != nil
	for _, x := range faults {
		f.AddFault(inField(field, x))
	}
	return ok
}

func (p *matrixPage) show(m matrix.Effect, waters [2][]curve.Point) {
	shifted := m.OffsetLow > 0 || m.OffsetHigh < 0
	p.Effect = &m
	for _, n := range m.Notes {
		p.Notes = append(p.Notes, report.WordsIn(p.in, n))
	}
	p.Class = map[string]string{matrix.SameSlope: "within", matrix.DifferentSlope: "outside", curve.Undecided: "undecided"}[m.Verdict]
	p.Verdict = p.in.Say(map[string]string{matrix.SameSlope: wording.Key("The slope is the same in both waters"), matrix.DifferentSlope: wording.Key("The water changes the slope"), curve.Undecided: wording.Key("Undecided whether the water changes the slope")}[m.Verdict])
	switch {
	case shifted && m.Verdict == matrix.SameSlope:
		p.Verdict, p.Class = p.in.Say("{1}, but it shifts every reading alike.", p.Verdict), "outside"
	case shifted:
		p.Verdict = p.in.Say("{1}, and it shifts every reading alike.", p.Verdict)
	default:
		p.Verdict += "."
	}
	v := map[string]chart.Verdict{matrix.SameSlope: chart.Within, matrix.DifferentSlope: chart.Outside, curve.Undecided: chart.Undecided}[m.Verdict]
	p.Slope, p.SlopeAxis = render.ShiftMark("slope", p.in.Say("slope in the second water against the first"), m.SlopeLow-1, m.Slope-1, m.SlopeHigh-1, m.Margin, v)
	p.Offset, p.OffsetAxis = knownRow(p.in, "offset", p.in.Say("constant shift"), m.OffsetLow, m.Offset, m.OffsetHigh)
	p.Figure = matrixFigure(p.in, m, waters)
}

// OffsetWords are the limits of the constant shift.
func (p matrixPage) OffsetWords() string {
	return render.SignedLimits(p.Effect.OffsetLow, p.Effect.OffsetHigh)
}

func matrixFigure(in *wording.Language, m matrix.Effect, waters [2][]curve.Point) template.HTML {
	l := chart.Lines{ID: "waters", Title: in.Say("Signals of knowns in both waters, and the line of each"), Desc: in.Say("What differs stands in words and intervals beside it."), Across: in.Say("level of the known"), Up: in.Say("signal")}
	for i, points := range waters {
		set, top := chart.Series{}, 0.0
		for _, pt := range points {
			set.Seen = append(set.Seen, chart.Seen{Level: pt.Level / pt.Dilution, Signal: pt.Signal})
			top = math.Max(top, pt.Level/pt.Dilution)
		}
		l.High = math.Max(l.High, 1.03*top)
		for k := range 61 {
			x := top * float64(k) / 60
			at := x
			if i == 1 {
				at = m.Slope*x + m.Offset
			}
			set.At, set.Y = append(set.At, x), append(set.Y, m.Curve.At(at))
		}
		l.Sets = append(l.Sets, set)
	}
	return template.HTML(l.SVG())
}

// knownRow is a shift around 0, as known water shows it; nothing is permitted there.
func knownRow(l *wording.Language, id, what string, low, mid, high float64) (mark, axis template.HTML) {
	half := 1.06 * math.Max(math.Abs(low), math.Abs(high))
	row := chart.Row{ID: "row-" + id, Title: l.Say("{1} from {2}", what, render.SignedLimits(low, high)), Low: -half, High: half,
		Bars: []chart.Bar{{Low: low, High: high, Notch: mid, Verdict: chart.Known}}}
	return template.HTML(row.SVG()), template.HTML(row.Axis(true))
}
