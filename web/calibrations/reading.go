package calibrations

import (
	"crypto/rand"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/decide"
	"knownwater/science/result"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// readPage is tonight's reading: a method, its pad, and at once what it says.
type readPage struct {
	Methods []choice
	Chosen  *chosen
	Form    *form.Form // the reading
	Before  []string   // readings of this sample that were taken before
	Answer  *answer
	Keep    *form.Form // the water, when it was tested
	Waters  []choice   // what is tested again and again, last tested first
	Water   *knownwater.Water
	Coded   bool          // a blind vial is tested
	Check   bool          // known water is tested
	Alerts  []string      // what checks say of the chosen method and lot
	Lots    []report.Said // what is known of the lot, or asked for
	Nitrite nitriteFound  // that was found in the water last, to be taken over
	Hints   []string      // what the trade knows to disturb it
	Key     string        // of a result sent twice
	ReadIn  string        // the unit of what is typed, where answers are in another one

	in *wording.Language
}

// nitriteFound is the nitrite that was found in a water before.
type nitriteFound struct {
	Words, Path string // what was found; where it is taken over
	Tested      time.Time
}

// Loose are the faults that stand beside no field.
func (p readPage) Loose() knownwater.Faults {
	return p.Form.Loose("reading", "dilution", "u_dilution", "nitrite", "u_nitrite")
}

// LooseKeep are the faults of keeping that stand beside no field.
func (p readPage) LooseKeep() knownwater.Faults {
	return p.Keep.Loose("water", "vial", "taken_at", "note", "known", "u_known", "filtered", "salinity", "temperature", "hours_kept", "sampled_at")
}

// Typed is what stands in the box of a pad of digits or drops.
func (p readPage) Typed() string { return p.Form.Text("reading") }

// CheckPath enters a check with the chosen method and lot.
func (p readPage) CheckPath() string {
	return "/read?" + url.Values{"role": {string(knownwater.Checked)}, "with": {p.Chosen.With}, "lot": {p.Form.Text("lot")}}.Encode()
}

// AsksNitrite says whether the water's own nitrite is asked for: it reads as nitrate, and a record may know how
// much. Known water is taken to hold none.
func (p readPage) AsksNitrite() bool {
	return p.Chosen != nil && p.Chosen.Record != 0 && p.Chosen.Scale.Analyte == "nitrate" && !p.Check && !p.Coded
}

// MoreOpen opens what is folded where something in it is filled in or wrong.
func (p readPage) MoreOpen() bool {
	for _, name := range []string{"lot", "dilution", "u_dilution", "nitrite", "u_nitrite"} {
		// of a water they stand there as the last time; the fold's name says them
		if p.Form.Text(name) != "" && p.Water == nil && !p.Check && !p.Coded || p.Form.Wrong(name) != nil {
			return true
		}
	}
	return false
}

// read is asked with the reading in the address: nothing is kept by looking.
func (s *Pages) read(w http.ResponseWriter, r *http.Request) {
	s.showRead(w, r, &form.Form{Values: r.URL.Query()}, &form.Form{})
}

func (s *Pages) showRead(w http.ResponseWriter, r *http.Request, f, keep *form.Form) {
	f.Points(page.Reader(r).Comma(), "reading", "beyond", "before")
	p := readPage{Form: f, Keep: keep, Key: keep.Text("key"), Before: f.Values["before"], in: s.ReaderOn(r, "read").Language}
	if p.Key == "" {
		p.Key = rand.Text()
	}
	if by := page.WhoIs(r); !f.Values.Has("reader") && by.Person != 0 { // not asked yet: whoever looks
		f.Set("reader", by.Name)
	}
	as := s.ReaderOn(r, "read")
	err := s.choose(r.Context(), as, &p)
	if p.Chosen != nil {
		p.ReadIn = as.ReadIn(p.Chosen.Scale)
	}
	if readings := p.readings(); err == nil && p.Chosen != nil && len(readings) > 0 {
		err = s.answer(r.Context(), as, &p, readings)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	status := http.StatusOK
	if f.Bad() || keep.Bad() {
		status = http.StatusUnprocessableEntity
	}
	s.Show(w, r, status, "read", page.Frame{Heading: "Read", Part: "read", Page: p})
}

// keep keeps what the page said: it is computed again from what was typed.
func (s *Pages) keep(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f.Points(page.Reader(r).Comma(), "readings")
	asked := &form.Form{Values: url.Values{"reader": f.Values["reader"]}}
	for _, name := range []string{"with", "lot", "dilution", "u_dilution", "nitrite", "u_nitrite", "tank", "role"} {
		asked.Set(name, f.Get(name))
	}
	if readings := f.Values["readings"]; len(readings) > 0 {
		n := len(readings) - 1
		asked.Values["before"] = readings[:n]
		asked.Set("reading", readings[n])
		if by := f.Values["by"]; len(by) == len(readings) {
			asked.Values["by"] = by[:n]
			asked.Set("reader", by[n])
		}
	}
	p := readPage{Form: asked, Before: asked.Values["before"], in: s.ReaderOn(r, "read").Language}
	if err := s.choose(r.Context(), s.ReaderOn(r, "read"), &p); err != nil {
		s.Fail(w, r, err)
		return
	}
	if p.Chosen == nil {
		s.NotFound(w, r)
		return
	}
	q, err := s.question(r.Context(), &p, p.readings())
	k := kept{Key: f.Text("key"), Water: f.Text("water"), Note: f.Get("note"), Program: s.Options.Version, TakenAt: f.LocalTime("taken_at")}
	p.sample(f, &k)
	path := ""
	if err == nil && !asked.Bad() && !f.Bad() {
		path, err = p.Chosen.keep(r.Context(), page.WhoIs(r), q, k)
	}
	if f.Refused(err) || asked.Bad() {
		s.showRead(w, r, &form.Form{Values: asked.Values}, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	told := page.Reader(r).Language.Say("Kept. Nothing that is decided later changes it.")
	if k.Of != nil {
		tested := k.TakenAt
		if tested.IsZero() {
			tested = s.Now()
		}
		for _, n := range decide.Stood(p.Chosen.Scale.Analyte, k.Of.Stood(tested), k.Of.Filtered) {
			told += " " + page.Reader(r).Language.Say("But {1}", report.SayIn(page.Reader(r).Language, n))
		}
	}
	s.Tell(r, told)
	switch {
	case p.Water != nil:
		path = "/waters/" + render.ID(p.Water.ID)
	case p.Coded:
		path = "/read?role=" + coded
	case p.Check:
		path = "/checks"
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
}

// readers are who took each of n readings: those before were named as they were taken, the
// others are whoever is chosen now.
func (p *readPage) readers(n int) []string {
	names := slices.Clone(p.Form.Values["by"])
	names = names[:min(len(names), len(p.Before), n)]
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	for len(names) < n {
		names = append(names, p.Form.Text("reader"))
	}
	return names
}

// Already are the readings that were taken before, with who took them where that is said.
func (p readPage) Already() string {
	said := slices.Clone(p.Before)
	for i, who := range p.readers(len(said)) {
		if who != "" {
			said[i] = p.in.Say("{1} by {2}", said[i], who)
		}
	}
	return strings.Join(said, ", ")
}

// readings are those of the sample: what was read before, and what was read now.
func (p *readPage) readings() []string {
	now := p.Form.Text("reading")
	if beyond := p.Form.Text("beyond"); beyond != "" {
		now = beyond
	}
	if now == "" {
		return nil
	}
	return append(slices.Clone(p.Before), now)
}

// adviceClass and adviceMark are how the advice on a need is coloured and drawn.
var (
	adviceClass = map[string]string{result.Inside: "within", result.Below: "outside", result.Above: "outside"}
	adviceMark  = map[string]chart.Verdict{result.Inside: chart.Within, result.Below: chart.Outside, result.Above: chart.Outside}
)
