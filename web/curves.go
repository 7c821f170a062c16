package web

import (
	"net/http"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/science/curve"
	"knownwater/science/unit"
)

func curvePath(id int64) string { return "/curves/" + itoa(id) }

// curveLine is a curve in a list, with what its fit says.
type curveLine struct {
	bench.Curve
	Doc   curve.Document
	Fault string // why it cannot be fitted
}

// Fitted says whether there is a fit.
func (c curveLine) Fitted() bool { return c.Fault == "" }

// Form is shape and range in a few words.
func (c curveLine) Form() string {
	if !c.Fitted() {
		return "cannot be fitted"
	}
	return shapeWords(c.Doc.Shape) + ", " + rangeWords(c.Doc)
}

func (s *Server) lineOf(c bench.Curve) curveLine {
	d, err := s.bench.Fit(c)
	if err != nil {
		return curveLine{Curve: c, Fault: err.Error()}
	}
	return curveLine{Curve: c, Doc: d}
}

type curvesPage struct {
	Curves []latestCurve
	Trials []trialSignals
}

// latestCurve is the latest version of a curve, and the number of the one in use,
// 0 where none is.
type latestCurve struct {
	curveLine
	Used int
}

// trialSignals is a finished trial whose readings of a method may carry a curve.
type trialSignals struct {
	Trial         int64
	Title, Method string
	Version       int64
}

