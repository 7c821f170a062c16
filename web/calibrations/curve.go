package calibrations

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// curvePage is one version of a curve: what it gives back, what it was fitted
// to, and what can be decided about it.
type curvePage struct {
	Curve      curveLine
	Unit       string
	Lede       string
	Block      curveBlock
	Caption    string // of the figure
	Shows      string // what one test can show
	SignalName string
	Figures    []template.HTML
	Rows       []backRow
	Points     []pointRow
	Versions   []versionLine
	Use        *form.Form
	Adopt      *form.Form
	Other      bool // another version is in use
	Compared   string
	Overdue    bool
	Kept       resultList
}

// versionLine is a version in the list, with what its held-out knowns say and how
// many results it made.
type versionLine struct {
	curveLine
	Held    heldWords
	Results int
}

// backRow is a known read back.
type backRow struct {
	curve.Judged
	Use      chart.Use
	Signal   float64 // mean
	Dilution float64
}

// Used is what the known was for, in words.
func (b backRow) Used() string {
	return map[chart.Use]string{chart.Fitted: "fitted", chart.Held: "held out", chart.Gone: "left out"}[b.Use]
}

// Class colours the verdict of a held-out known.
func (b backRow) Class() string { return verdictClassOf(b.Verdict) }

// Sign is its error between the permitted ones.
func (b backRow) Sign() template.HTML {
	v, judged := map[string]chart.Verdict{curve.Within: chart.Within, curve.Undecided: chart.Undecided, curve.OutsideIt: chart.Outside}[b.Verdict]
	if !judged || !(b.Permitted > 0) || math.IsNaN(b.Low) || math.IsNaN(b.High) {
		return ""
	}
	flat := chart.Flat{ID: "held-" + strconv.FormatFloat(b.Level, 'g', -1, 64), Half: 1.75, Judged: true,
		Bar: chart.Bar{Low: b.Low / b.Permitted, High: b.High / b.Permitted, Notch: math.NaN(), Verdict: v}} // too small for a notch
	return template.HTML(flat.SVG())
}

// Most is the permitted error.
func (b backRow) Most() string { return unit.TrueMinus(strconv.FormatFloat(b.Permitted, 'g', 3, 64)) }

// Est and Span are what it gave, in words: the level, and its interval.
func (b backRow) Est() string {
	est, _ := resultParts(b.Back)
	return est
}

// Span: see Est.
func (b backRow) Span() string {
	_, span := resultParts(b.Back)
	return span
}

// Off is the error with its limits.
func (b backRow) Off() string { return render.SignedLimits(b.Low, b.High) }

// pointRow is one point as it was seen.
type pointRow struct {
	calibrations.CurvePoint
	N        int
	Residual string
	Beyond   bool // saturated, so that the fit left it out
}

func shapeWords(s curve.Shape) string {
	if s == curve.Line {
		return "straight line"
	}
	return string(s)
}

func rangeWords(d curve.Document) string {
	return render.Number(d.Range.LevelLow) + " to " + render.Number(d.Range.LevelHigh)
}

// versionOf is the version that was asked for, else the one in use, else the
// latest.
func (s *Pages) versionOf(r *http.Request, inUse bool) (calibrations.Curve, error) {
	c, err := s.Bench.Curve(r.Context(), form.PathID(r, "id"))
	if err != nil {
		return c, err
	}
	if r.URL.Query().Has("version") {
		v, err := s.Bench.CurveVersion(r.Context(), form.ID(r.URL.Query().Get("version")))
		if err == nil && v.ID != c.ID {
			err = &knownwater.Refusal{Kind: knownwater.NotFound, Words: "that is a version of another curve"}
		}
		return v, err
	}
	if !inUse || c.InUse {
		return c, nil
	}
	versions, err := s.Bench.CurveVersions(r.Context(), c.ID)
	for _, v := range versions {
		if v.InUse {
			return v, err
		}
	}
	return c, err
}

func (s *Pages) curve(w http.ResponseWriter, r *http.Request) {
	c, err := s.versionOf(r, false)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f := &form.Form{Values: map[string][]string{"point": {r.URL.Query().Get("point")}}}
	s.showCurve(w, r, http.StatusOK, c, f, &form.Form{})
}

// mostCompared keeps a curve of many versions from taking long: older ones are
// listed without their fit.
const mostCompared = 12

