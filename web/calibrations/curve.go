package calibrations

import (
	"html/template"
	"net/http"
	"strconv"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
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

	in *wording.Language
}

// versionLine is a version in the list, with what its held-out knowns say and how
// many results it made.
type versionLine struct {
	curveLine
	Held    heldWords
	Results int
}

func shapeWords(l *wording.Language, s curve.Shape) string {
	if s == curve.Line {
		return l.Say("straight line")
	}
	return string(s)
}

func rangeWords(l *wording.Language, d curve.Document) string {
	return l.Say("{1} to {2}", render.Number(d.Range.LevelLow), render.Number(d.Range.LevelHigh))
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
	in := s.ReaderOn(r, "curve").Language
	p := curvePage{Curve: s.lineOf(in, c), Unit: render.Unit(c.Spec.Scale), Use: use, Adopt: adopt, Overdue: render.IsPast(c.Spec.ValidUntil, s.Now()), in: in}
	counts, err := s.Bench.ResultCounts(r.Context(), c.ID)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var against, inUse *curveLine
	for i, v := range versions {
		l := curveLine{Curve: v, Fault: in.Say("not computed"), in: in}
		switch {
		case v.VersionID == c.VersionID:
			l = p.Curve
		case i < mostCompared || v.InUse:
			l = s.lineOf(in, v)
		}
		p.Versions = append(p.Versions, versionLine{l, heldOut(p.in, l), counts[v.VersionID]})
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
	if p.Kept, err = s.listResults(r, calibrations.ResultFilter{Curve: c.ID}, curveTeller(s.ReaderOn(r, "curve"), inUse)); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "curve", page.Frame{Title: c.Spec.Name, Part: "calibrations", Page: p})
}

func (p *curvePage) compare(against *curveLine) {
	if against == nil || !against.Fitted() {
		return
	}
	p.Compared = p.in.Say("Version {1} takes other signals: the two cannot be compared.", strconv.Itoa(against.Version))
	if k, ok := calibrations.CompareCurves(against.Doc, p.Curve.Doc, p.Curve.Spec.Need); ok {
		p.Compared = p.in.Say("Version {1} in place of version {2}: {3}", strconv.Itoa(p.Curve.Version), strconv.Itoa(against.Version), report.ComparedWords(p.in, k))
	}
}

func (p *curvePage) fill() {
	d := p.Curve.Doc
	p.SignalName = signalWords(p.in, p.Curve.Spec.Conversion)
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
	p.Lede, p.Block, p.Caption, p.Shows = ledeWords(p.in, d), blockOf(p.in, d), rangeSentence(p.in, d, p.Unit), limitWords(p.in, d.Limits(1), p.Unit)
}

// Head says what the version does.
func (p curvePage) Head() string {
	if !p.Curve.Fitted() {
		return p.Curve.Spec.Name
	}
	out := p.in.Say("Version {1} reads {2}{3} from {4} {5}", strconv.Itoa(p.Curve.Version), p.in.Say(p.Curve.Spec.Scale.Analyte), inMatrix(p.in, p.Curve.Spec.Matrix), rangeWords(p.in, p.Curve.Doc), p.Unit)
	if n := len(p.Curve.Doc.Segments); n > 1 {
		last := p.Curve.Doc.Segments[n-1]
		out = p.in.Say("{1}, diluted {2} times to {3}", out, render.Number(last.Dilution), render.Number(last.Range.LevelHigh*last.Dilution))
	}
	return out
}
