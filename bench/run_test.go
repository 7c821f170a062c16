package bench

import (
	"bytes"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/interval"
)

// first is the first vial of a method in a reader's first session.
func (s *shed) first(trial int64, who knownwater.Who, version int64) RunVial {
	s.t.Helper()
	for session := 1; session <= 2; session++ {
		for _, v := range must(s.Run(ctx, who, trial, session))(s.t).Vials {
			if v.Method == version {
				return v
			}
		}
	}
	s.t.Fatal("no such vial")
	return RunVial{}
}

func TestResentReadingIsKeptOnce(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	n := NewReading{Key: newKey(), Vial: v.ID, Text: "1..2.5", Flags: []Flag{Bubbles, Late, Bubbles}, Note: "dim light\r\n"}
	kept := must(s.KeepReading(ctx, s.ines, n))(t)
	n.StartedAt = time.Date(2026, 3, 1, 7, 0, 0, 0, time.UTC) // the phone has learnt the time meanwhile
	again := must(s.KeepReading(ctx, s.ines, n))(t)
	if !again.Again || kept.Again || again.ID != kept.ID || !again.KeptAt.Equal(kept.KeptAt) {
		t.Errorf("sent again: %+v, first %+v", again, kept)
	}
	other := n
	other.Text = "5"
	_, err := s.KeepReading(ctx, s.ines, other) // another reading under the same key
	wantRefusal(t, err, knownwater.AlreadyRead)
	other.Key = newKey()
	_, err = s.KeepReading(ctx, s.ines, other) // the same vial from a second phone
	wantRefusal(t, err, knownwater.AlreadyRead)
	must(s.KeepReading(ctx, s.tomo, NewReading{Key: newKey(), Vial: v.ID, Text: "5"}))(t)

	got := s.first(r.ID, s.ines, s.card.VersionID).Mine
	if len(got) != 1 || got[0].Text != "1..2.5" || joinFlags(got[0].Flags) != "bubbles,late" || got[0].Note != "dim light" {
		t.Errorf("mine: %+v", got)
	}
	if r := must(s.Trial(ctx, owner, r.ID))(t); r.Progress.Taken != 2 || r.Progress.Flagged != 1 {
		t.Errorf("progress: %+v", r.Progress)
	}
}

// TestTwoPhonesAtOnce: the same reading sent many times at once, and two readers
// at once, are each kept once.
func TestTwoPhonesAtOnce(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	keys := map[int64]string{s.ines.Person: newKey(), s.tomo.Person: newKey()}
	var wg sync.WaitGroup
	var fresh atomic.Int32
	for range 8 {
		for _, who := range []knownwater.Who{s.ines, s.tomo} {
			wg.Go(func() {
				k, err := s.KeepReading(ctx, who, NewReading{Key: keys[who.Person], Vial: v.ID, Text: "1"})
				if err != nil {
					t.Error(err)
				}
				if !k.Again {
					fresh.Add(1)
				}
			})
		}
	}
	wg.Wait()
	if p := must(s.Trial(ctx, owner, r.ID))(t).Progress; fresh.Load() != 2 || p.Taken != 2 {
		t.Errorf("%d kept anew, %d taken; want 2", fresh.Load(), p.Taken)
	}
}

// TestFullDisk: a reading that finds no room is refused in clear words, and what
// was kept before stands.
func TestFullDisk(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1"}))(t)
	s.write(ctx, func(t tx) error { return t.Exec("pragma max_page_count = 1") }) // SQLite makes it the present size
	var err error
	last := v.ID
	for i := range 200 {
		n := NewReading{Key: newKey(), Vial: v.ID, Replicate: i + 2, Text: "1", Note: strings.Repeat("x", 4000)}
		if _, err = s.KeepReading(ctx, s.ines, n); err != nil {
			break
		}
	}
	wantRefusal(t, err, knownwater.Full)
	if !strings.Contains(err.Error(), "disk is full") {
		t.Errorf("in words: %v", err)
	}
	if got := s.first(r.ID, s.ines, s.card.VersionID); got.ID != last || len(got.Mine) == 0 {
		t.Errorf("what was kept before: %+v", got)
	}
}

