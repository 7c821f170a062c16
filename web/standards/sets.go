package standards

import (
	"fmt"
	"html/template"
	"net/http"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/report"
	"knownwater/science/known"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

func setPath(id int64) string { return "/knowns/sets/" + render.ID(id) }

// setPage is one set: what each standard holds, how sure that is and why.
type setPage struct {
	Set           standards.PreparedSet
	Intermediates []standardView
	Standards     []standardView
	Axis          template.HTML
	Done          int
	Versions      []standards.PreparedSet
}

func (s *Pages) set(w http.ResponseWriter, r *http.Request) {
	ctx, id := r.Context(), form.PathID(r, "id")
	x, err := s.Bench.Set(ctx, id)
	if err == nil && r.URL.Query().Has("version") {
		var old standards.PreparedSet
		if old, err = s.Bench.SetVersion(ctx, form.ID(r.URL.Query().Get("version"))); err == nil {
			if old.ID != id {
				s.NotFound(w, r)
				return
			}
			x = old
		}
	}
	p := setPage{Set: x}
	if err == nil {
		p.Versions, err = s.Bench.SetVersions(ctx, id)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.fill(s.ReaderOn(r, "set").Language)
	s.Show(w, r, http.StatusOK, "set", page.Frame{Title: x.Spec.Name, Part: "knowns", Page: p})
}

func (p *setPage) fill(l *wording.Language) {
	specs := map[string]standards.SolutionSpec{}
	for _, x := range p.Set.Spec.Solutions {
		specs[x.Name] = x
		if x.IsMade() {
			p.Done++
		}
	}
	within := p.Set.Spec.Shelf.Limits.LevelWithin
	half := frameOf(p.Set.Values, within)
	view := func(list []known.Standard, id string) (out []standardView) {
		for i, st := range list {
			out = append(out, viewStandard(l, fmt.Sprint(id, i), st, specs[st.Solution.Name], half, within))
		}
		return out
	}
	p.Intermediates, p.Standards = view(p.Set.Values.Intermediates, "i"), view(p.Set.Values.Standards, "s")
	p.Axis = markAxis(half, within)
}

// sheetOfSet is what lies beside the bench while standards are made.
type sheetOfSet struct {
	Set   standards.PreparedSet
	Sheet known.Sheet
}

func (s *Pages) standardsSheet(w http.ResponseWriter, r *http.Request) {
	x, err := s.Bench.Set(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "set-sheet", page.Frame{Heading: "Preparation sheet: {1}", Of: []string{x.Spec.Name}, Part: "knowns", Page: sheetOfSet{x, x.Spec.Sheet()}})
}

// madePage is the form of what was really taken.
type madePage struct {
	Set     standards.PreparedSet
	Form    *form.Form
	Rows    []madeRow
	Devices []deviceChoice
	People  []knownwater.Person
	Changes bool // something was written down before: a change needs a why
}

type madeRow struct {
	standards.SolutionSpec
	TakeUnit string // of the amount: mL, g, drops
	Weighed  bool   // the whole is weighed
	Planned  string
	Times    bool // more than one delivery, or drops
}

// deviceChoice is a device of the set's shelf; Take and Make say what it can do.
type deviceChoice struct {
	Name, Words string
	Take, Make  bool
}

func fieldOf(name string, x standards.SolutionSpec) string { return name + "_" + x.Name }

func (s *Pages) made(w http.ResponseWriter, r *http.Request) {
	x, err := s.Bench.Set(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.showMade(w, r, http.StatusOK, x, s.madeForm(x, page.WhoIs(r)))
}

// madeForm puts a set back into its form; what is not made yet stands there as
// planned, with this moment and this person.
func (s *Pages) madeForm(x standards.PreparedSet, by knownwater.Who) *form.Form {
	f := &form.Form{Values: map[string][]string{"note": {x.Spec.Note}, "use_by": {x.Spec.UseBy}}}
	for _, sol := range x.Spec.Solutions {
		f.Set(fieldOf("take_amount", sol), form.Shown(sol.Take.Amount))
		f.Set(fieldOf("take_times", sol), form.Shown(float64(sol.Take.Times)))
		f.Set(fieldOf("take_device", sol), sol.Take.Device)
		f.Set(fieldOf("make_amount", sol), form.Shown(sol.Make.Amount))
		f.Set(fieldOf("make_device", sol), sol.Make.Device)
		f.Set(fieldOf("made_at", sol), sol.MadeAt)
		f.Set(fieldOf("made_by", sol), sol.MadeBy)
		if sol.IsMade() {
			f.Set(fieldOf("made", sol), "yes")
			continue
		}
		f.Set(fieldOf("made_at", sol), s.Now().Local().Format("2006-01-02 15:04"))
		f.Set(fieldOf("made_by", sol), by.Name)
	}
	return f
}

func (s *Pages) showMade(w http.ResponseWriter, r *http.Request, status int, x standards.PreparedSet, f *form.Form) {
	p := madePage{Set: x, Form: f}
	var err error
	if p.People, err = s.Bench.People(r.Context()); err != nil {
		s.Fail(w, r, err)
		return
	}
	in := s.ReaderOn(r, "set-made").Language
	kinds := map[string]known.DeviceKind{}
	for _, d := range x.Spec.Shelf.Devices {
		kind := d.Spec.Device.Kind
		kinds[d.Spec.Name] = kind
		p.Devices = append(p.Devices, deviceChoice{d.Spec.Name, deviceWords(in, *d.Spec.Device), kind != known.Flask, kind == known.Flask || kind == known.Scale})
	}
	for i, row := range x.Spec.Sheet().Rows {
		sol := x.Spec.Solutions[i]
		m := madeRow{SolutionSpec: sol, TakeUnit: "mL", Planned: report.Words(row.Planned), Weighed: kinds[sol.Make.Device] == known.Scale,
			Times: sol.Take.Times > 1 || kinds[sol.Take.Device] == known.Dropper}
		if kinds[sol.Take.Device] == known.Scale {
			m.TakeUnit = "g"
		}
		if row.Unit != "" {
			m.Planned += ", " + page.Reader(r).Language.Say("up to {1}", report.Words(row.Whole))
		}
		p.Rows = append(p.Rows, m)
		p.Changes = p.Changes || sol.IsMade()
	}
	s.Show(w, r, status, "set-made", page.Frame{Heading: "What was taken: {1}", Of: []string{x.Spec.Name}, Part: "knowns", Page: p})
}

// writeDown keeps what was taken; the values follow at once.
func (s *Pages) writeDown(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	x, err := s.Bench.Set(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var made []standards.Made
	for _, sol := range x.Spec.Solutions {
		if !f.Ticked(fieldOf("made", sol)) {
			if sol.IsMade() {
				f.Reject(fieldOf("made", sol), "%s was written down as made", "leave the tick; pour the set away and plan anew if it was not", sol.Name)
			}
			continue
		}
		made = append(made, standards.Made{Solution: sol.Name, MadeAt: f.Text(fieldOf("made_at", sol)), MadeBy: f.Text(fieldOf("made_by", sol)),
			Take: standards.MeasureSpec{Device: f.Get(fieldOf("take_device", sol)), Amount: f.Number(fieldOf("take_amount", sol), form.WantNumber), Times: max(1, f.Whole(fieldOf("take_times", sol), 1000))},
			Make: standards.MeasureSpec{Device: f.Get(fieldOf("make_device", sol)), Amount: f.Number(fieldOf("make_amount", sol), form.WantNumber), Times: 1}})
	}
	if len(made) == 0 {
		f.Reject("made", "nothing is ticked as made", "tick each bottle that is ready")
	}
	before := x
	if !f.Bad() {
		x, err = s.Bench.WriteDown(r.Context(), page.WhoIs(r), x.ID, made, f.Get("note"), f.Text("use_by"), f.Text("why"))
	}
	if f.Refused(err) {
		s.showMade(w, r, http.StatusUnprocessableEntity, before, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	words := page.Reader(r).Language.Say("Kept. Values and uncertainties follow what you took.")
	if !x.Spec.IsMade() {
		words = page.Reader(r).Language.Say("Kept. Values and uncertainties follow what you took; what is not ticked yet is still as planned.")
	}
	s.Tell(r, words)
	http.Redirect(w, r, setPath(x.ID), http.StatusSeeOther)
}

func (s *Pages) retireSet(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireSet(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, setPath(form.PathID(r, "id")), http.StatusSeeOther)
}

// markedFault is a fault beside a field, for the list at the top.
type markedFault struct {
	Field, Place string
	Faults       knownwater.Faults
}

// Marked are the faults that stand beside a field, each with its bottle.
func (p madePage) Marked() (out []markedFault) {
	for _, x := range p.Rows {
		for _, name := range madeFields {
			field := fieldOf(name, x.SolutionSpec)
			if faults := p.Form.Wrong(field); faults != nil {
				place := x.Name
				if x.Code != "" {
					place = x.Code
				}
				out = append(out, markedFault{field, place, faults})
			}
		}
	}
	return out
}

// madeFields are the fields of one solution.
var madeFields = []string{"made", "made_at", "made_by", "take_device", "make_device", "take_amount", "take_times", "make_amount"}

// Loose are the faults that stand beside no field of the form.
func (p madePage) Loose() knownwater.Faults {
	fields := []string{"note", "use_by", "why"}
	for _, x := range p.Rows {
		for _, name := range madeFields {
			fields = append(fields, fieldOf(name, x.SolutionSpec))
		}
	}
	return p.Form.Loose(fields...)
}
