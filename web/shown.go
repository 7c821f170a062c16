package web

import (
	"net/http"
	"strings"

	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// shownPage is how a browser's person wants to read.
type shownPage struct {
	Languages, Marks, Days []shownChoice
	Back                   string
}

type shownChoice struct {
	Value, Name string
	Chosen      bool
}

// shown asks for language, decimal mark and form of days.
func (s *Server) shown(w http.ResponseWriter, r *http.Request) {
	now, l := page.Reader(r), s.ReaderOn(r, "shown").Language
	p := shownPage{Back: inHouse(r.FormValue("back")), Languages: []shownChoice{{"en", "English", now.Language == nil}}}
	for _, x := range wording.Languages() {
		p.Languages = append(p.Languages, shownChoice{x.Tag(), x.Name(), now.Language == x})
	}
	p.Marks = []shownChoice{{"", l.Say("as the language has it"), now.Mark == ""}, {render.MarkPoint, "1,234.5", now.Mark == render.MarkPoint}, {render.MarkComma, "1\u202f234,5", now.Mark == render.MarkComma}}
	p.Days = []shownChoice{{"", l.Say("in words"), now.Days == ""}}
	for _, form := range []string{render.DaysISO, render.DaysDots} {
		p.Days = append(p.Days, shownChoice{form, render.Reader{Days: form}.Day(s.Now()), now.Days == form})
	}
	s.Show(w, r, http.StatusOK, "shown", page.Frame{Title: l.Say("Language, numbers, days"), Page: p})
}

// keepShown keeps the choice in the browser, for a year.
func (s *Server) keepShown(w http.ResponseWriter, r *http.Request) {
	chosen := page.ReaderOf(r.FormValue("language"), r.FormValue("mark"), r.FormValue("days"))
	http.SetCookie(w, &http.Cookie{Name: page.ReadCookie, Value: chosen.Language.Tag() + "." + chosen.Mark + "." + chosen.Days, Path: "/", MaxAge: 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.Options.TLS})
	http.Redirect(w, r, inHouse(r.FormValue("back")), http.StatusSeeOther)
}

// inHouse is an address of this bench; today's page for any other.
func inHouse(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n") {
		return "/"
	}
	return path
}
