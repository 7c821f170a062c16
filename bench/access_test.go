package bench

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"knownwater"
)

func TestPassphrase(t *testing.T) {
	s := newShed(t)
	if ok := must(s.CheckPassphrase(ctx, "anything at all", "a"))(t); ok {
		t.Error("a passphrase was right before there was one")
	}
	wantFault(t, s.SetPassphrase(ctx, owner, "short"), "passphrase")
	wantRefusal(t, s.SetPassphrase(ctx, s.ines, "long enough for it"), knownwater.NotAllowed)
	if set := must(s.PassphraseSet(ctx))(t); set {
		t.Error("passphrase set by a refused call")
	}
	if err := s.SetPassphrase(ctx, owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	if ok := must(s.CheckPassphrase(ctx, "grey heron at low tide", "a"))(t); !ok {
		t.Error("the right passphrase is wrong")
	}
	var kept string
	raw(t, s.path).QueryRow("select value from secret").Scan(&kept)
	if !strings.HasPrefix(kept, "$argon2id$v=19$m=65536,") {
		t.Errorf("kept as %q", kept)
	}
}

func TestBruteForce(t *testing.T) {
	s := newShed(t)
	if err := s.SetPassphrase(ctx, owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	// All at once, so that none gets in between another's look and its count.
	var wg sync.WaitGroup
	var mu sync.Mutex
	refused := 0
	for range triesFromOne + 3 {
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
	wantRefusal(t, err, knownwater.TooMany)
	if ok := must(s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.8"))(t); !ok {
		t.Error("another address is shut out, too")
	}
	s.Close() // a restart forgets nothing
	s.open()
	_, err = s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.9")
	wantRefusal(t, err, knownwater.TooMany)
	s.clock.t = s.clock.t.Add(tryWindow)
	if ok := must(s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.0.9"))(t); !ok {
		t.Error("shut out for good")
	}
}

func TestPairing(t *testing.T) {
	s := newShed(t)
	p := must(s.NewPairing(ctx, owner, s.ines.Person, 0))(t)
	if len(p.Token) != 32 {
		t.Errorf("token %q", p.Token)
	}
	_, err := s.Pair(ctx, p.Token[:31]+"x", "phone")
	wantRefusal(t, err, knownwater.NotAllowed)
	if who := must(s.Pair(ctx, p.Token, "phone"))(t); who.ID != s.ines.Person {
		t.Errorf("paired as %+v", who)
	}
	_, err = s.Pair(ctx, p.Token, "other phone")
	wantRefusal(t, err, knownwater.NotAllowed) // once only

	late := must(s.NewPairing(ctx, owner, s.ines.Person, time.Minute))(t)
	s.clock.t = s.clock.t.Add(time.Minute)
	_, err = s.Pair(ctx, late.Token, "phone")
	wantRefusal(t, err, knownwater.NotAllowed)

	long := must(s.NewPairing(ctx, owner, s.ines.Person, 1000*time.Hour))(t)
	if life := long.Expires.Sub(s.clock.t); life > 24*time.Hour {
		t.Errorf("a token for %v", life)
	}
	_, err = s.NewPairing(ctx, s.ines, s.ines.Person, 0)
	wantRefusal(t, err, knownwater.NotAllowed)

	gone := must(s.Person(ctx, s.ines.Person))(t)
	gone.Gone = true
	must(s.SavePerson(ctx, owner, gone))(t)
	_, err = s.Pair(ctx, long.Token, "phone")
	wantRefusal(t, err, knownwater.NotAllowed) // went with the person
	_, err = s.NewPairing(ctx, owner, s.ines.Person, 0)
	wantRefusal(t, err, knownwater.NotAllowed)
}

func TestPairingBruteForce(t *testing.T) {
	s := newShed(t)
	p := must(s.NewPairing(ctx, owner, s.ines.Person, 0))(t)
	for range triesFromOne {
		_, err := s.Pair(ctx, "guess", "10.0.0.9")
		wantRefusal(t, err, knownwater.NotAllowed)
	}
	_, err := s.Pair(ctx, p.Token, "10.0.0.9")
	wantRefusal(t, err, knownwater.TooMany)
}

func TestSessions(t *testing.T) {
	s := newShed(t)
	ss := s.Sessions()
	expiry := s.clock.t.Add(time.Hour)
	if err := ss.Tie(ctx, "token", s.ines); err != nil { // before the first commit, as after a renewed token
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
	list := must(ss.List(ctx, owner))(t)
	if len(list) != 1 || list[0].Name != "Ines" || list[0].Role != knownwater.Reader || list[0].ID == "token" {
		t.Errorf("sessions: %+v", list)
	}
	_, err := ss.List(ctx, s.ines)
	wantRefusal(t, err, knownwater.NotAllowed)
	s.Close() // outlives a restart
	s.open()
	ss = s.Sessions()
	if _, found, _ := ss.Find("token"); !found {
		t.Error("gone after a restart")
	}
	if err := ss.End(ctx, owner, list[0].ID); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := ss.Find("token"); found {
		t.Error("found after it was ended")
	}
	ss.Commit("other", []byte("x"), s.clock.t.Add(time.Minute))
	s.clock.t = s.clock.t.Add(2 * time.Minute)
	if _, found, _ := ss.Find("other"); found {
		t.Error("found after it expired")
	}
	ss.Commit("third", []byte("x"), s.clock.t.Add(time.Hour))
	if err := s.SetPassphrase(ctx, owner, "a new passphrase"); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := ss.Find("third"); found {
		t.Error("a new passphrase left a session")
	}
}

func TestAllow(t *testing.T) {
	s := newShed(t)
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
	s.clock.t = s.clock.t.Add(wait)
	if ok, _ := s.Allow("photo", "a", 5, time.Minute); !ok {
		t.Error("refused after waiting")
	}
	l := newLimits()
	for i := range 3 * mostAddresses {
		l.allow([2]string{"x", strings.Repeat("y", i%7) + time.Duration(i).String()}, 1, time.Hour, time.Unix(0, 0))
	}
	if len(l.tries) > mostAddresses {
		t.Errorf("%d addresses remembered", len(l.tries))
	}
}

func TestPeople(t *testing.T) {
	s := newShed(t)
	_, err := s.SavePerson(ctx, owner, knownwater.Person{Name: "Ines", Role: knownwater.Reader})
	wantFault(t, err, "name")
	_, err = s.SavePerson(ctx, owner, knownwater.Person{Name: "Kai", Role: "king"})
	wantFault(t, err, "role")
	if ps := must(s.People(ctx))(t); len(ps) != 3 || ps[0].Name != "Ines" {
		t.Errorf("people: %+v", ps)
	}
}
