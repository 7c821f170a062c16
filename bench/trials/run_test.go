package trials_test

import (
	"bytes"
	"image"
	"image/gif"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/science/interval"
)

func TestResentReadingIsKeptOnce(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	n := trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1..2.5", Flags: []trials.Flag{trials.Bubbles, trials.Late, trials.Bubbles}, Note: "dim light\r\n"}
	kept := benchtest.Must(s.KeepReading(ctx, s.Ines, n))(t)
	n.StartedAt = time.Date(2026, 3, 1, 7, 0, 0, 0, time.UTC) // the phone has learnt the time meanwhile
	again := benchtest.Must(s.KeepReading(ctx, s.Ines, n))(t)
	if !again.Again || kept.Again || again.ID != kept.ID || !again.KeptAt.Equal(kept.KeptAt) {
		t.Errorf("sent again: %+v, first %+v", again, kept)
	}
	other := n
	other.Text = "5"
	_, err := s.KeepReading(ctx, s.Ines, other) // another reading under the same key
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	other.Key = benchtest.NewKey()
	_, err = s.KeepReading(ctx, s.Ines, other) // the same vial from a second phone
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	benchtest.Must(s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "5"}))(t)

	got := s.First(r.ID, s.Ines, s.Card.VersionID).Mine
	if len(got) != 1 || got[0].Text != "1..2.5" || !slices.Equal(got[0].Flags, []trials.Flag{trials.Bubbles, trials.Late}) || got[0].Note != "dim light" {
		t.Errorf("mine: %+v", got)
	}
	if r := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t); r.Progress.Taken != 2 || r.Progress.Flagged != 1 {
		t.Errorf("progress: %+v", r.Progress)
	}
}

// TestTwoPhonesAtOnce: the same reading sent many times at once, and two readers
// at once, are each kept once.
func TestTwoPhonesAtOnce(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	keys := map[int64]string{s.Ines.Person: benchtest.NewKey(), s.Tomo.Person: benchtest.NewKey()}
	var wg sync.WaitGroup
	var fresh atomic.Int32
	for range 8 {
		for _, who := range []knownwater.Who{s.Ines, s.Tomo} {
			wg.Go(func() {
				k, err := s.KeepReading(ctx, who, trials.NewReading{Key: keys[who.Person], Vial: v.ID, Text: "1"})
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
	if p := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Progress; fresh.Load() != 2 || p.Taken != 2 {
		t.Errorf("%d kept anew, %d taken; want 2", fresh.Load(), p.Taken)
	}
}

// TestFullDisk: a reading that finds no room is refused in clear words, and what
// was kept before stands.
func TestFullDisk(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}))(t)
	s.ExecAsWriter(ctx, "pragma max_page_count = 1") // SQLite makes it the present size
	var err error
	last := v.ID
	for i := range 200 {
		n := trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Replicate: i + 2, Text: "1", Note: strings.Repeat("x", 4000)}
		if _, err = s.KeepReading(ctx, s.Ines, n); err != nil {
			break
		}
	}
	benchtest.WantRefusal(t, err, knownwater.Full)
	if !strings.Contains(err.Error(), "disk is full") {
		t.Errorf("in words: %v", err)
	}
	if got := s.First(r.ID, s.Ines, s.Card.VersionID); got.ID != last || len(got.Mine) == 0 {
		t.Errorf("what was kept before: %+v", got)
	}
}

func TestWhoMayRead(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Meter.VersionID) // dealt to Ines alone
	wren := benchtest.Must(s.People(ctx))(t)[2]
	for _, who := range []knownwater.Who{s.Tomo, {Person: wren.ID, Name: "Wren", Role: knownwater.Reader}, {Role: knownwater.Reader}, benchtest.Owner} {
		_, err := s.KeepReading(ctx, who, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "3.4"})
		benchtest.WantRefusal(t, err, knownwater.NotAllowed)
		benchtest.WantRefusal(t, s.StartVial(ctx, who, trials.VialStart{Key: benchtest.NewKey(), Vial: v.ID}), knownwater.NotAllowed)
	}
	_, err := s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Reader: s.Ines.Person, Text: "3.4"})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Run(ctx, knownwater.Who{Person: wren.ID, Role: knownwater.Owner}, r.ID, 0)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Run(ctx, benchtest.Owner, r.ID, 0)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)

	// An owner types in a paper sheet.
	benchtest.Must(s.KeepReading(ctx, benchtest.Owner, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Reader: s.Ines.Person, Text: "3.4"}))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	got := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{}))(t)[0]
	if got.Name != "Ines" || got.Kept.Name != "Olive" || got.Kept.Device != "this computer" {
		t.Errorf("typed in: reader %q, kept %+v", got.Name, got.Kept)
	}
}

