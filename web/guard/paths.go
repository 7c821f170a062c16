package guard

import (
	"net/http"

	"knownwater"
)

// Paths takes the addresses of a subject, each with who may ask for it: anyone
// who is not signed in either, a reader on a paired phone, the owner.
type Paths struct {
	guard *Guard
	mux   *http.ServeMux
	most  int64
}

// Paths begins a list of addresses whose requests are no larger than a form.
func (g *Guard) Paths(m *http.ServeMux) Paths { return Paths{g, m, maxForm} }

// UpTo is the same list for requests that may be larger.
func (p Paths) UpTo(most int64) Paths {
	p.most = most
	return p
}

// Anyone may ask for it.
func (p Paths) Anyone(pattern string, h http.HandlerFunc) {
	p.mux.HandleFunc(pattern, limitBody(p.most, h))
}

// Owner lets nobody but the owner through to pages that have no address of their own.
func (g *Guard) Owner(h http.HandlerFunc) http.HandlerFunc {
	return g.identify(knownwater.Owner, h)
}

// Reader is for whoever reads, and the owner.
func (p Paths) Reader(pattern string, h http.HandlerFunc) {
	p.mux.HandleFunc(pattern, limitBody(p.most, p.guard.identify(knownwater.Reader, h)))
}

// Owner is for the owner only.
func (p Paths) Owner(pattern string, h http.HandlerFunc) {
	p.mux.HandleFunc(pattern, limitBody(p.most, p.guard.identify(knownwater.Owner, h)))
}
