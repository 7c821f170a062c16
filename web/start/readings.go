package start

import (
	"encoding/base64"
	"fmt"
	"net/http"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// readingsPage shows how what was pasted is understood, before anything is kept.
type readingsPage struct {
	Form    *form.Form
	File    string // of a file: its name; its bytes go along in the form
	Kept    string
	Methods []methodSeen
	Kinds   []reading.Kind
	Rows    []rowSeen
	More    int         // rows not shown
	With    int         // readings of knowns that hold nitrite
	Notes   []note.Note // what was passed over or understood in another way
	Faults  []string
	Bad     int // rows with faults
	Clear   bool

	reader  render.Reader
	Told    string // how much was understood
	Unit    string
	Scales  []string
	Columns []form.Column
	Asked   bool // the columns are not understood: they are asked about first
	Choices []form.ColumnChoice
}

// methodSeen is a method as the table names it, with the fields that describe it.
type methodSeen struct {
	Field  string
	Name   string
	N      int
	Looks  knownwater.Method
	Detail string
	Label  string
	Want   string
}

// rowSeen is one row: what was typed, and how it is read.
type rowSeen struct{ Method, Known, Typed, Read, By string }

// mostShown is how many rows are shown.
const mostShown = 12

// readings looks at what was pasted or handed in: first it shows how each cell is
// understood; with the button that judges, it keeps them as a trial and leads to the
// findings. Nothing is kept before that.
func (s *Pages) readings(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer form.Clear(r)
	src, err := form.HandedIn(r, f, "what was pasted")
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if f.Bad() {
		s.Doors(w, r, http.StatusUnprocessableEntity, f, startingTrial())
		return
	}
	called, header, err := s.called(r, f, src)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	look := lookAt(r, f, src, called)
	judge := f.Get("do") == "judge" || f.Get("do") == "others"
	if !judge || !look.page.Clear {
		status := http.StatusOK
		if judge {
			status = http.StatusUnprocessableEntity
		}
		s.showReadings(w, r, status, look)
		return
	}
	if r.Context().Err() != nil { // nobody waits for the answer
		return
	}
	made, err := s.Bench.ImportTrial(r.Context(), page.WhoIs(r), trials.DataSet{Data: look.trial, Title: look.title, Source: src.Name})
	if look.page.Form.Refused(err) {
		look.page.Faults = form.Sentences(page.Reader(r).Language, look.page.Form.Loose("low", "high", "within"), 0)
		s.showReadings(w, r, http.StatusUnprocessableEntity, look)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if f.ColumnsSaid(header) != nil {
		if err := s.Bench.SaveColumns(r.Context(), page.WhoIs(r), header, called); err != nil {
			s.Fail(w, r, err)
			return
		}
	}
	s.Tell(r, "Kept: {1}. When and how blind they were taken is not known here, and the report says so.", page.Reader(r).Count(made.Progress.Taken, "reading"))
	http.Redirect(w, r, "/trials/"+render.ID(made.ID)+"/findings", http.StatusSeeOther)
}

func (s *Pages) showReadings(w http.ResponseWriter, r *http.Request, status int, l look) {
	s.Show(w, r, status, "readings-seen", page.Frame{Heading: "How your readings are understood", Part: "today", Page: l.page})
}

// look is a table looked at: what the page says of it, and the trial in it where
// everything is clear.
type look struct {
	page  readingsPage
	trial knownwater.Trial
	title string
}

func lookAt(r *http.Request, f *form.Form, src intake.Source, called map[string]string) look {
	l := look{page: readingsPage{Form: f, Kinds: reading.Kinds(), reader: page.Reader(r)}}
	p := &l.page
	if f.Get("pasted") == "" || f.Get("kept") != "" || src.Name != "what was pasted" {
		p.File, p.Kept = src.Name, base64.StdEncoding.EncodeToString(src.Data)
	}
	o := intake.Options{Method: f.Text("only_method"), Sheet: f.Text("sheet"), Called: called, Stop: r.Context().Err}
	p.columns(o, src)
	seen, err := o.Look(src)
	if err != nil {
		p.Faults = form.Sentences(p.reader.Language, err, 0)
		return l
	}
	var described []knownwater.Method
	for i, m := range seen {
		described = append(described, p.describe(f, i, m))
	}
	if f.Bad() {
		p.Faults = form.Sentences(p.reader.Language, f.Loose("low", "high", "within"), 0)
		return l
	}
	o.Described = described
	if f.Get("do") == "others" {
		o.LeaveOut = true
	}
	t, err := o.Trial(src, intake.Source{}, intake.Source{})
	if err != nil {
		p.Faults, p.Bad = form.Sentences(p.reader.Language, err, mostShown), len(form.FaultsOf(err))
		return l
	}
	l.understood(f, t)
	return l
}

// describe takes a method's description from the form, or what its readings look like.
func (p *readingsPage) describe(f *form.Form, i int, seen intake.MethodSeen) knownwater.Method {
	field := fmt.Sprintf("detail_%d", i)
	kind := fmt.Sprintf("kind_%d", i)
	m := seen.Looks
	// The fields stand in the order of the methods; a table that changed in between has others.
	if f.Get(fmt.Sprintf("name_%d", i)) == seen.Name && f.Text(kind) != "" {
		m = knownwater.Method{Name: seen.Name, Kind: knownwater.Kind(f.Text(kind))}
		if m.Kind != seen.Looks.Kind && f.Text(field) == detail(seen.Looks) {
			f.Set(field, "") // the detail was the other kind's
		}
		readDetail(f, field, &m)
	} else {
		f.Set(kind, string(m.Kind))
		f.Set(field, detail(m))
		if reading.Of(m.Kind).Has("drop_value") {
			readDetail(f, field, &m)
		}
	}
	k := reading.Of(m.Kind)
	label, want := p.reader.Language.Say("Its last digit"), wantDigit
	switch {
	case k.Has("swatches"):
		label, want = p.reader.Language.Say("Its swatches"), wantSwatches
	case k.Has("drop_value"):
		label, want = p.reader.Language.Say("A drop stands for"), wantDrop
	}
	p.Methods = append(p.Methods, methodSeen{Field: fmt.Sprint(i), Name: seen.Name, N: seen.N, Looks: m, Detail: field, Label: label, Want: want})
	return m
}

// understood fills in the trial that a clear table is.
func (l *look) understood(f *form.Form, t knownwater.Trial) {
	p := &l.page
	if t.Scale.Analyte == "" {
		scale, err := scaleOf(f)
		if err != nil {
			f.Reject("unit", err.Error(), "")
			p.Faults = form.Sentences(p.reader.Language, f.Loose(), 0)
			return
		}
		t.Scale = scale
	}
	if n, ok := needOf(p.reader, f); ok {
		if f.Bad() {
			return
		}
		t.Needs = []knownwater.Need{n}
	}
	p.Clear, p.Unit = true, t.Scale.String()
	p.Notes = t.Notes
	readings := 0
	levels := map[float64]bool{}
	for o := range t.Every() {
		readings += o.Count
		holds := form.Exactly(o.Level)
		if o.Nitrite > 0 {
			p.With += o.Count
			holds += " + " + form.Exactly(o.Nitrite) + " NO2"
		} else {
			levels[o.Level] = true
		}
		if len(p.Rows) < mostShown {
			p.Rows = append(p.Rows, rowSeen{o.Method, holds, o.Text, render.SeenWords(o.Seen, t.Scale), o.Reader})
		} else {
			p.More += o.Count
		}
	}
	p.Told = p.reader.Language.Say("{1} of {2} at {3}, all understood.", p.reader.Count(readings, "reading"), p.reader.Count(len(t.Methods), "method"), p.reader.Count(len(levels), "known"))
	if l.title = f.Text("title"); l.title == "" {
		l.title = p.reader.Language.Say("Readings of {1}", p.reader.Language.Say(t.Scale.Analyte))
	}
	l.trial = t
}

// scaleOf is the unit that was typed, else the usual one of the analyte.
func scaleOf(f *form.Form) (unit.Scale, error) {
	if f.Text("unit") == "" {
		return unit.Usual(f.Text("analyte"))
	}
	return unit.Parse(f.Text("analyte"), f.Text("unit"), f.Text("basis"))
}
