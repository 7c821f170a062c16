// Package exchange has the pages of copies: backups, exports and imports of a whole bench, and
// readings brought in from files.
package exchange

import (
	"embed"

	"knownwater/web/guard"
	"knownwater/web/page"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
	arrivals arrivals
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{Site: s}, s.Add(files, nil)
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Owner("GET /copies", s.copies)
	at.Owner("POST /copies/backup", s.backup)
	at.Owner("POST /copies/export", s.export)
	at.UpTo(guard.MaxImport).Owner("POST /copies/import", s.importCopy)
	at.UpTo(guard.MaxImport).Owner("POST /copies/readings", s.bringIn)
	at.Owner("POST /copies/readings/stop", s.stop)
}
