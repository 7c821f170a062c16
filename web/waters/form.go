package waters

import (
	"net/http"

	"knownwater"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// waterFormPage describes a water.
type waterFormPage struct {
	One   int64 // being changed; 0: a new one
	Form  *form.Form
	Needs []knownwater.NeedEntry
	Kinds []kindChoice
	Away  bool
}

type kindChoice struct{ Value, Words string }

var kinds = []kindChoice{{string(knownwater.Tank), wording.Key("a tank")}, {string(knownwater.Customer), wording.Key("somebody’s water, brought in")}, {string(knownwater.Batch), wording.Key("a batch of salt water")}}

func (s *Pages) newWater(w http.ResponseWriter, r *http.Request) {
	s.showForm(w, r, http.StatusOK, 0, form.New("kind", string(knownwater.Tank)))
}

func (s *Pages) changeWater(w http.ResponseWriter, r *http.Request) {
	x, err := s.Bench.Water(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f := form.New("name", x.Spec.Name, "kind", string(x.Spec.Kind), "litres", form.Shown(x.Spec.Litres), "note", x.Spec.Note)
	for _, n := range x.Spec.Needs {
		f.Values.Add("need", render.ID(n))
	}
	s.showForm(w, r, http.StatusOK, x.ID, f)
}

func (s *Pages) showForm(w http.ResponseWriter, r *http.Request, status int, one int64, f *form.Form) {
	needs, err := s.Bench.Needs(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := waterFormPage{One: one, Form: f, Kinds: kinds}
	for _, n := range needs {
		if !n.Retired {
			p.Needs = append(p.Needs, n)
		}
	}
	title := "A water"
	if one != 0 {
		x, err := s.Bench.Water(r.Context(), one)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		title, p.Away = page.Reader(r).Language.Say("Change {1}", x.Spec.Name), x.Retired
	}
	s.Show(w, r, status, "water-form", page.Frame{Title: title, Part: "waters", Page: p})
}

func (s *Pages) saveWater(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	one := int64(0)
	if r.PathValue("id") != "" {
		one = form.PathID(r, "id")
	}
	spec := knownwater.WaterSpec{Name: f.Text("name"), Kind: knownwater.WaterKind(f.Text("kind")), Litres: f.Number("litres", "litres, such as 300"), Needs: f.IDs("need"), Note: f.Get("note")}
	var x knownwater.Water
	if !f.Bad() {
		x, err = s.Bench.SaveWater(r.Context(), page.WhoIs(r), one, spec, f.Get("why"))
	}
	if f.Refused(err) {
		s.showForm(w, r, http.StatusUnprocessableEntity, one, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "“{1}” is kept.", x.Spec.Name)
	http.Redirect(w, r, Path(x.ID), http.StatusSeeOther)
}

func (s *Pages) retireWater(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireWater(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/waters", http.StatusSeeOther)
}