func TestWhoMayRead(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.meter.VersionID) // dealt to Ines alone
	wren := must(s.People(ctx))(t)[2]
	for _, who := range []knownwater.Who{s.tomo, {Person: wren.ID, Name: "Wren", Role: knownwater.Reader}, {Role: knownwater.Reader}, owner} {
		_, err := s.KeepReading(ctx, who, NewReading{Key: newKey(), Vial: v.ID, Text: "3.4"})
		wantRefusal(t, err, knownwater.NotAllowed)
		wantRefusal(t, s.StartVial(ctx, who, VialStart{Key: newKey(), Vial: v.ID}), knownwater.NotAllowed)
	}
	_, err := s.KeepReading(ctx, s.tomo, NewReading{Key: newKey(), Vial: v.ID, Reader: s.ines.Person, Text: "3.4"})
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Run(ctx, knownwater.Who{Person: wren.ID, Role: knownwater.Owner}, r.ID, 0)
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Run(ctx, owner, r.ID, 0)
	wantRefusal(t, err, knownwater.NotAllowed)

	// An owner types in a paper sheet.
	must(s.KeepReading(ctx, owner, NewReading{Key: newKey(), Vial: v.ID, Reader: s.ines.Person, Text: "3.4"}))(t)
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	got := must(s.Readings(ctx, owner, r.ID, ReadingFilter{}))(t)[0]
	if got.Name != "Ines" || got.Kept.Name != "Olive" || got.Kept.Device != "this computer" {
		t.Errorf("typed in: reader %q, kept %+v", got.Name, got.Kept)
	}
}

func TestReadingFaults(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	for _, c := range []struct {
		column string
		change func(*NewReading)
	}{
		{"text", func(n *NewReading) { n.Text = "" }},
		{"text", func(n *NewReading) { n.Text = "about nine" }},
		{"text", func(n *NewReading) { n.Text = "7d" }},
		{"text", func(n *NewReading) { n.Text = "3.3" }}, // no swatch
		{"text", func(n *NewReading) { n.Text = strings.Repeat("1", 1000) }},
		{"key", func(n *NewReading) { n.Key = "short" }},
		{"key", func(n *NewReading) { n.Key = strings.Repeat("'", 20) }},
		{"flags", func(n *NewReading) { n.Flags = []Flag{"lost,late"} }},
		{"photo", func(n *NewReading) { n.Photo = strings.Repeat("a", 64) }},
		{"lot", func(n *NewReading) { n.Lot = 99 }},
		{"dilution", func(n *NewReading) { n.Dilution = 0.5 }},
		{"replicate", func(n *NewReading) { n.Replicate = -1 }},
		{"note", func(n *NewReading) { n.Note = strings.Repeat("x", 4000+1) }},
	} {
		n := NewReading{Key: newKey(), Vial: v.ID, Text: "1"}
		c.change(&n)
		_, err := s.KeepReading(ctx, s.ines, n)
		wantFault(t, err, c.column)
	}
	_, err := s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: 9999, Text: "1"})
	wantRefusal(t, err, knownwater.NotFound)
	if r := must(s.Trial(ctx, owner, r.ID))(t); r.Progress.Taken != 0 || r.State != SealedUp {
		t.Errorf("a refused reading left %s, %+v", r.State, r.Progress)
	}
}

func TestCorrection(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	one := must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1"}))(t)
	_, err := s.CorrectReading(ctx, s.ines, one.ID, NewReading{Key: newKey(), Text: "2.5"}, "")
	wantFault(t, err, "why")
	_, err = s.CorrectReading(ctx, s.tomo, one.ID, NewReading{Key: newKey(), Text: "2.5"}, "I know better")
	wantRefusal(t, err, knownwater.NotAllowed)
	n := NewReading{Key: newKey(), Text: "2.5"}
	two := must(s.CorrectReading(ctx, s.ines, one.ID, n, "held the card upside down"))(t)
	if again := must(s.CorrectReading(ctx, s.ines, one.ID, n, "held the card upside down"))(t); again.ID != two.ID || !again.Again {
		t.Errorf("correction sent again: %+v", again)
	}
	_, err = s.CorrectReading(ctx, s.ines, one.ID, NewReading{Key: newKey(), Text: "5"}, "once more")
	wantRefusal(t, err, knownwater.AlreadyRead) // it is the newer one that can be corrected
	three := must(s.CorrectReading(ctx, owner, two.ID, NewReading{Key: newKey(), Text: "2.5..5"}, "as on the photo"))(t)

	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	got := must(s.Readings(ctx, owner, r.ID, ReadingFilter{}))(t)
	if len(got) != 1 || got[0].ID != three.ID || got[0].Text != "2.5..5" || got[0].Kept.Name != "Olive" || got[0].Name != "Ines" {
		t.Errorf("what stands: %+v", got)
	}
	all := must(s.Readings(ctx, owner, r.ID, ReadingFilter{All: true, ID: two.ID}))(t)
	if len(all) != 3 || all[0].SupersededBy != two.ID || all[1].Why != "held the card upside down" || all[2].Supersedes != two.ID {
		t.Errorf("the whole story: %+v", all)
	}
	if d := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t); len(d.Observations) != 1 || d.Observations[0].Text != "2.5..5" {
		t.Errorf("data: %+v", d.Observations)
	}
}

