package trials_test

import (
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
)

// A trial that was brought in wrongly is renamed, put away, taken out; each is gone back on,
// and all of it stands in its history.
func TestTrialsArePlaced(t *testing.T) {
	s := benchtest.New(t)
	made := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: benchtest.Dataset(t), Title: "wrong file", Source: "x.csv"}))(t)
	id := made.ID
	titles := func() (here, away string) {
		t.Helper()
		name := func(list []trials.Trial) string {
			var out []string
			for _, r := range list {
				out = append(out, r.Plan.Title+" "+string(r.Place))
			}
			return strings.Join(out, ", ")
		}
		return name(benchtest.Must(s.Trials(ctx))(t)), name(benchtest.Must(s.TrialsAway(ctx, benchtest.Owner))(t))
	}
	want := func(here, away string) {
		t.Helper()
		if h, a := titles(); h != here || a != away {
			t.Errorf("here stands %q, away %q, want %q and %q", h, a, here, away)
		}
	}
	to := func(title string, p trials.Place, why string) error {
		return s.PlaceTrial(ctx, benchtest.Owner, id, trials.Placing{Title: title, Place: p, Why: why})
	}
	want("wrong file here", "")
	benchtest.WantFault(t, to("right file", trials.Here, " "), "why")
	benchtest.WantFault(t, to("", trials.Here, "x"), "title")
	benchtest.WantFault(t, to("wrong file", trials.Here, "x"), "title")
	if err := s.PlaceTrial(ctx, s.Ines, id, trials.Placing{Title: "mine", Place: trials.Here, Why: "x"}); err == nil {
		t.Error("a reader renamed a trial")
	}
	benchtest.WantRefusal(t, s.UndoPlace(ctx, benchtest.Owner, id), knownwater.WrongState)
	for _, step := range []struct {
		do         error
		here, away string
	}{
		{to("right file", trials.Here, "misread its name"), "right file here", ""},
		{to("right file", trials.Archived, "last year's"), "", "right file archived"},
		{s.UndoPlace(ctx, benchtest.Owner, id), "right file here", ""},
		{to("right file", trials.Removed, "it was the neighbour's"), "", "right file removed"},
	} {
		if step.do != nil {
			t.Fatal(step.do)
		}
	}
	want("", "right file removed")
	// what was computed from it still is; new records are not made of it
	if f := benchtest.Must(s.Findings(ctx, benchtest.Owner, id, trials.FindingsOptions{}))(t); len(f.Findings.Methods) == 0 {
		t.Error("its findings are gone")
	}
	r := benchtest.Must(s.Trial(ctx, benchtest.Owner, id))(t)
	if r.State != trials.Finished {
		benchtest.Must(s.Finish(ctx, benchtest.Owner, id))(t)
	}
	_, err := s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: id, Version: r.Plan.Methods[0].VersionID, Program: "test"})
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	if err := s.UndoPlace(ctx, benchtest.Owner, id); err != nil {
		t.Fatal(err)
	}
	want("right file here", "")
	if r := benchtest.Must(s.Trial(ctx, benchtest.Owner, id))(t); r.Planned != "wrong file" || !strings.Contains(r.Placed, "neighbour") {
		t.Errorf("it was brought in as %q, and stands here because %q", r.Planned, r.Placed)
	}
	var done []string
	for _, e := range benchtest.Must(s.History(ctx, id))(t) {
		done = append(done, e.What+": "+e.Why)
	}
	story := strings.Join(done, "\n")
	for _, part := range []string{"renamed, from “wrong file” to “right file”: misread its name", "put away: last year's", "brought back into the lists: undone: last year's", "taken out: it was the neighbour's"} {
		if !strings.Contains(story, part) {
			t.Errorf("the history does not say %q:\n%s", part, story)
		}
	}
}
