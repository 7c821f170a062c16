// Package people has the pages of who works at a bench: signing in, pairing a phone, readers and
// their devices.
package people

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
	guard *guard.Guard
}

// New adds their templates to the site.
func New(s *page.Site, g *guard.Guard) (*Pages, error) {
	return &Pages{s, g}, s.Add(files, nil)
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Anyone("GET /sign-in", s.signInPage)
	at.Anyone("POST /sign-in", s.signIn)
	at.Anyone("GET /pair/{token}", s.pairPage)
	at.Anyone("POST /pair/{token}", s.pair)
	at.Reader("POST /sign-out", s.signOut)
	at.Reader("POST /me", s.chooseMe)
	at.Owner("GET /people", s.people)
	at.Owner("POST /people", s.savePerson)
	at.Owner("GET /people/{id}", s.people)
	at.Owner("POST /people/{id}/pair", s.offerPairing)
	at.Owner("POST /phones/{id}/end", s.endSession)
	at.Owner("POST /passphrase", s.setPassphrase)
}