func TestTakeBack(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	n := NewReading{Key: newKey(), Vial: v.ID, Text: "1"}
	must(s.KeepReading(ctx, s.ines, n))(t)
	_, err := s.TakeBack(ctx, s.tomo, n.Key, newKey())
	wantRefusal(t, err, knownwater.NotAllowed)
	undo := newKey()
	must(s.TakeBack(ctx, s.ines, n.Key, undo))(t)
	if again := must(s.TakeBack(ctx, s.ines, n.Key, undo))(t); !again.Again {
		t.Errorf("undo sent again: %+v", again)
	}
	if got := s.first(r.ID, s.ines, s.card.VersionID).Mine; len(got) != 0 {
		t.Errorf("still mine: %+v", got)
	}
	if p := must(s.Trial(ctx, owner, r.ID))(t).Progress; p.Taken != 0 {
		t.Errorf("progress after undo: %+v", p)
	}
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "2.5"}))(t)
	if p := must(s.Trial(ctx, owner, r.ID))(t).Progress; p.Taken != 1 {
		t.Errorf("progress after reading anew: %+v", p)
	}
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	all := must(s.Readings(ctx, owner, r.ID, ReadingFilter{All: true}))(t)
	if len(all) != 3 || !all[1].Withdrawn || all[2].Supersedes != all[1].ID || all[2].Why == "" {
		t.Errorf("the whole story: %+v", all)
	}
	_, err = s.TakeBack(ctx, s.ines, "no-such-key-0000000", newKey())
	wantRefusal(t, err, knownwater.NotFound)
}

// TestDilutedSecondReading: the procedure dilutes what reads above 5 and reads
// again; both readings stand, each with its own dilution and uncertainty.
func TestDilutedSecondReading(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	var v RunVial
	for session := 1; session <= 2; session++ {
		for _, w := range must(s.Run(ctx, s.ines, r.ID, session))(t).Vials {
			if w.Method == s.card.VersionID && w.Dilution == 1 {
				v = w
			}
		}
	}
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "5..10"}))(t)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1", Dilution: 8}))(t)
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	d := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t)
	if len(d.Observations) != 2 || d.Observations[1].Dilution != 8 || d.Observations[1].UDilution < 0.019 || d.Observations[0].UDilution != 0 {
		t.Errorf("observations: %+v", d.Observations)
	}
}

// TestReadingWindow: due 420 s after the start, to be read within 120 s.
func TestReadingWindow(t *testing.T) {
	steps := cardSpec().Steps
	start := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct{ took, want float64 }{
		{419, -1}, {420, 0}, {540, 0}, {541, 1}, {1200, 660}, {0, -420}, {-5, 0},
	} {
		if got := offBy(steps, start, start.Add(seconds(c.took))); got != c.want {
			t.Errorf("read after %g s: off by %g, want %g", c.took, got, c.want)
		}
	}
	if got := offBy(steps, time.Time{}, start); got != 0 {
		t.Errorf("without a start: %g", got)
	}
	if got := offBy(nil, start, start.Add(time.Hour)); got != 0 {
		t.Errorf("without steps: %g", got)
	}
}

