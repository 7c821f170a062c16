// Package choices has the pages of choosing: which way of testing for a need, across the
// trials of a bench, what would change that, and what to test next.
package choices

import (
	"embed"

	"knownwater/bench"
	"knownwater/web/guard"
	"knownwater/web/page"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
	underway  page.Underway[worked]
	comparing page.Underway[bench.Agreed]
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{Site: s}, s.Add(files, nil)
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Owner("GET /choices", s.choices)
	at.Owner("POST /choices/plan", s.plan)
	at.Owner("POST /choices/stop", s.stop)
	at.Owner("GET /packs", s.packs)
	at.Owner("GET /packs/agree", s.agree)
	at.Owner("POST /packs/agree/stop", s.stopAgree)
	at.UpTo(guard.MaxImport).Owner("POST /packs", s.usePack)
}
