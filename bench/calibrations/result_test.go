package calibrations_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/science/note"
	"knownwater/sqlite"
)

func TestKeepResult(t *testing.T) {
	s := benchtest.New(t)
	last := s.Curved()
	versions := benchtest.Must(s.CurveVersions(ctx, last.ID))(t)
	first := versions[2]
	n := benchtest.Read5(first.VersionID)
	n.Note = "after feeding"
	r := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	d := benchtest.Must(first.Spec.Fit())(t)
	want, _ := d.Read(r.Sample)
	want.Notes = append([]note.Note{}, want.Notes...) // none or an empty list: the same
	if !reflect.DeepEqual(r.Outcome, want) || !(math.Abs(want.Level-5) <= 0.05) || !(want.Low < 5 && 5 < want.High) || len(want.Parts) == 0 {
		t.Errorf("kept %+v, the curve says %+v", r.Outcome, want)
	}
	if r.Version != 1 || r.VersionID != first.VersionID || r.Curve != last.ID || r.Text != "0.3345 0,3349" || r.Sample.Dilution != 1 || r.Water != "north tank" ||
		r.Scale != benchtest.Nitrate || r.Kept.Name != "Ines" || r.Person != s.Ines.Person || r.Program != "test 1" || !r.Stands() || r.TakenAt.IsZero() {
		t.Errorf("kept %+v", r)
	}
	if again := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t); again.ID != r.ID {
		t.Error("sent twice, kept twice")
	}
	other := n
	other.Signals = "0.4"
	_, err := s.KeepResult(ctx, s.Ines, other)
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)

	_, err = s.KeepResult(ctx, s.Ines, benchtest.Read5(last.VersionID))
	benchtest.WantRefusal(t, err, knownwater.WrongState) // not in use
	_, err = s.KeepResult(ctx, knownwater.Who{Role: knownwater.Reader, Device: "phone"}, benchtest.Read5(first.VersionID))
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.KeepResult(ctx, benchtest.Owner, benchtest.Read5(99))
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	n = benchtest.Read5(first.VersionID)
	n.TakenAt = time.Date(2027, 1, 2, 12, 0, 0, 0, time.UTC)
	_, err = s.KeepResult(ctx, benchtest.Owner, n)
	benchtest.WantFault(t, err, "taken_at")
	for s.Clock.T.Before(n.TakenAt) {
		s.Clock.T = s.Clock.T.AddDate(0, 1, 0)
	}
	if r := benchtest.Must(s.KeepResult(ctx, benchtest.Owner, n))(t); !slices.ContainsFunc(r.Outcome.Notes, note.New("taken-after-last-day").Name("day", "2026-12-31").Equal) {
		t.Errorf("past the curve's last day: %v", r.Outcome.Notes)
	}
	if err := s.RetireCurve(ctx, benchtest.Owner, last.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.KeepResult(ctx, benchtest.Owner, benchtest.Read5(first.VersionID))
	benchtest.WantRefusal(t, err, knownwater.WrongState)
}

func TestBadResults(t *testing.T) {
	s := benchtest.New(t)
	s.Curved()
	for name, c := range map[string]struct {
		column string
		spoil  func(*calibrations.NewResult)
	}{
		"no water":         {"water", func(n *calibrations.NewResult) { n.Water = " \n" }},
		"long water":       {"water", func(n *calibrations.NewResult) { n.Water = strings.Repeat("w", 300) }},
		"no signal":        {"signals", func(n *calibrations.NewResult) { n.Signals = "" }},
		"a word":           {"signals", func(n *calibrations.NewResult) { n.Signals = "0.3 much" }},
		"not a number":     {"signals", func(n *calibrations.NewResult) { n.Signals = "NaN" }},
		"too many":         {"signals", func(n *calibrations.NewResult) { n.Signals = strings.Repeat("1 ", 101) }},
		"dilution":         {"dilution", func(n *calibrations.NewResult) { n.Dilution = -2 }},
		"no dilution":      {"dilution", func(n *calibrations.NewResult) { n.Dilution = math.NaN() }},
		"dilution u":       {"u_dilution", func(n *calibrations.NewResult) { n.UDilution = 1 }},
		"lot u":            {"u_lot", func(n *calibrations.NewResult) { n.ULot = -0.1 }},
		"a time to come":   {"taken_at", func(n *calibrations.NewResult) { n.TakenAt = s.Clock.Now().Add(time.Hour) }},
		"no key":           {"key", func(n *calibrations.NewResult) { n.Key = "short" }},
		"a very long note": {"note", func(n *calibrations.NewResult) { n.Note = strings.Repeat("n", 5000) }},
	} {
		n := benchtest.Read5(1)
		c.spoil(&n)
		_, err := s.KeepResult(ctx, benchtest.Owner, n)
		if err == nil {
			t.Errorf("%s was kept", name)
			continue
		}
		benchtest.WantFault(t, err, c.column)
	}
	list, _, err := s.Results(ctx, benchtest.Owner, calibrations.ResultFilter{Curve: 1})
	if err != nil || len(list) != 0 {
		t.Errorf("%d results, %v", len(list), err)
	}
}