// TestStartIsShared: a start sent from one phone shows on the other, counts for
// its window, and can be made again.
func TestStartIsShared(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	begun := s.clock.t
	start := VialStart{Key: newKey(), Vial: v.ID, StartedAt: begun}
	for range 2 {
		if err := s.StartVial(ctx, s.ines, start); err != nil {
			t.Fatal(err)
		}
	}
	got := s.first(r.ID, s.tomo, s.card.VersionID)
	if got.ID != v.ID || got.Started == nil || !got.Started.Equal(begun) {
		t.Errorf("on the other phone: %+v", got)
	}
	if r := must(s.Trial(ctx, owner, r.ID))(t); r.State != Running {
		t.Errorf("state %s after a start", r.State)
	}
	kept := must(s.KeepReading(ctx, s.tomo, NewReading{Key: newKey(), Vial: v.ID, Text: "1", ReadAt: begun.Add(600 * time.Second)}))(t)
	if kept.OffBy != 60 {
		t.Errorf("off by %g, want 60", kept.OffBy)
	}
	again := VialStart{Key: newKey(), Vial: v.ID, StartedAt: begun.Add(time.Hour)}
	if err := s.StartVial(ctx, s.ines, again); err != nil {
		t.Fatal(err)
	}
	if got := s.first(r.ID, s.ines, s.card.VersionID); !got.Started.Equal(again.StartedAt) {
		t.Errorf("begun again: %v", got.Started)
	}
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	if flagged := must(s.Readings(ctx, owner, r.ID, ReadingFilter{Flagged: true}))(t); len(flagged) != 1 || flagged[0].OffBy != 60 {
		t.Errorf("flagged: %+v", flagged)
	}
}

func TestNoReadingPossible(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Flags: []Flag{Spilled}}))(t)
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t)
	if st.Taken != 1 || len(st.Data.Observations) != 0 || len(st.Dropped) != 1 || st.Dropped[0].Flags[0] != Spilled {
		t.Errorf("standing: taken %d, %d observations, dropped %+v", st.Taken, len(st.Data.Observations), st.Dropped)
	}
}

func TestExclusionBothWays(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	one := must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1"}))(t)
	must(s.KeepReading(ctx, s.tomo, NewReading{Key: newKey(), Vial: v.ID, Text: "2.5"}))(t)
	wantFault(t, s.Exclude(ctx, owner, one.ID, true, ""), "why")
	wantRefusal(t, s.Exclude(ctx, s.ines, one.ID, true, "no"), knownwater.NotAllowed)
	if err := s.Exclude(ctx, owner, one.ID, true, "cell was scratched"); err != nil {
		t.Fatal(err)
	}
	two := must(s.CorrectReading(ctx, s.ines, one.ID, NewReading{Key: newKey(), Text: "1..2.5"}, "looked again"))(t)
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)

	st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t)
	if len(st.Data.Observations) != 1 || len(st.Excluded) != 1 || st.Excluded[0].ID != two.ID {
		t.Errorf("with the exclusion: %d observations, excluded %+v", len(st.Data.Observations), st.Excluded)
	}
	if e := st.Excluded[0].Excluded; e.Why != "cell was scratched" || e.Name != "Olive" || e.AfterKey {
		t.Errorf("exclusion: %+v", e)
	}
	if st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{WithExcluded: true}))(t); len(st.Data.Observations) != 2 {
		t.Errorf("the other way: %d observations", len(st.Data.Observations))
	}
	if r := must(s.Trial(ctx, owner, r.ID))(t); r.Progress.Excluded != 1 {
		t.Errorf("progress: %+v", r.Progress)
	}
	if err := s.Exclude(ctx, owner, two.ID, false, "the scratch does not matter"); err != nil {
		t.Fatal(err)
	}
	if st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t); len(st.Data.Observations) != 2 || len(st.Excluded) != 0 {
		t.Errorf("taken back in: %d observations, excluded %+v", len(st.Data.Observations), st.Excluded)
	}
	if err := s.Exclude(ctx, owner, two.ID, true, "after all"); err != nil {
		t.Fatal(err)
	}
	if got := must(s.Readings(ctx, owner, r.ID, ReadingFilter{Excluded: true}))(t); len(got) != 1 || !got[0].Excluded.AfterKey {
		t.Errorf("excluded with the key open: %+v", got)
	}
}

