package page

import (
	"context"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"knownwater"
	"knownwater/bench"
)

// sessionLife is how long a browser stays signed in.
const sessionLife = 30 * 24 * time.Hour

// toldKey is, in a session, what the next page says once.
const toldKey = "told"

func newSessions(b *bench.Bench, o Options) *scs.SessionManager {
	m := scs.New()
	m.Store = b.Sessions()
	m.Lifetime = sessionLife
	if m.Cookie.Name = "bench"; o.Invented { // beside that of the real one
		m.Cookie.Name = "bench-invented"
	}
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = o.TLS
	return m
}

// Tell leaves a word for the next page: a message with what stands in its places, or a text that
// that page says.
func (s *Site) Tell(r *http.Request, text string, places ...string) {
	if len(places) > 0 {
		text = Reader(r).Language.Say(text, places...)
	}
	s.Sessions.Put(r.Context(), toldKey, text)
}

type whoKey struct{}

// WhoIs is the person that a request comes from, as the guard found out.
func WhoIs(r *http.Request) knownwater.Who {
	w, _ := r.Context().Value(whoKey{}).(knownwater.Who)
	return w
}

// WithWho is the request of a person.
func WithWho(r *http.Request, by knownwater.Who) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), whoKey{}, by))
}
