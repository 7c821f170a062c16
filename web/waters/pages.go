// Package waters has the pages of what is tested again and again: the waters with their
// results over time, the checks of the methods, and what becomes of results that wait.
package waters

import (
	"embed"

	"knownwater/web/guard"
	"knownwater/web/page"
	"knownwater/web/render"
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
	at.Reader("GET /waters", s.waters)
	at.Owner("GET /waters/new", s.newWater)
	at.Owner("POST /waters/new", s.saveWater)
	at.Reader("GET /waters/earlier", s.earlier)
	at.UpTo(guard.MaxImport).Owner("POST /waters/earlier", s.bringEarlier)
	at.Owner("POST /waters/earlier/{id}/place", s.placeEarlier)
	at.Reader("GET /waters/experiment", s.experiment)
	at.Reader("GET /waters/{id}", s.water)
	at.Owner("GET /waters/{id}/change", s.changeWater)
	at.Owner("POST /waters/{id}/change", s.saveWater)
	at.Owner("POST /waters/{id}/retire", s.retireWater)
	at.Owner("POST /waters/{id}/standing", s.sayStanding)
	at.Reader("GET /waters/{id}/slip", s.slip)
	at.Reader("GET /waters/{id}/history", s.history)
	at.Reader("GET /waters/{id}/history.csv", s.historyCSV)
	at.Owner("GET /waters/{id}/history.html", s.historyHTML)
	at.Owner("GET /waters/experiment.html", s.experimentHTML)
	at.Reader("GET /checks", s.checks)
	at.Owner("GET /checks/blind", s.blind)
	at.Owner("POST /checks/blind", s.prepareBlind)
	at.Reader("GET /cards/{id}", s.card)
	at.Reader("GET /cards/{id}/card.json", s.cardFile)
}

// Path is a water's page.
func Path(id int64) string { return "/waters/" + render.ID(id) }