func TestReadingFilter(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	s.readAll(r.ID, s.ines, s.tomo)
	must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	every := must(s.Readings(ctx, owner, r.ID, ReadingFilter{}))(t)
	level, none := 6.9, ""
	for name, c := range map[string]struct {
		f  ReadingFilter
		is func(Reading) bool
	}{
		"method":    {ReadingFilter{Method: "Pocket meter"}, func(x Reading) bool { return x.Method == "Pocket meter" }},
		"level":     {ReadingFilter{Level: &level}, func(x Reading) bool { return x.Level == 6.9 }},
		"dilution":  {ReadingFilter{Dilution: 8}, func(x Reading) bool { return x.Dilution == 8 }},
		"reader":    {ReadingFilter{Reader: s.ines.Person}, func(x Reading) bool { return x.Name == "Ines" }},
		"session":   {ReadingFilter{Session: 2}, func(x Reading) bool { return x.Session == 2 }},
		"technique": {ReadingFilter{Technique: &none}, func(x Reading) bool { return true }},
		"text":      {ReadingFilter{Text: "3.4"}, func(x Reading) bool { return x.Text == "3.4" }},
		"after":     {ReadingFilter{After: 10}, func(x Reading) bool { return x.ID > 10 }},
		"two":       {ReadingFilter{Session: 1, Text: "3.4"}, func(x Reading) bool { return x.Session == 1 && x.Text == "3.4" }},
	} {
		want := 0
		for _, x := range every {
			if c.is(x) {
				want++
			}
		}
		got := must(s.Readings(ctx, owner, r.ID, c.f))(t)
		for _, x := range got {
			if !c.is(x) {
				t.Errorf("%s: %+v", name, x)
			}
		}
		if len(got) != want || want == 0 {
			t.Errorf("%s: %d readings, want %d", name, len(got), want)
		}
	}
	if got := must(s.Readings(ctx, owner, r.ID, ReadingFilter{Limit: 3}))(t); len(got) != 3 {
		t.Errorf("limit: %d", len(got))
	}
}

// TestDataOnThePlansScale: a method that shows mg/L as N is judged on the plan's
// scale, mg/L as NO3: 62.0049/14.0067 = 4.4268 (molar masses).
func TestDataOnThePlansScale(t *testing.T) {
	s := newShed(t)
	spec := meterSpec()
	spec.Name, spec.Scale.Basis = "Nitrogen meter", "N"
	m := must(s.SaveMethod(ctx, owner, 0, spec, ""))(t)
	p := s.plan()
	p.Methods = []PlanMethod{{VersionID: m.VersionID}}
	r := s.sealed(p)
	v := s.first(r.ID, s.ines, m.VersionID)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1.0"}))(t)
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	d := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t)
	f := 62.0049 / 14.0067
	want := interval.Interval{Low: 0.95 * f, High: 1.05 * f}
	got := d.Observations[0].Seen
	if diff := max(got.Low-want.Low, want.Low-got.Low, got.High-want.High, want.High-got.High); diff > 1e-3 {
		t.Errorf("seen %v, want %v", got, want)
	}
	if res := d.Methods[0].Resolution; res < 0.1*f-1e-3 || res > 0.1*f+1e-3 {
		t.Errorf("resolution %g, want %g", res, 0.1*f)
	}
}

func TestNamesCanBeHidden(t *testing.T) {
	s := newShed(t)
	p := must(s.Person(ctx, s.tomo.Person))(t)
	p.Alias = "R9"
	must(s.SavePerson(ctx, owner, p))(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	one := must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1", Note: "Ines was here"}))(t)
	must(s.KeepReading(ctx, s.tomo, NewReading{Key: newKey(), Vial: v.ID, Text: "2.5"}))(t)
	if err := s.Exclude(ctx, owner, one.ID, true, "scratched"); err != nil {
		t.Fatal(err)
	}
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{HideNames: true, WithExcluded: true}))(t)
	if a, b := st.Data.Observations[0].Reader, st.Data.Observations[1].Reader; a != "Reader 1" || b != "R9" {
		t.Errorf("readers %q and %q", a, b)
	}
	text, err := store.ToJSON([]any{st.Trial, st.Data, st.Excluded, st.Dropped, st.Notes})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Ines", "Tomo", "Olive"} {
		if strings.Contains(text, name) {
			t.Errorf("%s is named in %s", name, text)
		}
	}
}

func picture(t *testing.T, encode func(*bytes.Buffer, image.Image) error) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 3, 2))
	img.Set(1, 1, color.RGBA{200, 0, 100, 255})
	var b bytes.Buffer
	if err := encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(b *bytes.Buffer, i image.Image) error { return png.Encode(b, i) }