func TestCorrectResults(t *testing.T) {
	s := benchtest.New(t)
	last := s.Curved()
	rs := s.Resulted()
	old, withdrawn, above, corrected := rs[1], rs[2], rs[3], rs[4]
	if above.Outcome.Outside != "above" || !math.IsNaN(above.Outcome.Level) || !(above.Outcome.Low > 90) || above.Sample.Dilution != 8 {
		t.Errorf("a signal far above: %+v", above)
	}
	story := benchtest.Must(s.ResultStory(ctx, s.Ines, corrected.ID))(t)
	if len(story) != 2 || story[0].ID != old.ID || story[0].SupersededBy != corrected.ID || story[0].Because != "digits swapped" || story[0].Stands() ||
		!reflect.DeepEqual(story[0].Outcome, old.Outcome) || story[1].Outcome.Level >= old.Outcome.Level || !story[1].Stands() {
		t.Errorf("story %+v", story)
	}
	if !story[1].TakenAt.Equal(old.TakenAt) {
		t.Error("a correction changed when the water was tested")
	}
	if counts := benchtest.Must(s.ResultCounts(ctx, last.ID))(t); !reflect.DeepEqual(counts, map[int64]int{old.VersionID: 3}) {
		t.Errorf("counts %v", counts)
	}
	// another version in use: old results keep theirs, and are corrected with it
	benchtest.Must(s.AdoptCurve(ctx, benchtest.Owner, last.VersionID, "better"))(t)
	again := benchtest.Must(s.CorrectResult(ctx, benchtest.Owner, corrected.ID, benchtest.Read5(last.VersionID), "was right at first"))(t)
	if again.VersionID != old.VersionID || !reflect.DeepEqual(again.Outcome, old.Outcome) {
		t.Errorf("corrected with version %d: %+v", again.Version, again.Outcome)
	}
	_, err := s.CorrectResult(ctx, s.Ines, corrected.ID, benchtest.Read5(0), "late")
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.CorrectResult(ctx, s.Tomo, withdrawn.ID, benchtest.Read5(0), "late")
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.WithdrawResult(ctx, s.Tomo, rs[5].ID, benchtest.NewKey(), "twice")
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.CorrectResult(ctx, s.Tomo, rs[0].ID, benchtest.Read5(0), "not mine")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.ResultStory(ctx, s.Tomo, rs[0].ID)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.ResultStory(ctx, benchtest.Owner, 99)
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	bad := benchtest.Read5(0)
	bad.Water = ""
	_, err = s.CorrectResult(ctx, benchtest.Owner, rs[0].ID, bad, " ")
	benchtest.WantFault(t, err, "why")
	benchtest.WantFault(t, err, "water")
	_, err = s.WithdrawResult(ctx, benchtest.Owner, rs[0].ID, benchtest.NewKey(), "")
	benchtest.WantFault(t, err, "why")
	const lasting = "digest, water, text, signals, own_colour, clear, dilution, u_dilution, u_lot, analyte, unit, basis, level, u, low, high, outside, parts, notes, program, note, taken_at, person_id, withdrawn, kept_at, kept_by, kept_from"
	const columns = lasting + ", supersedes, root, why"
	for _, statement := range []string{"update result set level = 3", "delete from result",
		"insert into result (id, key, curve_version_id, " + columns + ") select 99, 'a-key-of-16-bytes', null, " + columns + " from result where id = 1",
		"insert into result (id, key, curve_version_id, supersedes, root, why, " + lasting + ") select 99, 'a-key-of-16-bytes', 2, 1, 1, 'x', " + lasting + " from result where id = 1"} {
		if _, err := benchtest.SQL(t, s.Path).Exec(statement); err == nil || !sqlite.IsRule(err) {
			t.Errorf("%.60s: %v", statement, err)
		}
	}
}

