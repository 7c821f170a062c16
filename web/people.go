package web

import (
	"net/http"

	"knownwater"
	"knownwater/bench"
)

// peoplePage is who works here, on which phones, and the form for one of them.
type peoplePage struct {
	People     []bench.Person
	Phones     []bench.SessionEntry
	One        bench.Person // being changed; ID 0: a new one
	Form       *form
	Pass       *form
	Passphrase bool
	Reachable  bool // from other machines
	TLS        bool
}

func (s *Server) people(w http.ResponseWriter, r *http.Request) {
	f := &form{Values: map[string][]string{"role": {string(bench.Reader)}}}
	var one bench.Person
	if r.PathValue("id") != "" {
		p, err := s.bench.Person(r.Context(), pathID(r, "id"))
		if err != nil {
			s.fail(w, r, err)
			return
		}
		one = p
		f.Values = map[string][]string{"name": {p.Name}, "alias": {p.Alias}, "role": {string(p.Role)}}
		if p.Gone {
			f.Set("gone", "yes")
		}
	}
	s.showPeople(w, r, http.StatusOK, one, f, &form{})
}

func (s *Server) showPeople(w http.ResponseWriter, r *http.Request, status int, one bench.Person, f, pass *form) {
	ctx := r.Context()
	p := peoplePage{One: one, Form: f, Pass: pass, Reachable: s.opt.SignIn, TLS: s.opt.TLS}
	var err error
	if p.People, err = s.bench.People(ctx); err == nil {
		if p.Phones, err = s.bench.Sessions().List(ctx, whoIs(r)); err == nil {
			p.Passphrase, err = s.bench.PassphraseSet(ctx)
		}
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, status, "people", frame{Title: "People and phones", Part: "people", Page: p})
}

func (s *Server) savePerson(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := bench.Person{Name: f.text("name"), Alias: f.text("alias"), Role: bench.Role(f.text("role")), Gone: f.ticked("gone")}
	if ids := f.ids("id"); len(ids) > 0 {
		p.ID = ids[0]
	}
	saved, err := s.bench.SavePerson(r.Context(), whoIs(r), p)
	if s.formFaults(f, err) {
		s.showPeople(w, r, http.StatusUnprocessableEntity, p, f, &form{})
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, saved.Name+" is on the list.")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// formFaults puts faults of the bench beside the fields that they name.
func (s *Server) formFaults(f *form, err error) bool {
	faults, ok := asFaults(err)
	if ok {
		f.faults = append(f.faults, faults...)
	}
	return len(f.faults) > 0
}

// pairingPage shows the QR code that lets one phone in.
type pairingPage struct {
	Person  bench.Person
	Address string
	QR      any
	Minutes int
	TLS     bool
}

func (s *Server) offerPairing(w http.ResponseWriter, r *http.Request) {
	pairing, err := s.bench.NewPairing(r.Context(), whoIs(r), pathID(r, "id"), pairingLife)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	address := s.opt.BaseURL + "/pair/" + pairing.Token
	code, err := qrSVG(address)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	s.show(w, r, http.StatusOK, "pairing", frame{Title: "Pair a phone", Part: "people",
		Page: pairingPage{pairing.Person, address, code, int(pairingLife.Minutes()), s.opt.TLS}})
}

func (s *Server) endSession(w http.ResponseWriter, r *http.Request) {
	if err := s.bench.Sessions().End(r.Context(), whoIs(r), r.PathValue("id")); err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "That phone must be paired again.")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

func (s *Server) setPassphrase(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	phrase := f.Get("passphrase")
	if phrase != f.Get("again") {
		f.wrong("again", "the two are not the same", "type it twice alike")
	} else {
		s.formFaults(f, s.bench.SetPassphrase(r.Context(), whoIs(r), phrase))
	}
	if len(f.faults) > 0 {
		f.Del("passphrase") // never sent back
		f.Del("again")
		s.showPeople(w, r, http.StatusUnprocessableEntity, bench.Person{}, &form{Values: map[string][]string{"role": {"reader"}}}, f)
		return
	}
	s.tell(r, "The passphrase is set; every browser must sign in or pair again.")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// asFaults tells faults in what was typed from other errors.
func asFaults(err error) (knownwater.Faults, bool) {
	switch e := err.(type) {
	case knownwater.Faults:
		return e, true
	case knownwater.Fault:
		return knownwater.Faults{e}, true
	}
	return nil, false
}
