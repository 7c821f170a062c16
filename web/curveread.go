package web

import (
	"crypto/rand"
	"net/http"

	"knownwater/bench"
	"knownwater/science/curve"
)

// curveReadPage turns signals of one water round, and can keep what they say.
type curveReadPage struct {
	Curve   curveLine
	Form    *form // the signals
	Keep    *form // name of the water, when it was tested
	Key     string
	Result  *curve.Result
	Words   string
	Overdue bool
	MayKeep bool
}

// readVersion is the version to read through. A reader has the one in use only.
func (s *Server) readVersion(r *http.Request) (bench.Curve, error) {
	c, err := s.versionOf(r, true)
	if err == nil && whoIs(r).Role != bench.Owner && !c.InUse {
		err = &bench.Refusal{Kind: bench.NotAllowed, Words: "this version is not in use: its owner decides about it"}
	}
	return c, err
}

// readCurveSignal is asked with the signals in the address: nothing is kept by
// looking.
func (s *Server) readCurveSignal(w http.ResponseWriter, r *http.Request) {
	c, err := s.readVersion(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := r.URL.Query()
	s.showReadSignal(w, r, c, &form{Values: q}, &form{}, q.Has("signals"))
}

func (s *Server) showReadSignal(w http.ResponseWriter, r *http.Request, c bench.Curve, f, keep *form, read bool) {
	p := curveReadPage{Curve: s.lineOf(c), Form: f, Keep: keep, Key: keep.text("key"), Overdue: overdue(c.Spec.ValidUntil, s.now()), MayKeep: c.InUse && !c.Retired}
	if p.Key == "" {
		p.Key = rand.Text()
	}
	if read && p.Curve.Fitted() {
		p.read()
	}
	status := http.StatusOK
	if len(f.faults)+len(keep.faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, r, status, "curve-read", frame{Title: "Read a signal: " + c.Spec.Name, Part: "curves", Page: p})
}

func (p *curveReadPage) read() {
	sample, faults := p.Form.sample().Sample()
	if p.Form.add(faults); len(p.Form.faults) > 0 {
		return
	}
	result, fault := p.Curve.Doc.Read(sample)
	if fault != nil {
		p.Form.wrong(fault.Column, fault.Found, fault.Want)
		return
	}
	p.Result, p.Words = &result, resultWords(result)
}

// sample are the signals that were typed, and how the water was diluted.
func (f *form) sample() bench.NewResult {
	n := bench.NewResult{Signals: f.Get("signals"), OwnColour: f.Get("own_colour"), Clear: f.Get("clear"), Dilution: f.number("dilution", "a factor such as 8"), UDilution: f.number("u_dilution", aNumber) / 100, ULot: f.number("u_lot", aNumber) / 100}
	if f.text("dilution") != "" && n.Dilution == 0 && f.Wrong("dilution") == "" {
		f.wrong("dilution", f.text("dilution"), "a factor above 0, such as 8 for 1 part in 8")
	}
	return n
}

// newResult is a result as it was typed. Numbers that are none are noted as
// faults of the form.
func (f *form) newResult() bench.NewResult {
	n := f.sample()
	n.Key, n.Water, n.Note, n.TakenAt = f.text("key"), f.text("water"), f.Get("note"), f.localTime("taken_at")
	return n
}

// keepResult keeps what the page said: it is computed again from what was typed.
func (s *Server) keepResult(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	var kept bench.Result
	var err error
	n := f.newResult()
	n.Version, n.Program = c.VersionID, s.opt.Version
	if len(f.faults) == 0 {
		kept, err = s.bench.KeepResult(r.Context(), whoIs(r), n)
	}
	if s.formFaults(f, err) {
		s.showReadSignal(w, r, c, &form{Values: f.Values}, f, true)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "Kept: "+kept.Water+", "+withUnit(resultWords(kept.Outcome), kept.Scale)+", by version "+itoa(int64(kept.Version))+".")
	to := resultPath(kept)
	if whoIs(r).Role == bench.Owner {
		to = curvePath(kept.Curve) + "#results"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}