func (s *Server) curves(w http.ResponseWriter, r *http.Request) {
	list, err := s.bench.Curves(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	inUse, err := s.bench.CurvesInUse(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	used := map[int64]int{}
	for _, c := range inUse {
		used[c.ID] = c.Version
	}
	p := curvesPage{}
	for _, c := range list {
		p.Curves = append(p.Curves, latestCurve{s.lineOf(c), used[c.ID]})
	}
	if p.Trials, err = s.trialSignals(r); err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, http.StatusOK, "curves", frame{Title: "Curves", Part: "curves", Page: p})
}

func (s *Server) trialSignals(r *http.Request) (out []trialSignals, err error) {
	trials, err := s.bench.Trials(r.Context())
	if err != nil {
		return nil, err
	}
	for _, t := range trials {
		if t.State != bench.Finished {
			continue
		}
		for _, m := range t.Plan.Methods {
			v, err := s.bench.MethodVersion(r.Context(), m.VersionID)
			if err != nil {
				return nil, err
			}
			if v.Spec.Kind == knownwater.Absorbance || v.Spec.Kind == knownwater.Photo || v.Spec.Kind == knownwater.Display {
				out = append(out, trialSignals{t.ID, t.Plan.Title, v.Spec.Name, m.VersionID})
			}
		}
	}
	return out, nil
}

// curveFormPage is the form of a curve, new or changed.
type curveFormPage struct {
	Old      bench.Curve // ID 0: a new one
	Form     *form
	Analytes []string
	Needs    []bench.NeedEntry
	Shapes   []curve.Shape
	Weights  []curve.Weights
	Signals  []curve.Signal
	Trials   []trialSignals
	Loose    []string
}

// newCurveSpec is what the form of a new curve begins with.
func newCurveSpec() bench.CurveSpec {
	return bench.CurveSpec{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Conversion: curve.Conversion{Kind: curve.Absorbance}}
}

func (s *Server) newCurve(w http.ResponseWriter, r *http.Request) {
	spec := newCurveSpec()
	if q := r.URL.Query(); q.Has("trial") {
		from, skipped, err := s.bench.CurveFromTrial(r.Context(), whoIs(r), atoi(q.Get("trial")), atoi(q.Get("method")))
		if err != nil {
			s.fail(w, r, err)
			return
		}
		spec = from
		if skipped > 0 {
			s.tell(r, count(skipped, "reading")+" of the trial not taken over: left out there, or no plain number.")
		}
	}
	s.showCurveForm(w, r, http.StatusOK, bench.Curve{}, curveForm(spec))
}

func (s *Server) changeCurve(w http.ResponseWriter, r *http.Request) {
	c, err := s.bench.Curve(r.Context(), pathID(r, "id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.showCurveForm(w, r, http.StatusOK, c, curveForm(c.Spec))
}

func (s *Server) showCurveForm(w http.ResponseWriter, r *http.Request, status int, old bench.Curve, f *form) {
	p := curveFormPage{Old: old, Form: f, Analytes: unit.Analytes(), Shapes: bench.CurveShapes, Weights: bench.CurveWeights, Signals: bench.CurveSignals, Loose: f.Loose(curveFields...)}
	needs, err := s.bench.Needs(r.Context())
	for _, n := range needs {
		if !n.Retired {
			p.Needs = append(p.Needs, n)
		}
	}
	if err == nil && old.ID == 0 {
		p.Trials, err = s.trialSignals(r)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	title := "A new curve"
	if old.ID != 0 {
		title = "Change " + old.Spec.Name
	}
	s.show(w, r, status, "curve-form", frame{Title: title, Part: "curves", Page: p})
}

func (s *Server) saveCurve(w http.ResponseWriter, r *http.Request) {
	f, err := parseUpload(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if r.MultipartForm != nil {
		defer r.MultipartForm.RemoveAll()
	}
	var old, saved bench.Curve
	if r.PathValue("id") != "" {
		if old, err = s.bench.Curve(r.Context(), pathID(r, "id")); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	spec, rows, notes, err := s.readCurve(r, f, old.Spec)
	if err == nil && len(f.faults) == 0 {
		saved, err = s.bench.SaveCurve(r.Context(), whoIs(r), old.ID, spec, f.text("why"))
	}
	if faults, ok := asFaults(err); ok {
		for _, x := range faults {
			if x.Row > 0 && x.Row <= len(rows) {
				x.Row = rows[x.Row-1]
			}
			f.faults = append(f.faults, x)
		}
		err = nil
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if len(f.faults) > 0 {
		s.showCurveForm(w, r, http.StatusUnprocessableEntity, old, f)
		return
	}
	words := "Kept as version " + itoa(int64(saved.Version)) + "."
	for _, n := range notes {
		words += " " + capital(n) + "."
	}
	s.tell(r, words)
	http.Redirect(w, r, curvePath(saved.ID), http.StatusSeeOther)
}

// versionForm reads a form about a version of the curve in the path. Where it
// cannot, it has answered why.
func (s *Server) versionForm(w http.ResponseWriter, r *http.Request) (f *form, c bench.Curve, ok bool) {
	f, err := parseForm(r)
	if err == nil {
		c, err = s.bench.CurveVersion(r.Context(), atoi(f.Get("version")))
	}
	if err == nil && c.ID != pathID(r, "id") {
		s.notFound(w, r)
		return f, c, false
	}
	if err != nil {
		s.fail(w, r, err)
	}
	return f, c, err == nil
}

// usePoint leaves a point out, holds it out of the fit, or takes it back.
func (s *Server) usePoint(w http.ResponseWriter, r *http.Request) {
	f, from, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	next, err := s.bench.UsePoint(r.Context(), whoIs(r), from.VersionID, f.whole("point", 1<<20), f.ticked("level"), bench.PointUse(f.text("use")), f.Get("why"), s.opt.Version)
	if s.formFaults(f, err) {
		s.showCurve(w, r, http.StatusUnprocessableEntity, from, f, &form{})
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	words := "Kept as version " + itoa(int64(next.Version)) + ". The version before stands as it was."
	if len(from.Spec.Slopes) > len(next.Spec.Slopes) {
		words += " This one is a fit of its own, without the slope update."
	}
	s.tell(r, words)
	http.Redirect(w, r, curvePath(next.ID)+"#fit", http.StatusSeeOther)
}

func (s *Server) adoptCurve(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	_, err := s.bench.AdoptCurve(r.Context(), whoIs(r), c.VersionID, f.Get("why"))
	if s.formFaults(f, err) {
		s.showCurve(w, r, http.StatusUnprocessableEntity, c, &form{}, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "Version "+itoa(int64(c.Version))+" is in use. It never changes; what is decided anew makes another version.")
	http.Redirect(w, r, curvePath(c.ID), http.StatusSeeOther)
}

func (s *Server) retireCurve(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err == nil {
		err = s.bench.RetireCurve(r.Context(), whoIs(r), pathID(r, "id"), f.ticked("retired"))
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, curvePath(pathID(r, "id")), http.StatusSeeOther)
}

// overdue says whether a curve's last day is over.
func overdue(day string, now time.Time) bool { return day != "" && day < now.Format(time.DateOnly) }