func (s *Pages) showCurve(w http.ResponseWriter, r *http.Request, status int, c calibrations.Curve, use, adopt *form.Form) {
	versions, err := s.Bench.CurveVersions(r.Context(), c.ID)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := curvePage{Curve: s.lineOf(c), Unit: render.Unit(c.Spec.Scale), Use: use, Adopt: adopt, Overdue: render.IsPast(c.Spec.ValidUntil, s.Now())}
	counts, err := s.Bench.ResultCounts(r.Context(), c.ID)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var against, inUse *curveLine
	for i, v := range versions {
		l := curveLine{Curve: v, Fault: "not computed"}
		switch {
		case v.VersionID == c.VersionID:
			l = p.Curve
		case i < mostCompared || v.InUse:
			l = s.lineOf(v)
		}
		p.Versions = append(p.Versions, versionLine{l, heldOut(l), counts[v.VersionID]})
		if v.InUse {
			inUse = &l
		}
		if v.VersionID == c.VersionID {
			continue
		}
		p.Other = p.Other || v.InUse
		if v.InUse || v.Version == c.Version-1 && against == nil {
			against = &l
		}
	}
	if p.Curve.Fitted() {
		p.fill()
		p.compare(against)
	}
	p.points()
	if p.Kept, err = s.listResults(r, calibrations.ResultFilter{Curve: c.ID}, curveTeller(inUse)); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "curve", page.Frame{Title: c.Spec.Name, Part: "calibrations", Page: p})
}

func (p *curvePage) compare(against *curveLine) {
	if against == nil || !against.Fitted() {
		return
	}
	p.Compared = fmt.Sprintf("Version %d takes other signals: the two cannot be compared.", against.Version)
	if k, ok := calibrations.CompareCurves(against.Doc, p.Curve.Doc, p.Curve.Spec.Need); ok {
		p.Compared = fmt.Sprintf("Version %d in place of version %d: %s", p.Curve.Version, against.Version, report.ComparedWords(k))
	}
}

func (p *curvePage) fill() {
	d := p.Curve.Doc
	p.SignalName = signalWords(p.Curve.Spec.Conversion)
	segments := d.Segments
	if len(segments) == 0 {
		dilution := 1.0
		if len(d.Points) > 0 {
			dilution = d.Points[0].Dilution
		}
		segments = []curve.Segment{{Dilution: dilution, Curve: d.Curve}}
	}
	gone := p.Curve.Spec.Gone()
	for i, seg := range segments {
		rows, seen := p.readBack(seg, gone)
		p.Rows = append(p.Rows, rows...)
		p.Figures = append(p.Figures, p.figure(i, seg, rows, seen))
	}
	p.Lede, p.Block, p.Caption, p.Shows = ledeWords(d), blockOf(d), rangeSentence(d, p.Unit), limitWords(d.Limits(1), p.Unit)
}

// readBack reads every known of a segment back, as if it were held out.
func (p *curvePage) readBack(seg curve.Segment, gone []curve.Point) (rows []backRow, seen []chart.Seen) {
	groups := map[chart.Use][]curve.Point{}
	add := func(pt curve.Point, use chart.Use) {
		if pt.Dilution != seg.Dilution {
			return
		}
		pt.Check = true
		groups[use] = append(groups[use], pt)
		at := chart.Seen{Level: pt.Level / pt.Dilution, Signal: pt.Signal, Use: use}
		if p.Curve.Latest && !p.Curve.Retired && pt.Row > 0 {
			at.Href = fmt.Sprintf("/curves/%d?version=%d&point=%d#points", p.Curve.ID, p.Curve.VersionID, pt.Row)
		}
		seen = append(seen, at)
	}
	for _, pt := range p.Curve.Doc.Points {
		switch {
		case pt.Check:
			add(pt.Point, chart.Held)
		case pt.Level/pt.Dilution > seg.Top: // saturated, so that the fit left it out
			add(pt.Point, chart.Gone)
		default:
			add(pt.Point, chart.Fitted)
		}
	}
	for _, pt := range gone {
		add(pt, chart.Gone)
	}
	for _, use := range []chart.Use{chart.Fitted, chart.Held, chart.Gone} {
		for _, j := range seg.Checks(groups[use], p.Curve.Spec.Need) {
			sum := 0.0
			for _, pt := range groups[use] {
				if pt.Level == j.Level {
					sum += pt.Signal
				}
			}
			rows = append(rows, backRow{j, use, sum / float64(j.N), seg.Dilution})
		}
	}
	slices.SortStableFunc(rows, func(a, b backRow) int {
		switch {
		case a.Level < b.Level:
			return -1
		case a.Level > b.Level:
			return 1
		}
		return int(a.Use - b.Use)
	})
	return rows, seen
}

