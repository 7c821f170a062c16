// Package start has the two doors of a bench: readings that somebody has already,
// pasted or as a file, become a trial with its findings; a few words about what is
// to be tested become a plan.
package start

import (
	"embed"
	"net/http"

	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/guard"
	"knownwater/web/page"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{s}, s.Add(files, nil)
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Owner("GET /start", s.doors)
	at.UpTo(guard.MaxImport).Owner("POST /start/readings", s.readings)
	at.Owner("POST /start/trial", s.trial)
}

// doorsPage is both doors, with what was typed into one of them.
type doorsPage struct {
	Have, Fair *form.Form
	Analytes   []string
	Invent     bool        // an invented bench can be looked at
	Rows       []methodRow // of the second door
}

func (s *Pages) doors(w http.ResponseWriter, r *http.Request) {
	s.Doors(w, r, http.StatusOK, form.New("analyte", "nitrate"), startingTrial())
}

// Doors shows both doors.
func (s *Pages) Doors(w http.ResponseWriter, r *http.Request, status int, have, fair *form.Form) {
	p := doorsPage{Have: have, Fair: fair, Analytes: unit.Analytes(), Rows: methodRows(fair), Invent: s.Options.Invent != nil}
	s.Show(w, r, status, "start", page.Frame{Heading: "How far can your water test be trusted?", Part: "today", Page: p})
}

// Begin shows both doors empty: the first page of a bench that has nothing yet.
func (s *Pages) Begin(w http.ResponseWriter, r *http.Request) { s.doors(w, r) }
