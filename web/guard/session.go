package guard

import (
	"errors"
	"net/http"
	"strings"

	"knownwater"
	"knownwater/web/page"
)

// What a session holds.
const (
	ownerKey  = "owner"  // signed in with the passphrase
	personKey = "person" // who this browser reads as
)

// identify finds out who is asking and refuses those who may not.
func (g *Guard) identify(least knownwater.Role, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		by, ok, err := g.identity(r)
		if err != nil {
			g.site.Fail(w, r, err)
			return
		}
		if !ok {
			g.askToSignIn(w, r)
			return
		}
		if g.site.Options.SignIn { // whatever it does stops being done when its session is ended
			r = r.WithContext(g.site.Bench.Sessions().During(r.Context(), g.site.Sessions.Token(r.Context())))
		}
		r = page.WithWho(r, by)
		if least == knownwater.Owner && by.Role != knownwater.Owner {
			g.site.Refuse(w, r, http.StatusForbidden, "This page is for the bench’s owner.", "Ask the owner, or go on with the trials that you read for.")
			return
		}
		next(w, r)
	}
}

// identity is who the session says. Where nobody but this machine can reach the
// server everybody is its owner, and the session only remembers who reads.
func (g *Guard) identity(r *http.Request) (knownwater.Who, bool, error) {
	ctx := r.Context()
	by := knownwater.Who{Role: knownwater.Reader, Device: device(r)}
	if !g.site.Options.SignIn {
		by = knownwater.Who{Role: knownwater.Owner, Name: "owner", Device: "this computer"}
	} else if g.site.Sessions.GetBool(ctx, ownerKey) {
		by.Role, by.Name = knownwater.Owner, "owner"
	}
	id := g.site.Sessions.GetInt64(ctx, personKey)
	if id == 0 {
		return by, by.Role == knownwater.Owner, nil
	}
	p, err := g.site.Bench.Person(ctx, id)
	if refusal := (*knownwater.Refusal)(nil); errors.As(err, &refusal) && refusal.Kind == knownwater.NotFound || err == nil && p.Gone {
		return by, by.Role == knownwater.Owner, nil
	}
	if err != nil {
		return by, false, err
	}
	by.Person, by.Name = p.ID, p.Name
	if by.Role != knownwater.Owner {
		by.Role = p.Role
	}
	return by, true, nil
}

// askToSignIn sends a person to the sign-in page and tells a script why its
// request was refused: what it wanted to send stays in its queue.
func (g *Guard) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if page.WantsJSON(r) || r.Method != http.MethodGet {
		g.site.Refuse(w, r, http.StatusUnauthorized, "this browser is not signed in", "Pair it again or sign in; nothing kept on it is lost.")
		return
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}

// device is a short text by which a person knows a browser again in the list of
// those that may use the bench.
func device(r *http.Request) string {
	name := "browser"
	for _, d := range []struct{ mark, name string }{{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android phone"},
		{"Windows", "Windows computer"}, {"Macintosh", "Mac"}, {"Linux", "Linux computer"}} {
		if strings.Contains(r.UserAgent(), d.mark) {
			name = d.name
			break
		}
	}
	return page.Reader(r).Language.Say("{1} at {2}", name, Caller(r))
}

// Era is to be asked for before somebody proves who they are, for Enter.
func (g *Guard) Era() uint64 { return g.site.Bench.Sessions().Era() }

// Enter opens a session for somebody who proved who they are; the token from
// before is given up, so that nobody can have planted it. Refused where who may
// come in was changed since era.
func (g *Guard) Enter(r *http.Request, owner bool, person knownwater.Person, era uint64) error {
	ctx := r.Context()
	if err := g.site.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	by := knownwater.Who{Person: person.ID, Name: person.Name, Role: person.Role, Device: device(r)}
	if owner {
		by.Role = knownwater.Owner
		if by.Name == "" {
			by.Name = "owner"
		}
	}
	if err := g.site.Bench.Sessions().Tie(ctx, g.site.Sessions.Token(ctx), by, era); err != nil {
		return err
	}
	g.site.Sessions.Put(ctx, ownerKey, owner)
	g.site.Sessions.Put(ctx, personKey, person.ID)
	return nil
}

// ReadAs remembers who reads at this browser; 0 is nobody.
func (g *Guard) ReadAs(r *http.Request, person int64) {
	if person == 0 {
		g.site.Sessions.Remove(r.Context(), personKey)
		return
	}
	g.site.Sessions.Put(r.Context(), personKey, person)
}

// Leave ends the session of this browser.
func (g *Guard) Leave(r *http.Request) error { return g.site.Sessions.Destroy(r.Context()) }
