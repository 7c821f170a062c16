package people

import (
	"net/http"
	"path/filepath"

	"knownwater"
	"knownwater/bench/people"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// peoplePage is who works here, on which phones, and the form for one of them.
type peoplePage struct {
	People     []knownwater.Person
	Phones     []people.SessionEntry
	Tried      []people.Tries
	Photos     []trials.Photos
	One        knownwater.Person // being changed; ID 0: a new one
	Form       *form.Form
	Pass       *form.Form
	Passphrase bool
	Reachable  bool // from other machines
	TLS        bool
}

func (s *Pages) people(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{"role": {string(knownwater.Reader)}}}
	var one knownwater.Person
	if r.PathValue("id") != "" {
		p, err := s.Bench.Person(r.Context(), form.PathID(r, "id"))
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		one = p
		f.Values = map[string][]string{"name": {p.Name}, "alias": {p.Alias}, "role": {string(p.Role)}}
		if p.Gone {
			f.Set("gone", "yes")
		}
	}
	s.showPeople(w, r, http.StatusOK, one, f, &form.Form{})
}

func (s *Pages) showPeople(w http.ResponseWriter, r *http.Request, status int, one knownwater.Person, f, pass *form.Form) {
	ctx := r.Context()
	p := peoplePage{One: one, Form: f, Pass: pass, Reachable: s.Options.SignIn, TLS: s.Options.TLS}
	var err error
	if p.People, err = s.Bench.People(ctx); err == nil {
		if p.Phones, err = s.Bench.Sessions().List(ctx, page.WhoIs(r)); err == nil {
			p.Passphrase, err = s.Bench.PassphraseSet(ctx)
		}
		if err == nil {
			p.Tried, err = s.Bench.Tried(ctx, page.WhoIs(r))
		}
		if err == nil {
			p.Photos, err = s.Bench.PhotosKept(ctx, page.WhoIs(r))
		}
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "people", page.Frame{Heading: "People and phones", Part: "people", Page: p})
}

func (s *Pages) savePerson(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := knownwater.Person{Name: f.Text("name"), Alias: f.Text("alias"), Role: knownwater.Role(f.Text("role")), Gone: f.Ticked("gone")}
	if ids := f.IDs("id"); len(ids) > 0 {
		p.ID = ids[0]
	}
	saved, err := s.Bench.SavePerson(r.Context(), page.WhoIs(r), p)
	if f.Refused(err) {
		s.showPeople(w, r, http.StatusUnprocessableEntity, p, f, &form.Form{})
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "{1} is on the list.", saved.Name)
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// pairingPage shows the QR code that lets one phone in.
type pairingPage struct {
	Person  knownwater.Person
	Address string
	QR      any
	Minutes int
	TLS     bool
	Bench   string // the bench's file, where no phone reaches it: there is no code then
}

func (s *Pages) offerPairing(w http.ResponseWriter, r *http.Request) {
	if !s.Options.SignIn { // a code would lead to an address that only this computer has
		who, err := s.Bench.Person(r.Context(), form.PathID(r, "id"))
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		s.Show(w, r, http.StatusConflict, "pairing", page.Frame{Heading: "Pair a phone", Part: "people", Page: pairingPage{Person: who, Bench: filepath.Base(s.Bench.Path())}})
		return
	}
	pairing, err := s.Bench.NewPairing(r.Context(), page.WhoIs(r), form.PathID(r, "id"), pairingLife)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	address := s.Options.BaseURL + "/pair/" + pairing.Token
	code, err := render.QRCode(address)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	s.Show(w, r, http.StatusOK, "pairing", page.Frame{Heading: "Pair a phone", Part: "people",
		Page: pairingPage{Person: pairing.Person, Address: address, QR: code, Minutes: int(pairingLife.Minutes()), TLS: s.Options.TLS}})
}

func (s *Pages) endSession(w http.ResponseWriter, r *http.Request) {
	if err := s.Bench.Sessions().End(r.Context(), page.WhoIs(r), r.PathValue("id")); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "That phone must be paired again.")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

func (s *Pages) setPassphrase(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	phrase := f.Get("passphrase")
	if phrase != f.Get("again") {
		f.Reject("again", "the two are not the same", "type it twice alike")
	} else {
		f.Refused(s.Bench.SetPassphrase(r.Context(), page.WhoIs(r), phrase))
	}
	if f.Bad() {
		f.Del("passphrase") // never sent back
		f.Del("again")
		s.showPeople(w, r, http.StatusUnprocessableEntity, knownwater.Person{}, &form.Form{Values: map[string][]string{"role": {"reader"}}}, f)
		return
	}
	s.Tell(r, "The passphrase is set; every browser must sign in or pair again.")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