func TestReadingFaults(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	for _, c := range []struct {
		column string
		change func(*trials.NewReading)
	}{
		{"text", func(n *trials.NewReading) { n.Text = "" }},
		{"text", func(n *trials.NewReading) { n.Text = "about nine" }},
		{"text", func(n *trials.NewReading) { n.Text = "7d" }},
		{"text", func(n *trials.NewReading) { n.Text = "3.3" }}, // no swatch
		{"text", func(n *trials.NewReading) { n.Text = strings.Repeat("1", 1000) }},
		{"key", func(n *trials.NewReading) { n.Key = "short" }},
		{"key", func(n *trials.NewReading) { n.Key = strings.Repeat("'", 20) }},
		{"flags", func(n *trials.NewReading) { n.Flags = []trials.Flag{"lost,late"} }},
		{"photo", func(n *trials.NewReading) { n.Photo = strings.Repeat("a", 64) }},
		{"lot", func(n *trials.NewReading) { n.Lot = 99 }},
		{"dilution", func(n *trials.NewReading) { n.Dilution = 0.5 }},
		{"replicate", func(n *trials.NewReading) { n.Replicate = -1 }},
		{"note", func(n *trials.NewReading) { n.Note = strings.Repeat("x", 4000+1) }},
	} {
		n := trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}
		c.change(&n)
		_, err := s.KeepReading(ctx, s.Ines, n)
		benchtest.WantFault(t, err, c.column)
	}
	_, err := s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: 9999, Text: "1"})
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	if r := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t); r.Progress.Taken != 0 || r.State != trials.SealedUp {
		t.Errorf("a refused reading left %s, %+v", r.State, r.Progress)
	}
}

func TestCorrection(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	one := benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}))(t)
	_, err := s.CorrectReading(ctx, s.Ines, one.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "2.5"}, "")
	benchtest.WantFault(t, err, "why")
	_, err = s.CorrectReading(ctx, s.Tomo, one.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "2.5"}, "I know better")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	n := trials.NewReading{Key: benchtest.NewKey(), Text: "2.5"}
	two := benchtest.Must(s.CorrectReading(ctx, s.Ines, one.ID, n, "held the card upside down"))(t)
	if again := benchtest.Must(s.CorrectReading(ctx, s.Ines, one.ID, n, "held the card upside down"))(t); again.ID != two.ID || !again.Again {
		t.Errorf("correction sent again: %+v", again)
	}
	_, err = s.CorrectReading(ctx, s.Ines, one.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "5"}, "once more")
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead) // it is the newer one that can be corrected
	three := benchtest.Must(s.CorrectReading(ctx, benchtest.Owner, two.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "2.5..5"}, "as on the photo"))(t)

	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	got := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{}))(t)
	if len(got) != 1 || got[0].ID != three.ID || got[0].Text != "2.5..5" || got[0].Kept.Name != "Olive" || got[0].Name != "Ines" {
		t.Errorf("what stands: %+v", got)
	}
	all := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{All: true, ID: two.ID}))(t)
	if len(all) != 3 || all[0].SupersededBy != two.ID || all[1].Why != "held the card upside down" || all[2].Supersedes != two.ID {
		t.Errorf("the whole story: %+v", all)
	}
	if d := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t); len(d.Observations) != 1 || d.Observations[0].Text != "2.5..5" {
		t.Errorf("data: %+v", d.Observations)
	}
}

