package bench

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/sqlite"
)

// read5 are the signals of a water of 5 mg/L on the curve of these tests.
func read5(version int64) NewResult {
	return NewResult{Key: newKey(), Version: version, Water: "north tank", Signals: "0.3345 0,3349", Program: "test 1"}
}

// resulted keeps results through the first version of a curve: one that stands,
// one that was corrected, one that was withdrawn and one above the range.
func (s *shed) resulted() []Result {
	s.t.Helper()
	curves := must(s.Curves(ctx))(s.t)
	versions := must(s.CurveVersions(ctx, curves[0].ID))(s.t)
	inUse := versions[len(versions)-1].VersionID
	var out []Result
	for i, who := range []knownwater.Who{s.ines, s.ines, s.tomo, owner} {
		n := read5(inUse)
		n.Note = fmt.Sprintf("no. %d; \"quoted\",\nünïcödé", i)
		if i == 3 {
			n.Signals, n.OwnColour, n.Clear, n.Dilution, n.UDilution, n.ULot = "2.5", "0.011 0.012", "0.001", 8, 0.004, 0.02
		}
		out = append(out, must(s.KeepResult(ctx, who, n))(s.t))
	}
	n := read5(inUse)
	n.Signals = "0.2"
	out = append(out, must(s.CorrectResult(ctx, s.ines, out[1].ID, n, "digits swapped"))(s.t))
	return append(out, must(s.WithdrawResult(ctx, s.tomo, out[2].ID, newKey(), "the wrong vial"))(s.t))
}

