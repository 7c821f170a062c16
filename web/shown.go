package web

import (
	"context"
	"net/http"
	"strings"

	"knownwater/science/unit"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// shownPage is how a browser's person wants to read.
type shownPage struct {
	Languages, Marks, Days []shownChoice
	Units                  []shownUnit
	Back                   string
}

// shownUnit is an analyte of this bench with the units in which its results can be shown.
type shownUnit struct {
	Analyte string
	In      []shownChoice
}

type shownChoice struct {
	Value, Name string
	Chosen      bool
}

// shown asks for language, decimal mark, form of days and units.
func (s *Server) shown(w http.ResponseWriter, r *http.Request) {
	now, l := page.Reader(r), s.ReaderOn(r, "shown").Language
	p := shownPage{Back: inHouse(r.FormValue("back")), Languages: []shownChoice{{"en", "English", now.Language.English()}}}
	for _, x := range wording.Languages() {
		p.Languages = append(p.Languages, shownChoice{x.Tag(), x.Name(), now.Language.Tag() == x.Tag()})
	}
	p.Marks = []shownChoice{{"", l.Say("as the language has it"), now.Mark == ""}, {render.MarkPoint, "1,234.5", now.Mark == render.MarkPoint}, {render.MarkComma, "1\u202f234,5", now.Mark == render.MarkComma}}
	p.Days = []shownChoice{{"", l.Say("in words"), now.Language.Days() == ""}}
	for _, form := range []string{wording.DaysISO, wording.DaysDots} {
		p.Days = append(p.Days, shownChoice{form, render.Reader{Language: l.WithDays(form)}.Day(s.Now()), now.Language.Days() == form})
	}
	analytes, err := s.analytes(r.Context(), now.Units)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	for _, a := range analytes {
		u := shownUnit{l.Say(a), []shownChoice{{"", l.Say("as its method has it"), false}}}
		for _, scale := range unit.Offered(a) {
			value := unit.Choices("").With(scale)
			is, chosen := now.Units.Of(a)
			u.In = append(u.In, shownChoice{string(value), scale.String(), chosen && is == scale})
		}
		p.Units = append(p.Units, u)
	}
	s.Show(w, r, http.StatusOK, "shown", page.Frame{Title: l.Say("Language, numbers, days, units"), Page: p})
}

// analytes are those of the methods, needs and calibrations of this bench, and those that a
// unit is chosen for, in the order of package unit.
func (s *Server) analytes(ctx context.Context, chosen unit.Choices) (out []string, err error) {
	methods, err := s.Bench.Methods(ctx)
	if err != nil {
		return nil, err
	}
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return nil, err
	}
	inUse, err := s.Bench.Calibrations(ctx)
	if err != nil {
		return nil, err
	}
	there := map[string]bool{}
	for _, m := range methods {
		there[m.Spec.Scale.Analyte] = true
	}
	for _, n := range needs {
		there[n.Scale.Analyte] = true
	}
	for _, c := range inUse {
		there[c.Scale.Analyte] = true
	}
	for _, a := range unit.Analytes() {
		if _, is := chosen.Of(a); (is || there[a]) && len(unit.Offered(a)) > 1 {
			out = append(out, a)
		}
	}
	return out, nil
}

// keepShown keeps the choice in the browser.
func (s *Server) keepShown(w http.ResponseWriter, r *http.Request) {
	language := r.FormValue("language") // which has the form parsed
	s.KeepReader(w, page.ReaderOf(language, r.FormValue("mark"), r.FormValue("days"), strings.Join(r.PostForm["unit"], unit.BetweenChoices)))
	http.Redirect(w, r, inHouse(r.FormValue("back")), http.StatusSeeOther)
}

// inHouse is an address of this bench; today's page for any other.
func inHouse(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n") {
		return "/"
	}
	return path
}
