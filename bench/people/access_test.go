package people_test

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/people"
	"knownwater/internal/benchtest"
)

func TestPassphrase(t *testing.T) {
	s := benchtest.New(t)
	if ok := benchtest.Must(s.CheckPassphrase(ctx, "anything at all", "a"))(t); ok {
		t.Error("a passphrase was right before there was one")
	}
	benchtest.WantFault(t, s.SetPassphrase(ctx, benchtest.Owner, "short"), "passphrase")
	benchtest.WantRefusal(t, s.SetPassphrase(ctx, s.Ines, "long enough for it"), knownwater.NotAllowed)
	if set := benchtest.Must(s.PassphraseSet(ctx))(t); set {
		t.Error("passphrase set by a refused call")
	}
	if err := s.SetPassphrase(ctx, benchtest.Owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	if ok := benchtest.Must(s.CheckPassphrase(ctx, "grey heron at low tide", "a"))(t); !ok {
		t.Error("the right passphrase is wrong")
	}
	var kept string
	benchtest.SQL(t, s.Path).QueryRow("select value from secret").Scan(&kept)
	if !strings.HasPrefix(kept, "$argon2id$v=19$m=65536,") {
		t.Errorf("kept as %q", kept)
	}
}

func TestBruteForce(t *testing.T) {
	s := benchtest.New(t)
	if err := s.SetPassphrase(ctx, benchtest.Owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	// All at once, so that none gets in between another's look and its count.
	var wg sync.WaitGroup
	var mu sync.Mutex
	refused := 0
	for range people.TriesFromOne + 3 {
		wg.Go(func() {
			ok, err := s.CheckPassphrase(ctx, "wrong wrong wrong", "10.0.0.9")
			mu.Lock()
			defer mu.Unlock()
			if errors.Is(err, &knownwater.Refusal{Kind: knownwater.TooMany}) {
				refused++
			} else if ok || err != nil {
				t.Errorf("wrong passphrase: %t, %v", ok, err)
			}
		})
	}
	wg.Wait()
	if refused != 3 {
		t.Errorf("%d tries refused, want 3", refused)
	}
	_, err := s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.9")
	benchtest.WantRefusal(t, err, knownwater.TooMany)
	if ok := benchtest.Must(s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.8"))(t); !ok {
		t.Error("another address is shut out, too")
	}
	s.Close() // a restart forgets nothing
	s.Open()
	_, err = s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.9")
	benchtest.WantRefusal(t, err, knownwater.TooMany)
	s.Clock.T = s.Clock.T.Add(people.TryWindow)
	if ok := benchtest.Must(s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.9"))(t); !ok {
		t.Error("shut out for good")
	}
}

func TestPairing(t *testing.T) {
	s := benchtest.New(t)
	p := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 0))(t)
	if len(p.Token) != 32 {
		t.Errorf("token %q", p.Token)
	}
	_, err := s.Pair(ctx, p.Token[:31]+"x", "phone")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	if who := benchtest.Must(s.Pair(ctx, p.Token, "phone"))(t); who.ID != s.Ines.Person {
		t.Errorf("paired as %+v", who)
	}
	_, err = s.Pair(ctx, p.Token, "other phone")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed) // once only

	late := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, time.Minute))(t)
	s.Clock.T = s.Clock.T.Add(time.Minute)
	_, err = s.Pair(ctx, late.Token, "phone")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)

	long := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 1000*time.Hour))(t)
	if life := long.Expires.Sub(s.Clock.T); life > 24*time.Hour {
		t.Errorf("a token for %v", life)
	}
	_, err = s.NewPairing(ctx, s.Ines, s.Ines.Person, 0)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)

	gone := benchtest.Must(s.Person(ctx, s.Ines.Person))(t)
	gone.Gone = true
	benchtest.Must(s.SavePerson(ctx, benchtest.Owner, gone))(t)
	_, err = s.Pair(ctx, long.Token, "phone")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed) // went with the person
	_, err = s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 0)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}

func TestPairingBruteForce(t *testing.T) {
	s := benchtest.New(t)
	p := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 0))(t)
	for range people.TriesFromOne {
		_, err := s.Pair(ctx, "guess", "10.0.0.9")
		benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	}
	_, err := s.Pair(ctx, p.Token, "10.0.0.9")
	benchtest.WantRefusal(t, err, knownwater.TooMany)
}

func TestSessions(t *testing.T) {
	s := benchtest.New(t)
	ss := s.Sessions()
	expiry := s.Clock.T.Add(time.Hour)
	if err := ss.Tie(ctx, "token", s.Ines); err != nil { // before the first commit, as after a renewed token
		t.Fatal(err)
	}
	if _, found, _ := ss.Find("token"); found {
		t.Error("found before it was committed")
	}
	for _, data := range []string{"one", "two"} {
		if err := ss.Commit("token", []byte(data), expiry); err != nil {
			t.Fatal(err)
		}
		got, found, err := ss.Find("token")
		if string(got) != data || !found || err != nil {
			t.Errorf("found %q, %t, %v; want %q", got, found, err, data)
		}
	}
	list := benchtest.Must(ss.List(ctx, benchtest.Owner))(t)
	if len(list) != 1 || list[0].Name != "Ines" || list[0].Role != knownwater.Reader || list[0].ID == "token" {
		t.Errorf("sessions: %+v", list)
	}
	_, err := ss.List(ctx, s.Ines)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	s.Close() // outlives a restart
	s.Open()
	ss = s.Sessions()
	if _, found, _ := ss.Find("token"); !found {
		t.Error("gone after a restart")
	}
	if err := ss.End(ctx, benchtest.Owner, list[0].ID); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := ss.Find("token"); found {
		t.Error("found after it was ended")
	}
	ss.Commit("other", []byte("x"), s.Clock.T.Add(time.Minute))
	s.Clock.T = s.Clock.T.Add(2 * time.Minute)
	if _, found, _ := ss.Find("other"); found {
		t.Error("found after it expired")
	}
	ss.Commit("third", []byte("x"), s.Clock.T.Add(time.Hour))
	if err := s.SetPassphrase(ctx, benchtest.Owner, "a new passphrase"); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := ss.Find("third"); found {
		t.Error("a new passphrase left a session")
	}
}

func TestAllow(t *testing.T) {
	s := benchtest.New(t)
	for i := range 5 {
		if ok, _ := s.Allow("photo", "a", 5, time.Minute); !ok {
			t.Errorf("try %d refused", i)
		}
	}
	ok, wait := s.Allow("photo", "a", 5, time.Minute)
	if ok || wait <= 0 || wait > time.Minute {
		t.Errorf("sixth try: %t, wait %v", ok, wait)
	}
	if ok, _ := s.Allow("photo", "b", 5, time.Minute); !ok {
		t.Error("another address refused")
	}
	s.Clock.T = s.Clock.T.Add(wait)
	if ok, _ := s.Allow("photo", "a", 5, time.Minute); !ok {
		t.Error("refused after waiting")
	}
}

func TestPeople(t *testing.T) {
	s := benchtest.New(t)
	_, err := s.SavePerson(ctx, benchtest.Owner, knownwater.Person{Name: "Ines", Role: knownwater.Reader})
	benchtest.WantFault(t, err, "name")
	_, err = s.SavePerson(ctx, benchtest.Owner, knownwater.Person{Name: "Kai", Role: "king"})
	benchtest.WantFault(t, err, "role")
	if ps := benchtest.Must(s.People(ctx))(t); len(ps) != 3 || ps[0].Name != "Ines" {
		t.Errorf("people: %+v", ps)
	}
}
