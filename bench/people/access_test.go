package people_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"knownwater"
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

// TestBruteForce: wrong tries are counted by address, slowed, shown to the owner and
// remembered over a restart; they lock nobody out. How they are paced, TestGate… says by a
// clock of its own; here time only sets the least that tries may take.
func TestBruteForce(t *testing.T) {
	s := benchtest.New(t)
	if err := s.SetPassphrase(ctx, benchtest.Owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	wrong := func(times int) (took time.Duration) {
		begun := time.Now()
		for range times {
			if ok, err := s.CheckPassphrase(ctx, "wrong wrong wrong", "10.0.0.9"); ok || err != nil {
				t.Fatalf("wrong passphrase: %t, %v", ok, err)
			}
		}
		return time.Since(begun)
	}
	if took := wrong(8); took < time.Second {
		t.Errorf("eight tries took %v only", took)
	}
	for _, from := range []string{"10.0.0.8", "10.0.0.9"} {
		if ok, err := s.CheckPassphrase(ctx, "grey heron at low tide", from); !ok || err != nil {
			t.Errorf("the right passphrase from %s: %t, %v", from, ok, err)
		}
	}
	tried := benchtest.Must(s.Tried(ctx, benchtest.Owner))(t)
	if len(tried) != 1 || tried[0].From != "10.0.0.9" || tried[0].N != 8 || tried[0].What != "passphrase" {
		t.Errorf("the owner sees %+v", tried)
	}
	_, err := s.Tried(ctx, s.Ines)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	s.Close() // a restart forgets nothing
	s.Open()
	if took := wrong(3); took < time.Second {
		t.Errorf("three tries after a restart took %v", took)
	}
}

// TestLockOut: while many addresses try both ways in, the right passphrase and a valid code
// are taken, the code from an address that attacks.
func TestLockOut(t *testing.T) {
	s := benchtest.New(t)
	if err := s.SetPassphrase(ctx, benchtest.Owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	code := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 0))(t)
	attack, stop := context.WithCancel(ctx)
	defer stop()
	var all sync.WaitGroup
	under := make(chan bool, 20)
	for i := range 20 {
		all.Go(func() {
			for first := true; attack.Err() == nil; first = false {
				from := fmt.Sprintf("10.0.1.%d", i)
				s.Pair(attack, "GUESS", from)
				if first {
					under <- true
				}
				s.CheckPassphrase(attack, "wrong wrong wrong", from)
			}
		})
	}
	for range 20 {
		<-under
	}
	if ok, err := s.CheckPassphrase(ctx, "grey heron at low tide", "10.0.2.1"); !ok || err != nil {
		t.Errorf("the right passphrase: %t, %v", ok, err)
	}
	if who, err := s.Pair(ctx, code.Token, "10.0.1.7"); err != nil || who.ID != s.Ines.Person {
		t.Errorf("a valid code: %+v, %v", who, err)
	}
	stop()
	all.Wait()
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

func TestSessions(t *testing.T) {
	s := benchtest.New(t)
	ss := s.Sessions()
	expiry := s.Clock.T.Add(time.Hour)
	if err := ss.Tie(ctx, "token", s.Ines, ss.Era()); err != nil { // before the first commit, as after a renewed token
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

// TestEndedStaysEnded: whatever a request does that was under way when its session
// was ended, the session is not back afterwards, and nothing is written for it.
func TestEndedStaysEnded(t *testing.T) {
	for name, end := range map[string]func(s *benchtest.Shed, id string) error{
		"from the list": func(s *benchtest.Shed, id string) error { return s.Sessions().End(ctx, benchtest.Owner, id) },
		"by a new passphrase": func(s *benchtest.Shed, _ string) error {
			return s.SetPassphrase(ctx, benchtest.Owner, "another passphrase")
		},
		"by signing out": func(s *benchtest.Shed, _ string) error { return s.Sessions().Delete("token") },
		"by another role": func(s *benchtest.Shed, _ string) error {
			p := benchtest.Must(s.Person(ctx, s.Ines.Person))(t)
			p.Role = knownwater.Owner
			_, err := s.SavePerson(ctx, benchtest.Owner, p)
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := benchtest.New(t)
			ss := s.Sessions()
			expiry := s.Clock.T.Add(time.Hour)
			era := ss.Era()
			if err := ss.Tie(ctx, "token", s.Ines, era); err != nil {
				t.Fatal(err)
			}
			if err := ss.Commit("token", []byte("in"), expiry); err != nil {
				t.Fatal(err)
			}
			under := ss.During(ctx, "token")
			if _, err := s.SavePerson(under, benchtest.Owner, knownwater.Person{Name: "while in", Role: knownwater.Reader}); err != nil {
				t.Fatal(err)
			}
			id := benchtest.Must(ss.List(ctx, benchtest.Owner))(t)[0].ID
			code := benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, 0))(t)
			if err := end(s, id); err != nil {
				t.Fatal(err)
			}
			// The slow request of it goes on: its data are kept, it is tied again.
			ss.Commit("token", []byte("back again"), expiry)
			ss.Tie(ctx, "token", s.Ines, ss.Era())
			if _, found, _ := ss.Find("token"); found {
				t.Error("the ended session is back")
			}
			if list := benchtest.Must(ss.List(ctx, benchtest.Owner))(t); len(list) != 0 {
				t.Errorf("the list has %+v", list)
			}
			_, err := s.SavePerson(under, benchtest.Owner, knownwater.Person{Name: "after", Role: knownwater.Reader})
			benchtest.WantRefusal(t, err, knownwater.NotAllowed)
			if name != "by signing out" {
				_, err = s.Pair(ctx, code.Token, "10.0.0.1")
				benchtest.WantRefusal(t, err, knownwater.NotAllowed)
			}
			if name == "by a new passphrase" || name == "by another role" { // who proved it before is not in yet
				benchtest.WantRefusal(t, ss.Tie(ctx, "another", s.Ines, era), knownwater.NotAllowed)
			}
			s.Close()
			s.Open()
			if _, found, _ := s.Sessions().Find("token"); found {
				t.Error("back after a restart")
			}
		})
	}
}

// TestEndedAtOnce ends a session while many requests of it are under way.
func TestEndedAtOnce(t *testing.T) {
	s := benchtest.New(t)
	ss := s.Sessions()
	later := s.Clock.Now().Add(time.Hour)
	for round := range 20 {
		token := fmt.Sprint("token ", round)
		if err := ss.Tie(ctx, token, s.Ines, ss.Era()); err != nil {
			t.Fatal(err)
		}
		ss.Commit(token, []byte("in"), later)
		id := benchtest.Must(ss.List(ctx, benchtest.Owner))(t)[0].ID
		var wg sync.WaitGroup
		for range 8 {
			wg.Go(func() {
				if data, found, _ := ss.Find(token); found {
					ss.Commit(token, append(data, '.'), later)
				}
			})
		}
		wg.Go(func() { ss.End(ctx, benchtest.Owner, id) })
		wg.Wait()
		if _, found, _ := ss.Find(token); found {
			t.Fatal("the ended session is back")
		}
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