// TestReExpress: what another version says stands beside the old value, which
// stays as it was kept.
func TestReExpress(t *testing.T) {
	s := benchtest.New(t)
	last := s.Curved()
	r := s.Resulted()[0]
	moved := last.Spec
	moved.Points = append([]calibrations.CurvePoint(nil), moved.Points...)
	for i := range moved.Points {
		moved.Points[i].Signal *= 1.1
	}
	next := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, last.ID, moved, "a new lamp"))(t)
	benchtest.Must(s.AdoptCurve(ctx, benchtest.Owner, next.VersionID, "a new lamp"))(t)
	now := benchtest.Must(calibrations.ReExpress(r, next, benchtest.Must(next.Spec.Fit())(t)))(t)
	if ratio := now.Level / r.Outcome.Level; !(ratio > 0.89 && ratio < 0.92) {
		t.Errorf("a tenth more signal reads %g for %g", now.Level, r.Outcome.Level)
	}
	if there := benchtest.Must(s.ResultStory(ctx, benchtest.Owner, r.ID))(t)[0]; !reflect.DeepEqual(there, r) {
		t.Errorf("the old value changed:\n%+v\n%+v", r, there)
	}
	other := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, 0, benchtest.CurveSpec(), ""))(t)
	_, err := calibrations.ReExpress(r, other, benchtest.Must(other.Spec.Fit())(t))
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	kg := next
	kg.Spec.Scale.Unit = "mg/kg"
	_, err = calibrations.ReExpress(r, kg, benchtest.Must(kg.Spec.Fit())(t))
	benchtest.WantRefusal(t, err, knownwater.WrongState)
}

// TestResultsArePaged: newest first, each once; a reader sees their own.
func TestResultsArePaged(t *testing.T) {
	s := benchtest.New(t)
	s.Curved()
	for i := range 7 {
		benchtest.Must(s.KeepResult(ctx, []knownwater.Who{s.Ines, s.Tomo}[i%2], benchtest.Read5(1)))(t)
	}
	var seen []int64
	for f := (calibrations.ResultFilter{Curve: 1, Limit: 3}); ; {
		list, more, err := s.Results(ctx, benchtest.Owner, f)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			seen = append(seen, r.ID)
		}
		if !more {
			break
		}
		f.Before = list[len(list)-1].ID
	}
	if !reflect.DeepEqual(seen, []int64{7, 6, 5, 4, 3, 2, 1}) {
		t.Errorf("paged: %v", seen)
	}
	if list, _, err := s.Results(ctx, s.Tomo, calibrations.ResultFilter{Curve: 1}); err != nil || len(list) != 3 {
		t.Errorf("Tomo sees %d, %v", len(list), err)
	}
	if list, _, err := s.Results(ctx, knownwater.Who{Role: knownwater.Reader}, calibrations.ResultFilter{Curve: 1}); err != nil || len(list) != 0 {
		t.Errorf("nobody sees %d, %v", len(list), err)
	}
}

// TestKillResults kills a process that keeps results: none that was acknowledged is lost or
// there twice.
func TestKillResults(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_RESULTS"); path != "" {
		keepResultsUntilKilled(path)
		return
	}
	s := benchtest.New(t)
	s.Curved()
	s.Close()
	acknowledged := map[string]bool{}
	rng := rand.New(rand.NewPCG(2, 6))
	for i := range 6 {
		benchtest.KillOnce(t, "KNOWNWATER_KILL_RESULTS="+s.Path, acknowledged, 1+i, rng)
	}
	if err := sqlite.Verify(ctx, s.Path); err != nil {
		t.Error(err)
	}
	s.Open()
	list, _, err := s.Results(ctx, benchtest.Owner, calibrations.ResultFilter{Curve: 1, Limit: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]int{}
	for _, r := range list {
		there[r.Key]++
	}
	for key := range acknowledged {
		if there[key] != 1 {
			t.Errorf("%s is there %d times", key, there[key])
		}
	}
	if len(acknowledged) < 6 {
		t.Errorf("only %d results were acknowledged", len(acknowledged))
	}
	t.Logf("%d acknowledged, %d in the file", len(acknowledged), len(list))
}

// keepResultsUntilKilled sends the last one again first, as a browser would.
func keepResultsUntilKilled(path string) {
	b, err := bench.Open(path, bench.Options{})
	if err == nil {
		list, _, _ := b.Results(ctx, benchtest.Owner, calibrations.ResultFilter{Curve: 1, Limit: 1 << 20})
		for i := max(0, len(list)-1); err == nil; i++ {
			n := benchtest.Read5(1)
			n.Key = fmt.Sprintf("kill-test-%012d", i)
			if _, err = b.KeepResult(ctx, benchtest.Owner, n); err == nil {
				fmt.Println(n.Key)
			}
		}
	}
	fmt.Println(err)
	os.Exit(1)
}
