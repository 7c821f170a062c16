package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"knownwater/bench"
)

// sessionLife is how long a browser stays signed in.
const sessionLife = 30 * 24 * time.Hour

// What a session holds.
const (
	ownerKey  = "owner"  // signed in with the passphrase
	personKey = "person" // who this browser reads as
	toldKey   = "told"   // what the next page says once
)

func newSessions(b *bench.Bench, o Options) *scs.SessionManager {
	m := scs.New()
	m.Store = b.Sessions()
	m.Lifetime = sessionLife
	m.Cookie.Name = "bench"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = o.TLS
	return m
}

type whoKey struct{}

// whoIs is the person that a request comes from, as identify found out.
func whoIs(r *http.Request) bench.Who {
	w, _ := r.Context().Value(whoKey{}).(bench.Who)
	return w
}

// identify finds out who is asking and refuses those who may not.
func (s *Server) identify(least bench.Role, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		by, ok, err := s.identity(r)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if !ok {
			s.askToSignIn(w, r)
			return
		}
		r = r.WithContext(context.WithValue(r.Context(), whoKey{}, by))
		if least == bench.Owner && by.Role != bench.Owner {
			s.refuse(w, r, http.StatusForbidden, "This page is for the bench’s owner.", "Ask the owner, or go on with the trials that you read for.")
			return
		}
		next(w, r)
	}
}

// identity is who the session says. Where nobody but this machine can reach the
// server everybody is its owner, and the session only remembers who reads.
func (s *Server) identity(r *http.Request) (bench.Who, bool, error) {
	ctx := r.Context()
	by := bench.Who{Role: bench.Reader, Device: device(r)}
	if !s.opt.SignIn {
		by = bench.Who{Role: bench.Owner, Name: "owner", Device: "this computer"}
	} else if s.sessions.GetBool(ctx, ownerKey) {
		by.Role, by.Name = bench.Owner, "owner"
	}
	id := s.sessions.GetInt64(ctx, personKey)
	if id == 0 {
		return by, by.Role == bench.Owner, nil
	}
	p, err := s.bench.Person(ctx, id)
	if refusal := (*bench.Refusal)(nil); errors.As(err, &refusal) && refusal.Kind == bench.NotFound || err == nil && p.Gone {
		return by, by.Role == bench.Owner, nil
	}
	if err != nil {
		return by, false, err
	}
	by.Person, by.Name = p.ID, p.Name
	if by.Role != bench.Owner {
		by.Role = p.Role
	}
	return by, true, nil
}

// askToSignIn sends a person to the sign-in page and tells a script why its
// request was refused: what it wanted to send stays in its queue.
func (s *Server) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if wantsJSON(r) || r.Method != http.MethodGet {
		s.refuse(w, r, http.StatusUnauthorized, "this browser is not signed in", "Pair it again or sign in; nothing kept on it is lost.")
		return
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}

// device is a short text by which a person knows a browser again in the list of
// those that may use the bench.
func device(r *http.Request) string {
	for _, d := range []struct{ mark, name string }{{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android phone"},
		{"Windows", "Windows computer"}, {"Macintosh", "Mac"}, {"Linux", "Linux computer"}} {
		if contains(r.UserAgent(), d.mark) {
			return d.name + " at " + caller(r)
		}
	}
	return "browser at " + caller(r)
}

// enter opens a session for somebody who proved who they are; the token from
// before is given up, so that nobody can have planted it.
func (s *Server) enter(r *http.Request, owner bool, person bench.Person) error {
	ctx := r.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, ownerKey, owner)
	s.sessions.Put(ctx, personKey, person.ID)
	by := bench.Who{Person: person.ID, Name: person.Name, Role: person.Role, Device: device(r)}
	if owner {
		by.Role = bench.Owner
		if by.Name == "" {
			by.Name = "owner"
		}
	}
	return s.bench.Sessions().Tie(ctx, s.sessions.Token(ctx), by)
}

// tell leaves a word for the next page.
func (s *Server) tell(r *http.Request, text string) { s.sessions.Put(r.Context(), toldKey, text) }
