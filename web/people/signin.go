package people

import (
	"net/http"
	"strings"
	"time"
	"unicode"

	"knownwater"
	"knownwater/web/form"
	"knownwater/web/guard"
	"knownwater/web/page"
)

// signInPage asks for the passphrase, or tells a phone how it gets in.
func (s *Pages) signInPage(w http.ResponseWriter, r *http.Request) {
	s.showSignIn(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showSignIn(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	s.Show(w, r, status, "sign-in", page.Frame{Heading: "Sign in", Page: f})
}

// signIn checks the passphrase. The bench slows down who tries wrong, and looks at
// one at a time, since each costs 64 MiB.
func (s *Pages) signIn(w http.ResponseWriter, r *http.Request) {
	if !s.Options.SignIn {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	era := s.guard.Era()
	ok, err := s.Bench.CheckPassphrase(r.Context(), f.Get("passphrase"), guard.Caller(r))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if !ok {
		f.Reject("passphrase", "that is not this bench’s passphrase", "the owner set it on the computer that keeps the bench")
		s.showSignIn(w, r, http.StatusUnauthorized, f)
		return
	}
	if err := s.guard.Enter(r, true, knownwater.Person{}, era); err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (s *Pages) signOut(w http.ResponseWriter, r *http.Request) {
	if err := s.guard.Leave(r); err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// pairPage is what a phone opens from the QR code. Looking uses nothing up, so
// that a preview of the link doesn't.
func (s *Pages) pairPage(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	s.Show(w, r, http.StatusOK, "pair", page.Frame{Heading: "Pair this phone", Page: struct{ Token string }{r.PathValue("token")}})
}

func (s *Pages) pair(w http.ResponseWriter, r *http.Request) {
	era := s.guard.Era()
	p, err := s.Bench.Pair(r.Context(), r.PathValue("token"), guard.Caller(r))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if err := s.guard.Enter(r, p.Role == knownwater.Owner, p, era); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "This phone now reads as {1}. It stays paired for 30 days.", p.Name)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// chooseMe says who reads at this browser, where nobody signs in or an owner
// reads too.
func (s *Pages) chooseMe(w http.ResponseWriter, r *http.Request) {
	by := page.WhoIs(r)
	if by.Role != knownwater.Owner {
		s.Refuse(w, r, http.StatusForbidden, "This phone is paired with one person.", "Pair it again to read as somebody else.")
		return
	}
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ids := f.IDs("person")
	if len(ids) == 0 {
		s.guard.ReadAs(r, 0)
	} else {
		p, err := s.Bench.Person(r.Context(), ids[0])
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		s.guard.ReadAs(r, p.ID)
	}
	back := f.Get("back")
	if !localPath(back) {
		back = "/"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

// localPath says whether a path to go back to stays on this bench. Browsers pass
// over tabs and ends of lines in an address, and read \ as /: "/\t/evil" would
// lead elsewhere.
func localPath(p string) bool {
	return len(p) > 0 && p[0] == '/' && (len(p) == 1 || p[1] != '/') &&
		!strings.ContainsFunc(p, func(r rune) bool {
			return r == '\\' || r <= ' ' || unicode.IsControl(r) || r == unicode.ReplacementChar
		})
}

// pairingLife is how long a QR code serves: it is seen by whoever looks at the
// screen, so it is short, and it serves once.
const pairingLife = 10 * time.Minute
