package web

import (
	"net/http"

	"knownwater/bench"
	"knownwater/science/unit"
)

type methodsPage struct{ Methods []bench.Method }

func (s *Server) methods(w http.ResponseWriter, r *http.Request) {
	all, err := s.bench.Methods(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, http.StatusOK, "methods", frame{Title: "Methods", Part: "methods", Page: methodsPage{all}})
}

// methodPage is one method: its description, its versions, its lots.
type methodPage struct {
	Method   bench.Method
	Versions []bench.Method
	Lots     []bench.Lot
	Lot      *form
}

func (s *Server) method(w http.ResponseWriter, r *http.Request) {
	s.showMethod(w, r, http.StatusOK, &form{})
}

func (s *Server) showMethod(w http.ResponseWriter, r *http.Request, status int, lot *form) {
	ctx, id := r.Context(), pathID(r, "id")
	p := methodPage{Lot: lot}
	var err error
	if p.Method, err = s.bench.Method(ctx, id); err == nil {
		if p.Versions, err = s.bench.MethodVersions(ctx, id); err == nil {
			p.Lots, err = s.bench.Lots(ctx, id)
		}
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, status, "method", frame{Title: p.Method.Spec.Name, Part: "methods", Page: p})
}

// methodFormPage is the form of a new method or of the next version of one.
type methodFormPage struct {
	Form     *form
	Old      bench.Method // ID 0: a new one
	Kinds    []kindWords
	Analytes []string
}

func (s *Server) newMethod(w http.ResponseWriter, r *http.Request) {
	f := &form{Values: map[string][]string{"kind": {"chart"}, "analyte": {"nitrate"}, "unit": {"mg/L"}, "basis": {"NO3"}}}
	s.showMethodForm(w, r, http.StatusOK, bench.Method{}, f)
}

func (s *Server) changeMethod(w http.ResponseWriter, r *http.Request) {
	m, err := s.bench.Method(r.Context(), pathID(r, "id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.showMethodForm(w, r, http.StatusOK, m, specForm(m.Spec))
}

func (s *Server) showMethodForm(w http.ResponseWriter, r *http.Request, status int, old bench.Method, f *form) {
	title := "A new method"
	if old.ID != 0 {
		title = "Change " + old.Spec.Name
	}
	s.show(w, r, status, "method-form", frame{Title: title, Part: "methods", Page: methodFormPage{f, old, kinds, unit.Analytes()}})
}

func (s *Server) saveMethod(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	var old bench.Method
	if r.PathValue("id") != "" {
		if old, err = s.bench.Method(r.Context(), pathID(r, "id")); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	spec := readSpec(f)
	var saved bench.Method
	if len(f.faults) == 0 {
		saved, err = s.bench.SaveMethod(r.Context(), whoIs(r), old.ID, spec, f.text("why"))
	}
	if s.formFaults(f, err) {
		s.showMethodForm(w, r, http.StatusUnprocessableEntity, old, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, saved.Spec.Name+" is kept as version "+num(float64(saved.Version))+".")
	http.Redirect(w, r, "/methods/"+itoa(saved.ID), http.StatusSeeOther)
}

func (s *Server) retireMethod(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err == nil {
		err = s.bench.RetireMethod(r.Context(), whoIs(r), pathID(r, "id"), f.ticked("retired"))
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/methods/"+itoa(pathID(r, "id")), http.StatusSeeOther)
}

func (s *Server) saveLot(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	l := bench.Lot{MethodID: pathID(r, "id"), Code: f.text("code"), OpenedOn: f.text("opened_on"), ExpiresOn: f.text("expires_on"),
		ChartEdition: f.text("chart_edition"), Tests: f.whole("tests", 100000), Note: f.text("note"), Retired: f.ticked("retired")}
	if ids := f.ids("lot"); len(ids) > 0 {
		l.ID = ids[0]
	}
	if len(f.faults) == 0 {
		_, err = s.bench.SaveLot(r.Context(), whoIs(r), l)
	}
	if s.formFaults(f, err) {
		s.showMethod(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "Lot "+l.Code+" is on the list.")
	http.Redirect(w, r, "/methods/"+itoa(l.MethodID), http.StatusSeeOther)
}