func TestPhotos(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	data := picture(t, pngOf)
	name := must(s.KeepPhoto(ctx, s.ines, bytes.NewReader(data)))(t)
	if again := must(s.KeepPhoto(ctx, s.tomo, bytes.NewReader(data)))(t); again != name {
		t.Errorf("the same picture is called %s and %s", name, again)
	}
	v := s.first(r.ID, s.ines, s.card.VersionID)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1", Photo: name}))(t)
	got, kind, err := s.Photo(ctx, s.ines, name)
	if !bytes.Equal(got, data) || kind != "image/png" || err != nil {
		t.Errorf("photo: %d bytes, %s, %v", len(got), kind, err)
	}
	_, _, err = s.Photo(ctx, s.tomo, name)
	wantRefusal(t, err, knownwater.NotAllowed)
	if _, _, err = s.Photo(ctx, owner, name); err != nil {
		t.Error(err)
	}
	_, _, err = s.Photo(ctx, owner, "../../etc/passwd")
	wantRefusal(t, err, knownwater.NotFound)

	for what, bad := range map[string][]byte{
		"a page": []byte("<html><script>alert(1)</script></html>"), "nothing": {}, "half a head": data[:10],
		"a GIF": picture(t, func(b *bytes.Buffer, i image.Image) error { return gif.Encode(b, i, nil) }),
	} {
		_, err := s.KeepPhoto(ctx, s.ines, bytes.NewReader(bad))
		if err == nil {
			t.Errorf("%s was kept as a photo", what)
		} else {
			wantFault(t, err, "photo")
		}
	}
	huge := append([]byte(nil), data...)
	copy(huge[16:24], []byte{0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0}) // says 100 000 × 100 000
	if _, err := s.KeepPhoto(ctx, s.ines, bytes.NewReader(huge)); err == nil {
		t.Error("a picture of 10^10 pixels was kept")
	}
	_, err = s.KeepPhoto(ctx, s.ines, bytes.NewReader(append(data, make([]byte, MostPhotoBytes)...)))
	wantRefusal(t, err, knownwater.TooLarge)
}

func TestMyTrials(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	s.readAll(r.ID, s.ines)
	mine := must(s.MyTrials(ctx, s.ines))(t)
	if len(mine) != 1 || mine[0].Done != mine[0].Of || mine[0].Of == 0 {
		t.Errorf("Ines: %+v", mine)
	}
	if his := must(s.MyTrials(ctx, s.tomo))(t); len(his) != 1 || his[0].Done != 0 {
		t.Errorf("Tomo: %+v", his)
	}
	if nobody := must(s.MyTrials(ctx, owner))(t); len(nobody) != 0 {
		t.Errorf("owner: %+v", nobody)
	}
}

// TestRecordsAreAppendOnly tries to change the records behind the bench's back.
func TestRecordsAreAppendOnly(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	one := must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: "1"}))(t)
	s.Exclude(ctx, owner, one.ID, true, "test")
	s.StartVial(ctx, s.ines, VialStart{Key: newKey(), Vial: v.ID})
	for _, q := range []string{
		"update reading set text = '5'", "delete from reading", "update exclusion set why = 'x'", "delete from exclusion",
		"delete from vial_start", "update vial_start set started_at = ''", "update vial set known_id = 1", "delete from vial", "delete from vial_reader",
		"update known set level = 3", "delete from known", "update event set what = 'x'", "delete from event",
		"update trial set state = 'planned'", "update trial set state = 'sealed'", "update trial set plan = '{}'", "update trial set key_digest = 'x'", "delete from trial",
		"delete from method_version",
		"insert or replace into reading select * from reading",
	} {
		if err := s.write(ctx, func(t tx) error { return t.Exec(q) }); err == nil {
			t.Errorf("went through: %s", q)
		}
	}
	must(s.OpenKey(ctx, owner, r.ID, "test"))(t)
	for _, q := range []string{"update trial set early = 0", "update trial set open_why = ''", "update trial set opened_at = ''", "update trial set state = 'running'"} {
		if err := s.write(ctx, func(t tx) error { return t.Exec(q) }); err == nil {
			t.Errorf("went through: %s", q)
		}
	}
}
