package calibrations

import (
	"crypto/rand"
	"net/http"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// curveReadPage turns signals of one water round, and can keep what they say.
type curveReadPage struct {
	Curve   curveLine
	Form    *form.Form // the signals
	Keep    *form.Form // name of the water, when it was tested
	Key     string
	Result  *curve.Result
	Words   string
	Scale   unit.Scale // of what it says
	Overdue bool
	MayKeep bool
}

// readVersion is the version to read through. A reader has the one in use only.
func (s *Pages) readVersion(r *http.Request) (calibrations.Curve, error) {
	c, err := s.versionOf(r, true)
	if err == nil && page.WhoIs(r).Role != knownwater.Owner && !c.InUse {
		err = &knownwater.Refusal{Kind: knownwater.NotAllowed, Words: "this version is not in use: its owner decides about it"}
	}
	return c, err
}

// readCurveSignal is asked with the signals in the address: nothing is kept by
// looking.
func (s *Pages) readCurveSignal(w http.ResponseWriter, r *http.Request) {
	c, err := s.readVersion(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	q := r.URL.Query()
	s.showReadSignal(w, r, c, &form.Form{Values: q}, &form.Form{}, q.Has("signals"))
}

func (s *Pages) showReadSignal(w http.ResponseWriter, r *http.Request, c calibrations.Curve, f, keep *form.Form, read bool) {
	p := curveReadPage{Curve: s.lineOf(s.ReaderOn(r, "curve-read").Language, c), Form: f, Keep: keep, Key: keep.Text("key"), Overdue: render.IsPast(c.Spec.ValidUntil, s.Now()), MayKeep: c.InUse && !c.Retired}
	if p.Key == "" {
		p.Key = rand.Text()
	}
	if read && p.Curve.Fitted() {
		p.read(s.ReaderOn(r, "curve-read"))
	}
	status := http.StatusOK
	if f.Bad() || keep.Bad() {
		status = http.StatusUnprocessableEntity
	}
	s.Show(w, r, status, "curve-read", page.Frame{Heading: "Read a signal: {1}", Of: []string{c.Spec.Name}, Part: "calibrations", Page: p})
}

func (p *curveReadPage) read(as render.Reader) {
	sample, faults := readSample(p.Form).Sample()
	if p.Form.AddNewFaults(faults); p.Form.Bad() {
		return
	}
	result, fault := p.Curve.Doc.Read(sample)
	if fault != nil {
		p.Form.AddFault(*fault)
		return
	}
	shown := as.Result(calibrations.Result{Scale: p.Curve.Spec.Scale, Outcome: result})
	p.Result, p.Words, p.Scale = &shown.Outcome, resultWords(as.Language, shown.Outcome), shown.Scale
}

// readSample are the signals that were typed, and how the water was diluted.
func readSample(f *form.Form) calibrations.NewResult {
	n := calibrations.NewResult{Signals: f.Get("signals"), OwnColour: f.Get("own_colour"), Clear: f.Get("clear"), Dilution: f.Number("dilution", "a factor such as 8"), UDilution: f.Number("u_dilution", form.WantNumber) / 100, ULot: f.Number("u_lot", form.WantNumber) / 100}
	if f.Text("dilution") != "" && n.Dilution == 0 && f.Wrong("dilution") == nil {
		f.Reject("dilution", f.Text("dilution"), "a factor above 0, such as 8 for 1 part in 8")
	}
	return n
}

// readResult is a result as it was typed. Numbers that are none are noted as
// faults of the form.
func readResult(f *form.Form) calibrations.NewResult {
	n := readSample(f)
	n.Key, n.Water, n.Note, n.TakenAt = f.Text("key"), f.Text("water"), f.Get("note"), f.LocalTime("taken_at")
	return n
}

// keepResult keeps what the page said: it is computed again from what was typed.
func (s *Pages) keepResult(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	var kept calibrations.Result
	var err error
	n := readResult(f)
	n.Version, n.Program = c.VersionID, s.Options.Version
	if !f.Bad() {
		kept, err = s.Bench.KeepResult(r.Context(), page.WhoIs(r), n)
	}
	if f.Refused(err) {
		s.showReadSignal(w, r, c, &form.Form{Values: f.Values}, f, true)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	as := s.ReaderOn(r, "curve-read")
	kept = as.Result(kept)
	s.Tell(r, "Kept: {1}, {2}, by version {3}.", kept.Water, render.WithUnit(resultWords(as.Language, kept.Outcome), kept.Scale), render.ID(int64(kept.Version)))
	to := resultPath(kept)
	if page.WhoIs(r).Role == knownwater.Owner {
		to = Path(kept.Curve) + "#results"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}