func TestTakeBack(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	n := trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}
	benchtest.Must(s.KeepReading(ctx, s.Ines, n))(t)
	_, err := s.TakeBack(ctx, s.Tomo, n.Key, benchtest.NewKey())
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	undo := benchtest.NewKey()
	benchtest.Must(s.TakeBack(ctx, s.Ines, n.Key, undo))(t)
	if again := benchtest.Must(s.TakeBack(ctx, s.Ines, n.Key, undo))(t); !again.Again {
		t.Errorf("undo sent again: %+v", again)
	}
	if got := s.First(r.ID, s.Ines, s.Card.VersionID).Mine; len(got) != 0 {
		t.Errorf("still mine: %+v", got)
	}
	if p := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Progress; p.Taken != 0 {
		t.Errorf("progress after undo: %+v", p)
	}
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "2.5"}))(t)
	if p := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Progress; p.Taken != 1 {
		t.Errorf("progress after reading anew: %+v", p)
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	all := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{All: true}))(t)
	if len(all) != 3 || !all[1].Withdrawn || all[2].Supersedes != all[1].ID || all[2].Why == "" {
		t.Errorf("the whole story: %+v", all)
	}
	_, err = s.TakeBack(ctx, s.Ines, "no-such-key-0000000", benchtest.NewKey())
	benchtest.WantRefusal(t, err, knownwater.NotFound)
}

// TestDilutedSecondReading: the procedure dilutes what reads above 5 and reads
// again; both readings stand, each with its own dilution and uncertainty.
func TestDilutedSecondReading(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	var v trials.RunVial
	for session := 1; session <= 2; session++ {
		for _, w := range benchtest.Must(s.Run(ctx, s.Ines, r.ID, session))(t).Vials {
			if w.Method == s.Card.VersionID && w.Dilution == 1 {
				v = w
			}
		}
	}
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "5..10"}))(t)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1", Dilution: 8}))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	d := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if len(d.Observations) != 2 || d.Observations[1].Dilution != 8 || d.Observations[1].UDilution < 0.019 || d.Observations[0].UDilution != 0 {
		t.Errorf("observations: %+v", d.Observations)
	}
}

// TestStartIsShared: a start sent from one phone shows on the other, counts for
// its window, and can be made again.
func TestStartIsShared(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	begun := s.Clock.T
	start := trials.VialStart{Key: benchtest.NewKey(), Vial: v.ID, StartedAt: begun}
	for range 2 {
		if err := s.StartVial(ctx, s.Ines, start); err != nil {
			t.Fatal(err)
		}
	}
	got := s.First(r.ID, s.Tomo, s.Card.VersionID)
	if got.ID != v.ID || got.Started == nil || !got.Started.Equal(begun) {
		t.Errorf("on the other phone: %+v", got)
	}
	if r := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t); r.State != trials.Running {
		t.Errorf("state %s after a start", r.State)
	}
	kept := benchtest.Must(s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1", ReadAt: begun.Add(600 * time.Second)}))(t)
	if kept.OffBy != 60 {
		t.Errorf("off by %g, want 60", kept.OffBy)
	}
	again := trials.VialStart{Key: benchtest.NewKey(), Vial: v.ID, StartedAt: begun.Add(time.Hour)}
	if err := s.StartVial(ctx, s.Ines, again); err != nil {
		t.Fatal(err)
	}
	if got := s.First(r.ID, s.Ines, s.Card.VersionID); !got.Started.Equal(again.StartedAt) {
		t.Errorf("begun again: %v", got.Started)
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	if flagged := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{Flagged: true}))(t); len(flagged) != 1 || flagged[0].OffBy != 60 {
		t.Errorf("flagged: %+v", flagged)
	}
}

func TestNoReadingPossible(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Flags: []trials.Flag{trials.Spilled}}))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if st.Taken != 1 || len(st.Data.Observations) != 0 || len(st.Dropped) != 1 || st.Dropped[0].Flags[0] != trials.Spilled {
		t.Errorf("standing: taken %d, %d observations, dropped %+v", st.Taken, len(st.Data.Observations), st.Dropped)
	}
}

