package calibrations

import (
	"net/http"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/science/curve"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// Path is the address of a curve.
func Path(id int64) string { return "/curves/" + render.ID(id) }

// curveLine is a curve in a list, with what its fit says.
type curveLine struct {
	calibrations.Curve
	Doc   curve.Document
	Fault string // why it cannot be fitted
	in    *wording.Language
}

// Fitted says whether there is a fit.
func (c curveLine) Fitted() bool { return c.Fault == "" }

// Form is shape and range in a few words.
func (c curveLine) Form() string {
	if !c.Fitted() {
		return c.in.Say("cannot be fitted")
	}
	return shapeWords(c.in, c.Doc.Shape) + ", " + rangeWords(c.in, c.Doc)
}

func (s *Pages) lineOf(l *wording.Language, c calibrations.Curve) curveLine {
	d, err := s.Bench.Fit(c)
	if err != nil {
		return curveLine{Curve: c, Fault: err.Error(), in: l}
	}
	return curveLine{Curve: c, Doc: d, in: l}
}

type curvesPage struct {
	Now    time.Time
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

func (s *Pages) curves(w http.ResponseWriter, r *http.Request) {
	list, err := s.Bench.Curves(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	inUse, err := s.Bench.CurvesInUse(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	used := map[int64]int{}
	for _, c := range inUse {
		used[c.ID] = c.Version
	}
	p, in := curvesPage{Now: s.Now()}, s.ReaderOn(r, "curves").Language
	for _, c := range list {
		p.Curves = append(p.Curves, latestCurve{s.lineOf(in, c), used[c.ID]})
	}
	if p.Trials, err = s.trialSignals(r); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "curves", page.Frame{Heading: "Curves", Part: "calibrations", Page: p})
}

func (s *Pages) trialSignals(r *http.Request) (out []trialSignals, err error) {
	all, err := s.Bench.Trials(r.Context())
	if err != nil {
		return nil, err
	}
	for _, t := range all {
		if t.State != trials.Finished {
			continue
		}
		for _, m := range t.Plan.Methods {
			v, err := s.Bench.MethodVersion(r.Context(), m.VersionID)
			if err != nil {
				return nil, err
			}
			if reading.Of(v.Spec.Kind).Number {
				out = append(out, trialSignals{t.ID, t.Plan.Title, v.Spec.Name, m.VersionID})
			}
		}
	}
	return out, nil
}

// curveFormPage is the form of a curve, new or changed.
type curveFormPage struct {
	Old      calibrations.Curve // ID 0: a new one
	Form     *form.Form
	Analytes []string
	Needs    []knownwater.NeedEntry
	Shapes   []curve.Shape
	Weights  []curve.Weights
	Signals  []curve.Signal
	Trials   []trialSignals
	Loose    knownwater.Faults
}

// newCurveSpec is what the form of a new curve begins with.
func newCurveSpec() calibrations.CurveSpec {
	return calibrations.CurveSpec{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Conversion: curve.Conversion{Kind: curve.Absorbance}}
}

func (s *Pages) newCurve(w http.ResponseWriter, r *http.Request) {
	spec := newCurveSpec()
	if q := r.URL.Query(); q.Has("trial") {
		from, skipped, err := s.Bench.CurveFromTrial(r.Context(), page.WhoIs(r), form.ID(q.Get("trial")), form.ID(q.Get("method")))
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		spec = from
		if skipped > 0 {
			s.Tell(r, "{1} of the trial not taken over: left out there, or no plain number.", page.Reader(r).Count(skipped, "reading"))
		}
	}
	s.showCurveForm(w, r, http.StatusOK, calibrations.Curve{}, curveForm(spec))
}

func (s *Pages) changeCurve(w http.ResponseWriter, r *http.Request) {
	c, err := s.Bench.Curve(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.showCurveForm(w, r, http.StatusOK, c, curveForm(c.Spec))
}

func (s *Pages) showCurveForm(w http.ResponseWriter, r *http.Request, status int, old calibrations.Curve, f *form.Form) {
	p := curveFormPage{Old: old, Form: f, Analytes: unit.Analytes(), Shapes: calibrations.CurveShapes, Weights: calibrations.CurveWeights, Signals: calibrations.CurveSignals, Loose: f.Loose(curveFields...)}
	needs, err := s.Bench.Needs(r.Context())
	for _, n := range needs {
		if !n.Retired {
			p.Needs = append(p.Needs, n)
		}
	}
	if err == nil && old.ID == 0 {
		p.Trials, err = s.trialSignals(r)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	title := page.Reader(r).Language.Say("A new curve")
	if old.ID != 0 {
		title = page.Reader(r).Language.Say("Change {1}", old.Spec.Name)
	}
	s.Show(w, r, status, "curve-form", page.Frame{Title: title, Part: "calibrations", Page: p})
}

func (s *Pages) saveCurve(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer form.Clear(r)
	var old, saved calibrations.Curve
	if r.PathValue("id") != "" {
		if old, err = s.Bench.Curve(r.Context(), form.PathID(r, "id")); err != nil {
			s.Fail(w, r, err)
			return
		}
	}
	spec, rows, notes, err := s.readCurve(r, f, old.Spec)
	if err == nil && !f.Bad() {
		saved, err = s.Bench.SaveCurve(r.Context(), page.WhoIs(r), old.ID, spec, f.Text("why"))
	}
	if faults := form.FaultsOf(err); faults != nil {
		for _, x := range faults {
			if x.Row > 0 && x.Row <= len(rows) {
				x.Row = rows[x.Row-1]
			}
			f.AddFault(x)
		}
		err = nil
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if f.Bad() {
		s.showCurveForm(w, r, http.StatusUnprocessableEntity, old, f)
		return
	}
	words := page.Reader(r).Language.Say("Kept as version {1}.", render.ID(int64(saved.Version)))
	for _, n := range notes {
		words += " " + render.Capital(n) + "."
	}
	s.Tell(r, words)
	http.Redirect(w, r, Path(saved.ID), http.StatusSeeOther)
}

// versionForm reads a form about a version of the curve in the path. Where it
// cannot, it has answered why.
func (s *Pages) versionForm(w http.ResponseWriter, r *http.Request) (f *form.Form, c calibrations.Curve, ok bool) {
	f, err := form.Parse(r)
	if err == nil {
		c, err = s.Bench.CurveVersion(r.Context(), form.ID(f.Get("version")))
	}
	if err == nil && c.ID != form.PathID(r, "id") {
		s.NotFound(w, r)
		return f, c, false
	}
	if err != nil {
		s.Fail(w, r, err)
	}
	return f, c, err == nil
}

// usePoint leaves a point out, holds it out of the fit, or takes it back.
func (s *Pages) usePoint(w http.ResponseWriter, r *http.Request) {
	f, from, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	next, err := s.Bench.UsePoint(r.Context(), page.WhoIs(r), from.VersionID, f.Whole("point", 1<<20), f.Ticked("level"), calibrations.PointUse(f.Text("use")), f.Get("why"), s.Options.Version)
	if f.Refused(err) {
		s.showCurve(w, r, http.StatusUnprocessableEntity, from, f, &form.Form{})
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	words := page.Reader(r).Language.Say("Kept as version {1}. The version before stands as it was.", render.ID(int64(next.Version)))
	if len(from.Spec.Slopes) > len(next.Spec.Slopes) {
		words += " " + page.Reader(r).Language.Say("This one is a fit of its own, without the slope update.")
	}
	s.Tell(r, words)
	http.Redirect(w, r, Path(next.ID)+"#fit", http.StatusSeeOther)
}

func (s *Pages) adoptCurve(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	_, err := s.Bench.AdoptCurve(r.Context(), page.WhoIs(r), c.VersionID, f.Get("why"))
	if f.Refused(err) {
		s.showCurve(w, r, http.StatusUnprocessableEntity, c, &form.Form{}, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Version {1} is in use. It never changes; what is decided anew makes another version.", render.ID(int64(c.Version)))
	http.Redirect(w, r, Path(c.ID), http.StatusSeeOther)
}

func (s *Pages) retireCurve(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireCurve(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, Path(form.PathID(r, "id")), http.StatusSeeOther)
}
