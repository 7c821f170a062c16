// Package methods has the pages of methods with their lots, and of the needs that they are judged
// against.
package methods

import (
	"embed"
	"html/template"

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
	return &Pages{s}, s.Add(files, template.FuncMap{"stepTimes": stepTimes})
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Owner("GET /methods", s.methods)
	at.Owner("GET /methods/new", s.newMethod)
	at.Owner("POST /methods/new", s.saveMethod)
	at.Owner("GET /methods/{id}", s.method)
	at.Owner("GET /methods/{id}/change", s.changeMethod)
	at.Owner("POST /methods/{id}/change", s.saveMethod)
	at.Owner("POST /methods/{id}/retire", s.retireMethod)
	at.Owner("POST /methods/{id}/lots", s.saveLot)

	at.Owner("GET /needs", s.needs)
	at.Owner("GET /needs/{id}", s.needs)
	at.Owner("POST /needs", s.saveNeed)
}