func TestExclusionBothWays(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	one := benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}))(t)
	benchtest.Must(s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "2.5"}))(t)
	benchtest.WantFault(t, s.Exclude(ctx, benchtest.Owner, one.ID, true, ""), "why")
	benchtest.WantRefusal(t, s.Exclude(ctx, s.Ines, one.ID, true, "no"), knownwater.NotAllowed)
	if err := s.Exclude(ctx, benchtest.Owner, one.ID, true, "cell was scratched"); err != nil {
		t.Fatal(err)
	}
	two := benchtest.Must(s.CorrectReading(ctx, s.Ines, one.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "1..2.5"}, "looked again"))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)

	st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if len(st.Data.Observations) != 1 || len(st.Excluded) != 1 || st.Excluded[0].ID != two.ID {
		t.Errorf("with the exclusion: %d observations, excluded %+v", len(st.Data.Observations), st.Excluded)
	}
	if e := st.Excluded[0].Excluded; e.Why != "cell was scratched" || e.Name != "Olive" || e.AfterKey {
		t.Errorf("exclusion: %+v", e)
	}
	if st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{WithExcluded: true}))(t); len(st.Data.Observations) != 2 {
		t.Errorf("the other way: %d observations", len(st.Data.Observations))
	}
	if r := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t); r.Progress.Excluded != 1 {
		t.Errorf("progress: %+v", r.Progress)
	}
	if err := s.Exclude(ctx, benchtest.Owner, two.ID, false, "the scratch does not matter"); err != nil {
		t.Fatal(err)
	}
	if st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t); len(st.Data.Observations) != 2 || len(st.Excluded) != 0 {
		t.Errorf("taken back in: %d observations, excluded %+v", len(st.Data.Observations), st.Excluded)
	}
	if err := s.Exclude(ctx, benchtest.Owner, two.ID, true, "after all"); err != nil {
		t.Fatal(err)
	}
	if got := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{Excluded: true}))(t); len(got) != 1 || !got[0].Excluded.AfterKey {
		t.Errorf("excluded with the key open: %+v", got)
	}
}

func TestReadingFilter(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	s.ReadAll(r.ID, s.Ines, s.Tomo)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, ""))(t)
	every := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{}))(t)
	level, none := 6.9, ""
	for name, c := range map[string]struct {
		f  trials.ReadingFilter
		is func(trials.Reading) bool
	}{
		"method":    {trials.ReadingFilter{Method: "Pocket meter"}, func(x trials.Reading) bool { return x.Method == "Pocket meter" }},
		"level":     {trials.ReadingFilter{Level: &level}, func(x trials.Reading) bool { return x.Level == 6.9 }},
		"dilution":  {trials.ReadingFilter{Dilution: 8}, func(x trials.Reading) bool { return x.Dilution == 8 }},
		"reader":    {trials.ReadingFilter{Reader: s.Ines.Person}, func(x trials.Reading) bool { return x.Name == "Ines" }},
		"session":   {trials.ReadingFilter{Session: 2}, func(x trials.Reading) bool { return x.Session == 2 }},
		"technique": {trials.ReadingFilter{Technique: &none}, func(x trials.Reading) bool { return true }},
		"text":      {trials.ReadingFilter{Text: "3.4"}, func(x trials.Reading) bool { return x.Text == "3.4" }},
		"after":     {trials.ReadingFilter{After: 10}, func(x trials.Reading) bool { return x.ID > 10 }},
		"two":       {trials.ReadingFilter{Session: 1, Text: "3.4"}, func(x trials.Reading) bool { return x.Session == 1 && x.Text == "3.4" }},
	} {
		want := 0
		for _, x := range every {
			if c.is(x) {
				want++
			}
		}
		got := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, c.f))(t)
		for _, x := range got {
			if !c.is(x) {
				t.Errorf("%s: %+v", name, x)
			}
		}
		if len(got) != want || want == 0 {
			t.Errorf("%s: %d readings, want %d", name, len(got), want)
		}
	}
	if got := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{Limit: 3}))(t); len(got) != 3 {
		t.Errorf("limit: %d", len(got))
	}
}

// TestDataOnThePlansScale: a method that shows mg/L as N is judged on the plan's
// scale, mg/L as NO3: 62.0049/14.0067 = 4.4268 (molar masses).
func TestDataOnThePlansScale(t *testing.T) {
	s := benchtest.New(t)
	spec := benchtest.MeterSpec()
	spec.Name, spec.Scale.Basis = "Nitrogen meter", "N"
	m := benchtest.Must(s.SaveMethod(ctx, benchtest.Owner, 0, spec, ""))(t)
	p := s.Plan()
	p.Methods = []trials.PlanMethod{{VersionID: m.VersionID}}
	r := s.Sealed(p)
	v := s.First(r.ID, s.Ines, m.VersionID)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1.0"}))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	d := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
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
	s := benchtest.New(t)
	p := benchtest.Must(s.Person(ctx, s.Tomo.Person))(t)
	p.Alias = "R9"
	benchtest.Must(s.SavePerson(ctx, benchtest.Owner, p))(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	one := benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1", Note: "Ines was here"}))(t)
	benchtest.Must(s.KeepReading(ctx, s.Tomo, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "2.5"}))(t)
	if err := s.Exclude(ctx, benchtest.Owner, one.ID, true, "scratched"); err != nil {
		t.Fatal(err)
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{HideNames: true, WithExcluded: true}))(t)
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