func TestKeepResult(t *testing.T) {
	s := newShed(t)
	last := s.curved()
	versions := must(s.CurveVersions(ctx, last.ID))(t)
	first := versions[2]
	n := read5(first.VersionID)
	n.Note = "after feeding"
	r := must(s.KeepResult(ctx, s.ines, n))(t)
	d := must(first.Spec.Fit())(t)
	want, _ := d.Read(r.Sample)
	want.Notes = append([]string{}, want.Notes...) // none or an empty list: the same
	if !reflect.DeepEqual(r.Outcome, want) || math.Abs(want.Level-5) > 0.05 || !(want.Low < 5 && 5 < want.High) || len(want.Parts) == 0 {
		t.Errorf("kept %+v, the curve says %+v", r.Outcome, want)
	}
	if r.Version != 1 || r.VersionID != first.VersionID || r.Curve != last.ID || r.Text != "0.3345 0,3349" || r.Sample.Dilution != 1 || r.Water != "north tank" ||
		r.Scale != nitrate || r.Kept.Name != "Ines" || r.Person != s.ines.Person || r.Program != "test 1" || !r.Stands() || r.TakenAt.IsZero() {
		t.Errorf("kept %+v", r)
	}
	if again := must(s.KeepResult(ctx, s.ines, n))(t); again.ID != r.ID {
		t.Error("sent twice, kept twice")
	}
	other := n
	other.Signals = "0.4"
	_, err := s.KeepResult(ctx, s.ines, other)
	wantRefusal(t, err, knownwater.AlreadyRead)

	_, err = s.KeepResult(ctx, s.ines, read5(last.VersionID))
	wantRefusal(t, err, knownwater.WrongState) // not in use
	_, err = s.KeepResult(ctx, knownwater.Who{Role: knownwater.Reader, Device: "phone"}, read5(first.VersionID))
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.KeepResult(ctx, owner, read5(99))
	wantRefusal(t, err, knownwater.NotFound)
	n = read5(first.VersionID)
	n.TakenAt = time.Date(2027, 1, 2, 12, 0, 0, 0, time.UTC)
	_, err = s.KeepResult(ctx, owner, n)
	wantFault(t, err, "taken_at")
	for s.clock.t.Before(n.TakenAt) {
		s.clock.t = s.clock.t.AddDate(0, 1, 0)
	}
	if r := must(s.KeepResult(ctx, owner, n))(t); !strings.Contains(strings.Join(r.Outcome.Notes, " "), "after the last day of the curve, 2026-12-31") {
		t.Errorf("past the curve's last day: %v", r.Outcome.Notes)
	}
	if err := s.RetireCurve(ctx, owner, last.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.KeepResult(ctx, owner, read5(first.VersionID))
	wantRefusal(t, err, knownwater.WrongState)
}

func TestBadResults(t *testing.T) {
	s := newShed(t)
	s.curved()
	for name, c := range map[string]struct {
		column string
		spoil  func(*NewResult)
	}{
		"no water":         {"water", func(n *NewResult) { n.Water = " \n" }},
		"long water":       {"water", func(n *NewResult) { n.Water = strings.Repeat("w", 300) }},
		"no signal":        {"signals", func(n *NewResult) { n.Signals = "" }},
		"a word":           {"signals", func(n *NewResult) { n.Signals = "0.3 much" }},
		"not a number":     {"signals", func(n *NewResult) { n.Signals = "NaN" }},
		"too many":         {"signals", func(n *NewResult) { n.Signals = strings.Repeat("1 ", 101) }},
		"dilution":         {"dilution", func(n *NewResult) { n.Dilution = -2 }},
		"no dilution":      {"dilution", func(n *NewResult) { n.Dilution = math.NaN() }},
		"dilution u":       {"u_dilution", func(n *NewResult) { n.UDilution = 1 }},
		"lot u":            {"u_lot", func(n *NewResult) { n.ULot = -0.1 }},
		"a time to come":   {"taken_at", func(n *NewResult) { n.TakenAt = s.clock.now().Add(time.Hour) }},
		"no key":           {"key", func(n *NewResult) { n.Key = "short" }},
		"a very long note": {"note", func(n *NewResult) { n.Note = strings.Repeat("n", 5000) }},
	} {
		n := read5(1)
		c.spoil(&n)
		_, err := s.KeepResult(ctx, owner, n)
		if err == nil {
			t.Errorf("%s was kept", name)
			continue
		}
		wantFault(t, err, c.column)
	}
	list, _, err := s.Results(ctx, owner, ResultFilter{Curve: 1})
	if err != nil || len(list) != 0 {
		t.Errorf("%d results, %v", len(list), err)
	}
}

func TestCorrectResults(t *testing.T) {
	s := newShed(t)
	last := s.curved()
	rs := s.resulted()
	old, withdrawn, above, corrected := rs[1], rs[2], rs[3], rs[4]
	if above.Outcome.Outside != "above" || !math.IsNaN(above.Outcome.Level) || !(above.Outcome.Low > 90) || above.Sample.Dilution != 8 {
		t.Errorf("a signal far above: %+v", above)
	}
	story := must(s.ResultStory(ctx, s.ines, corrected.ID))(t)
	if len(story) != 2 || story[0].ID != old.ID || story[0].SupersededBy != corrected.ID || story[0].Because != "digits swapped" || story[0].Stands() ||
		!reflect.DeepEqual(story[0].Outcome, old.Outcome) || story[1].Outcome.Level >= old.Outcome.Level || !story[1].Stands() {
		t.Errorf("story %+v", story)
	}
	if !story[1].TakenAt.Equal(old.TakenAt) {
		t.Error("a correction changed when the water was tested")
	}
	if counts := must(s.ResultCounts(ctx, last.ID))(t); !reflect.DeepEqual(counts, map[int64]int{old.VersionID: 3}) {
		t.Errorf("counts %v", counts)
	}
	// another version in use: old results keep theirs, and are corrected with it
	must(s.AdoptCurve(ctx, owner, last.VersionID, "better"))(t)
	again := must(s.CorrectResult(ctx, owner, corrected.ID, read5(last.VersionID), "was right at first"))(t)
	if again.VersionID != old.VersionID || !reflect.DeepEqual(again.Outcome, old.Outcome) {
		t.Errorf("corrected with version %d: %+v", again.Version, again.Outcome)
	}
	_, err := s.CorrectResult(ctx, s.ines, corrected.ID, read5(0), "late")
	wantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.CorrectResult(ctx, s.tomo, withdrawn.ID, read5(0), "late")
	wantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.WithdrawResult(ctx, s.tomo, rs[5].ID, newKey(), "twice")
	wantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.CorrectResult(ctx, s.tomo, rs[0].ID, read5(0), "not mine")
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.ResultStory(ctx, s.tomo, rs[0].ID)
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.ResultStory(ctx, owner, 99)
	wantRefusal(t, err, knownwater.NotFound)
	bad := read5(0)
	bad.Water = ""
	_, err = s.CorrectResult(ctx, owner, rs[0].ID, bad, " ")
	wantFault(t, err, "why")
	wantFault(t, err, "water")
	_, err = s.WithdrawResult(ctx, owner, rs[0].ID, newKey(), "")
	wantFault(t, err, "why")
	for _, statement := range []string{"update result set level = 3", "delete from result",
		"insert into result select 99, 'a-key-of-16-bytes', digest, null, water, text, signals, own_colour, clear, dilution, u_dilution, u_lot, analyte, unit, basis, level, u, low, high, outside, parts, notes, program, note, taken_at, person_id, withdrawn, supersedes, root, why, kept_at, kept_by, kept_from from result where id = 1",
		"insert into result select 99, 'a-key-of-16-bytes', digest, 2, water, text, signals, own_colour, clear, dilution, u_dilution, u_lot, analyte, unit, basis, level, u, low, high, outside, parts, notes, program, note, taken_at, person_id, withdrawn, 1, 1, 'x', kept_at, kept_by, kept_from from result where id = 1"} {
		if _, err := raw(t, s.path).Exec(statement); err == nil || !sqlite.IsRule(err) {
			t.Errorf("%.60s: %v", statement, err)
		}
	}
}

// TestReExpress: what another version says stands beside the old value, which
// stays as it was kept.
func TestReExpress(t *testing.T) {
	s := newShed(t)
	last := s.curved()
	r := s.resulted()[0]
	moved := last.Spec
	moved.Points = append([]CurvePoint(nil), moved.Points...)
	for i := range moved.Points {
		moved.Points[i].Signal *= 1.1
	}
	next := must(s.SaveCurve(ctx, owner, last.ID, moved, "a new lamp"))(t)
	must(s.AdoptCurve(ctx, owner, next.VersionID, "a new lamp"))(t)
	now := must(ReExpress(r, next, must(next.Spec.Fit())(t)))(t)
	if ratio := now.Level / r.Outcome.Level; !(ratio > 0.89 && ratio < 0.92) {
		t.Errorf("a tenth more signal reads %g for %g", now.Level, r.Outcome.Level)
	}
	if there := must(s.ResultStory(ctx, owner, r.ID))(t)[0]; !reflect.DeepEqual(there, r) {
		t.Errorf("the old value changed:\n%+v\n%+v", r, there)
	}
	other := must(s.SaveCurve(ctx, owner, 0, curveSpec(), ""))(t)
	_, err := ReExpress(r, other, must(other.Spec.Fit())(t))
	wantRefusal(t, err, knownwater.WrongState)
	kg := next
	kg.Spec.Scale.Unit = "mg/kg"
	_, err = ReExpress(r, kg, must(kg.Spec.Fit())(t))
	wantRefusal(t, err, knownwater.WrongState)
}

// TestResultsArePaged: newest first, each once; a reader sees their own.
func TestResultsArePaged(t *testing.T) {
	s := newShed(t)
	s.curved()
	for i := range 7 {
		must(s.KeepResult(ctx, []knownwater.Who{s.ines, s.tomo}[i%2], read5(1)))(t)
	}
	var seen []int64
	for f := (ResultFilter{Curve: 1, Limit: 3}); ; {
		list, more, err := s.Results(ctx, owner, f)
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
	if list, _, err := s.Results(ctx, s.tomo, ResultFilter{Curve: 1}); err != nil || len(list) != 3 {
		t.Errorf("Tomo sees %d, %v", len(list), err)
	}
	if list, _, err := s.Results(ctx, knownwater.Who{Role: knownwater.Reader}, ResultFilter{Curve: 1}); err != nil || len(list) != 0 {
		t.Errorf("nobody sees %d, %v", len(list), err)
	}
}

// TestKillResults is TestKill for results: none that was acknowledged is lost or
// there twice.
func TestKillResults(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_RESULTS"); path != "" {
		keepResultsUntilKilled(path)
		return
	}
	s := newShed(t)
	s.curved()
	s.Close()
	acknowledged := map[string]bool{}
	for i := range 6 {
		killOnce(t, "KNOWNWATER_KILL_RESULTS="+s.path, acknowledged, time.Duration(20+17*i)*time.Millisecond)
	}
	if err := sqlite.Verify(ctx, s.path); err != nil {
		t.Error(err)
	}
	s.open()
	list, _, err := s.Results(ctx, owner, ResultFilter{Curve: 1, Limit: 1 << 20})
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
	b, err := Open(path, Options{})
	if err == nil {
		list, _, _ := b.Results(ctx, owner, ResultFilter{Curve: 1, Limit: 1 << 20})
		for i := max(0, len(list)-1); err == nil; i++ {
			n := read5(1)
			n.Key = fmt.Sprintf("kill-test-%012d", i)
			if _, err = b.KeepResult(ctx, owner, n); err == nil {
				fmt.Println(n.Key)
			}
		}
	}
	fmt.Println(err)
	os.Exit(1)
}
