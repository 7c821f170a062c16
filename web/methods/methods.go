package methods

import (
	"net/http"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type methodsPage struct{ Methods []knownwater.MethodVersion }

func (s *Pages) methods(w http.ResponseWriter, r *http.Request) {
	all, err := s.Bench.Methods(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "methods", page.Frame{Heading: "Methods", Part: "methods", Page: methodsPage{all}})
}

// methodPage is one method: its description, its versions, its lots.
type methodPage struct {
	Method   knownwater.MethodVersion
	Versions []knownwater.MethodVersion
	Lots     []knownwater.Lot
	Lot      *form.Form
}

func (s *Pages) method(w http.ResponseWriter, r *http.Request) {
	s.showMethod(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showMethod(w http.ResponseWriter, r *http.Request, status int, lot *form.Form) {
	ctx, id := r.Context(), form.PathID(r, "id")
	p := methodPage{Lot: lot}
	var err error
	if p.Method, err = s.Bench.Method(ctx, id); err == nil {
		if p.Versions, err = s.Bench.MethodVersions(ctx, id); err == nil {
			p.Lots, err = s.Bench.Lots(ctx, id)
		}
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "method", page.Frame{Title: p.Method.Spec.Name, Part: "methods", Page: p})
}

// methodFormPage is the form of a new method or of the next version of one.
type methodFormPage struct {
	Form     *form.Form
	Old      knownwater.MethodVersion // ID 0: a new one
	Kinds    []reading.Kind
	Analytes []string
}

func (s *Pages) newMethod(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{"kind": {"chart"}, "analyte": {"nitrate"}}}
	s.showMethodForm(w, r, http.StatusOK, knownwater.MethodVersion{}, f)
}

func (s *Pages) changeMethod(w http.ResponseWriter, r *http.Request) {
	m, err := s.Bench.Method(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.showMethodForm(w, r, http.StatusOK, m, specForm(m.Spec))
}

func (s *Pages) showMethodForm(w http.ResponseWriter, r *http.Request, status int, old knownwater.MethodVersion, f *form.Form) {
	title := page.Reader(r).Language.Say("A new method")
	if old.ID != 0 {
		title = page.Reader(r).Language.Say("Change {1}", old.Spec.Name)
	}
	s.Show(w, r, status, "method-form", page.Frame{Title: title, Part: "methods", Page: methodFormPage{f, old, reading.Kinds(), unit.Analytes()}})
}

func (s *Pages) saveMethod(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var old knownwater.MethodVersion
	if r.PathValue("id") != "" {
		if old, err = s.Bench.Method(r.Context(), form.PathID(r, "id")); err != nil {
			s.Fail(w, r, err)
			return
		}
	}
	spec := readSpec(f)
	var saved knownwater.MethodVersion
	if !f.Bad() {
		saved, err = s.Bench.SaveMethod(r.Context(), page.WhoIs(r), old.ID, spec, f.Text("why"))
	}
	if f.Refused(err) {
		s.showMethodForm(w, r, http.StatusUnprocessableEntity, old, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "{1} is kept as version {2}.", saved.Spec.Name, render.Number(float64(saved.Version)))
	http.Redirect(w, r, "/methods/"+render.ID(saved.ID), http.StatusSeeOther)
}

func (s *Pages) retireMethod(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireMethod(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/methods/"+render.ID(form.PathID(r, "id")), http.StatusSeeOther)
}

func (s *Pages) saveLot(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	l := knownwater.Lot{MethodID: form.PathID(r, "id"), Code: f.Text("code"), OpenedOn: f.Text("opened_on"), ExpiresOn: f.Text("expires_on"),
		ChartEdition: f.Text("chart_edition"), Tests: f.Whole("tests", 100000), Note: f.Text("note"), Retired: f.Ticked("retired")}
	if ids := f.IDs("lot"); len(ids) > 0 {
		l.ID = ids[0]
	}
	if !f.Bad() {
		_, err = s.Bench.SaveLot(r.Context(), page.WhoIs(r), l)
	}
	if f.Refused(err) {
		s.showMethod(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Lot {1} is on the list.", l.Code)
	http.Redirect(w, r, "/methods/"+render.ID(l.MethodID), http.StatusSeeOther)
}