func TestPhotos(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	data := benchtest.Picture(t, benchtest.PNG)
	name := benchtest.Must(s.KeepPhoto(ctx, s.Ines, bytes.NewReader(data)))(t)
	if again := benchtest.Must(s.KeepPhoto(ctx, s.Tomo, bytes.NewReader(data)))(t); again != name {
		t.Errorf("the same picture is called %s and %s", name, again)
	}
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1", Photo: name}))(t)
	got, kind, err := s.Photo(ctx, s.Ines, name)
	if !bytes.Equal(got, data) || kind != "image/png" || err != nil {
		t.Errorf("photo: %d bytes, %s, %v", len(got), kind, err)
	}
	_, _, err = s.Photo(ctx, s.Tomo, name)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	if _, _, err = s.Photo(ctx, benchtest.Owner, name); err != nil {
		t.Error(err)
	}
	_, _, err = s.Photo(ctx, benchtest.Owner, "../../etc/passwd")
	benchtest.WantRefusal(t, err, knownwater.NotFound)

	for what, bad := range map[string][]byte{
		"a page": []byte("<html><script>alert(1)</script></html>"), "nothing": {}, "half a head": data[:10],
		"a GIF": benchtest.Picture(t, func(b *bytes.Buffer, i image.Image) error { return gif.Encode(b, i, nil) }),
	} {
		_, err := s.KeepPhoto(ctx, s.Ines, bytes.NewReader(bad))
		if err == nil {
			t.Errorf("%s was kept as a photo", what)
		} else {
			benchtest.WantFault(t, err, "photo")
		}
	}
	huge := append([]byte(nil), data...)
	copy(huge[16:24], []byte{0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0}) // says 100 000 × 100 000
	if _, err := s.KeepPhoto(ctx, s.Ines, bytes.NewReader(huge)); err == nil {
		t.Error("a picture of 10^10 pixels was kept")
	}
	_, err = s.KeepPhoto(ctx, s.Ines, bytes.NewReader(append(data, make([]byte, trials.MostPhotoBytes)...)))
	benchtest.WantRefusal(t, err, knownwater.TooLarge)
}

func TestMyTrials(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	s.ReadAll(r.ID, s.Ines)
	mine := benchtest.Must(s.MyTrials(ctx, s.Ines))(t)
	if len(mine) != 1 || mine[0].Done != mine[0].Of || mine[0].Of == 0 {
		t.Errorf("Ines: %+v", mine)
	}
	if his := benchtest.Must(s.MyTrials(ctx, s.Tomo))(t); len(his) != 1 || his[0].Done != 0 {
		t.Errorf("Tomo: %+v", his)
	}
	if nobody := benchtest.Must(s.MyTrials(ctx, benchtest.Owner))(t); len(nobody) != 0 {
		t.Errorf("owner: %+v", nobody)
	}
}

// TestRecordsAreAppendOnly tries to change the records behind the bench's back.
func TestRecordsAreAppendOnly(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	one := benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}))(t)
	s.Exclude(ctx, benchtest.Owner, one.ID, true, "test")
	s.StartVial(ctx, s.Ines, trials.VialStart{Key: benchtest.NewKey(), Vial: v.ID})
	for _, q := range []string{
		"update reading set text = '5'", "delete from reading", "update exclusion set why = 'x'", "delete from exclusion",
		"delete from vial_start", "update vial_start set started_at = ''", "update vial set known_id = 1", "delete from vial", "delete from vial_reader",
		"update known set level = 3", "delete from known", "update event set what = 'x'", "delete from event",
		"update trial set state = 'planned'", "update trial set state = 'sealed'", "update trial set plan = '{}'", "update trial set key_digest = 'x'", "delete from trial",
		"delete from method_version",
		"insert or replace into reading select * from reading",
	} {
		if err := benchtest.Exec(t, s.Path, q); err == nil {
			t.Errorf("went through: %s", q)
		}
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "test"))(t)
	for _, q := range []string{"update trial set early = 0", "update trial set open_why = ''", "update trial set opened_at = ''", "update trial set state = 'running'"} {
		if err := benchtest.Exec(t, s.Path, q); err == nil {
			t.Errorf("went through: %s", q)
		}
	}
}