func (p *curvePage) figure(i int, seg curve.Segment, rows []backRow, seen []chart.Seen) template.HTML {
	top := seg.Top
	for _, s := range seen {
		top = math.Max(top, s.Level)
	}
	top *= 1.03
	c := chart.Curve{ID: fmt.Sprintf("curve-%d", i), From: seg.Range.LevelLow, To: seg.Range.LevelHigh, Signals: seen,
		Title: fmt.Sprintf("%s from %s to %s %s, and every known read back", seg.Shape, render.Number(seg.Range.LevelLow), render.Number(seg.Range.LevelHigh), p.Unit), Desc: "The table below says the same in numbers.",
		Across: "known, " + p.Unit, Up: p.SignalName, Error: "read back minus known, " + p.Unit}
	if seg.Dilution != 1 {
		c.Across = fmt.Sprintf("known in the cell, diluted %s times, %s", render.Number(seg.Dilution), p.Unit)
	}
	for k := range 61 {
		c.At = append(c.At, top*float64(k)/60)
	}
	c.At = append(c.At, c.From, c.To) // so that the curve turns dashed where the range ends
	slices.Sort(c.At)
	for _, x := range c.At {
		c.Signal = append(c.Signal, seg.At(x))
		if p.Curve.Spec.Need != nil {
			c.Permitted = append(c.Permitted, p.Curve.Spec.Need.PermittedAt(x*seg.Dilution)/seg.Dilution)
		}
	}
	c.Test, c.Own = bands(seg.Curve)
	for _, r := range rows {
		d := seg.Dilution
		c.Back = append(c.Back, chart.Back{Level: r.Level / d, Low: r.Low / d, High: r.High / d, Mid: r.Error / d, Use: r.Use})
		if r.Use != chart.Fitted {
			c.Tags = append(c.Tags, chart.Tag{Level: r.Level / d, Signal: r.Signal, Text: r.Used() + ", " + render.Number(r.Level), Use: r.Use})
		}
	}
	return template.HTML(c.SVG())
}

// bands are the curve’s intervals as a figure draws them.
func bands(c curve.Curve) (test, own chart.Band) {
	for _, b := range c.Spans() {
		test.At, test.Low, test.High = append(test.At, b.Level), append(test.Low, b.Low), append(test.High, b.High)
		own.Low, own.High = append(own.Low, b.OwnLow), append(own.High, b.OwnHigh)
	}
	own.At = test.At
	return test, own
}

func signalWords(k curve.Conversion) string {
	if k.Kind.Light() {
		return "absorbance"
	}
	if k.Kind == curve.DisplayValue {
		return "value shown"
	}
	return "signal"
}

func (p *curvePage) points() {
	back := map[int]curve.PointBack{}
	for _, pt := range p.Curve.Doc.Points {
		back[pt.Row] = pt
	}
	for i, pt := range p.Curve.Spec.Points {
		row := pointRow{CurvePoint: pt, N: i + 1, Residual: "–"}
		if b, ok := back[i+1]; ok {
			row.Residual = unit.Signed(b.Residual, p.Curve.Doc.ResidualSD)
			row.Beyond = math.IsNaN(b.Residual)
		}
		p.Points = append(p.Points, row)
	}
}

// Head says what the version does.
func (p curvePage) Head() string {
	if !p.Curve.Fitted() {
		return p.Curve.Spec.Name
	}
	out := fmt.Sprintf("Version %d reads %s%s from %s %s", p.Curve.Version, p.Curve.Spec.Scale.Analyte, inMatrix(p.Curve.Spec.Matrix), rangeWords(p.Curve.Doc), p.Unit)
	if n := len(p.Curve.Doc.Segments); n > 1 {
		last := p.Curve.Doc.Segments[n-1]
		out += ", diluted " + render.Number(last.Dilution) + " times to " + render.Number(last.Range.LevelHigh*last.Dilution)
	}
	return out
}

// resultWords are a level read back with its interval, or where it lies outside.
func resultWords(r curve.Result) string {
	est, span := resultParts(r)
	if span == "" {
		return est
	}
	return est + " (" + span + ")"
}

// setWords are the levels that a signal leaves open where none is better than the
// others.
func setWords(low, high float64) string {
	switch {
	case math.IsNaN(low) && math.IsNaN(high):
		return "cannot be said"
	case math.IsNaN(high):
		return "at least " + render.TwoDigits(low)
	case math.IsNaN(low):
		return "at most " + render.TwoDigits(high)
	}
	return render.TwoDigits(low) + " to " + render.TwoDigits(high)
}

// resultParts are the level, or where it lies, and its interval if there is one.
func resultParts(r curve.Result) (est, span string) {
	switch {
	case r.Outside == curve.Above:
		return "above " + render.Number(r.Low), ""
	case r.Outside == curve.Below && r.High == 0: // a signal that no water gives
		return "less than nothing", ""
	case r.Outside == curve.Below:
		return "below " + render.Number(r.High), ""
	case math.IsNaN(r.Level):
		return setWords(r.Low, r.High), ""
	case math.IsNaN(r.Low) || math.IsNaN(r.High) || !(r.High > r.Low):
		return render.Number(r.Level), ""
	}
	u := (r.High - r.Low) / 4
	return unit.TrueMinus(unit.Round(r.Level, u)), render.Interval(r.Low, r.High, u)
}
