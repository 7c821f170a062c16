package web

import (
	"net/http"
	"time"

	"knownwater/bench"
)

// signInPage asks for the passphrase, or tells a phone how it gets in.
func (s *Server) signInPage(w http.ResponseWriter, r *http.Request) {
	s.showSignIn(w, r, http.StatusOK, &form{})
}

func (s *Server) showSignIn(w http.ResponseWriter, r *http.Request, status int, f *form) {
	s.show(w, r, status, "sign-in", frame{Title: "Sign in", Page: f})
}

// signIn checks the passphrase. The bench counts wrong tries and looks at few
// at once, since each costs 64 MiB.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request) {
	if !s.opt.SignIn {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ok, err := s.bench.CheckPassphrase(r.Context(), f.Get("passphrase"), caller(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if !ok {
		f.wrong("passphrase", "that is not this bench’s passphrase", "the owner set it on the computer that keeps the bench")
		s.showSignIn(w, r, http.StatusUnauthorized, f)
		return
	}
	if err := s.enter(r, true, bench.Person{}); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// pairPage is what a phone opens from the QR code. Looking uses nothing up, so
// that a preview of the link doesn't.
func (s *Server) pairPage(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	s.show(w, r, http.StatusOK, "pair", frame{Title: "Pair this phone", Page: struct{ Token string }{r.PathValue("token")}})
}

func (s *Server) pair(w http.ResponseWriter, r *http.Request) {
	p, err := s.bench.Pair(r.Context(), r.PathValue("token"), caller(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if err := s.enter(r, p.Role == bench.Owner, p); err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "This phone now reads as "+p.Name+". It stays paired for 30 days.")
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// chooseMe says who reads at this browser, where nobody signs in or an owner
// reads too.
func (s *Server) chooseMe(w http.ResponseWriter, r *http.Request) {
	by := whoIs(r)
	if by.Role != bench.Owner {
		s.refuse(w, r, http.StatusForbidden, "This phone is paired with one person.", "Pair it again to read as somebody else.")
		return
	}
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ids := f.ids("person")
	if len(ids) == 0 {
		s.sessions.Remove(r.Context(), personKey)
	} else {
		p, err := s.bench.Person(r.Context(), ids[0])
		if err != nil {
			s.fail(w, r, err)
			return
		}
		s.sessions.Put(r.Context(), personKey, p.ID)
	}
	back := f.Get("back")
	if !localPath(back) {
		back = "/"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

// localPath says whether a path to go back to stays on this bench.
func localPath(p string) bool {
	return len(p) > 0 && p[0] == '/' && (len(p) == 1 || p[1] != '/' && p[1] != '\\')
}

// pairingLife is how long a QR code serves: it is seen by whoever looks at the
// screen, so it is short, and it serves once.
const pairingLife = 10 * time.Minute
