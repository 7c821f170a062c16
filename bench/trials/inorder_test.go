package trials_test

import (
	"slices"
	"testing"
	"time"

	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
)

// A bench knows when each reading was taken, and says whose knowns were read in the order of their levels. A correction
// is as old as what it corrects; what was typed in after the key was opened says nothing of when it was read.
func TestReadInTheOrderOfLevels(t *testing.T) {
	s := benchtest.New(t)
	db := benchtest.SQL(t, s.Path)
	p := s.Plan()
	p.Methods, p.Readers = []trials.PlanMethod{{VersionID: s.Meter.VersionID}}, []int64{s.Ines.Person}
	p.Sessions, p.Replicates, p.Duplicates, p.Check, p.Seed = 1, 3, 0, "", 2
	read := func(vial int64, at time.Time) {
		benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: vial, Text: "3.4", ReadAt: at}))(t)
	}
	told := func(what string, trial int64, want ...string) {
		t.Helper()
		got := benchtest.Must(s.TrialData(ctx, benchtest.Owner, trial, trials.FindingsOptions{}))(t).InOrder
		if !slices.Equal(got, want) {
			t.Errorf("%s: told of %q", what, got)
		}
	}
	vials := func(trial int64, by string) (ids []int64) {
		rows, err := db.Query("select v.id from vial v join known k on k.id = v.known_id where v.trial_id = ? order by "+by, trial)
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			ids = append(ids, 0)
			if err := rows.Scan(&ids[len(ids)-1]); err != nil {
				t.Fatal(err)
			}
		}
		return ids
	}

	planned := s.Sealed(p)
	for _, v := range vials(planned.ID, "v.pos") {
		read(v, time.Time{})
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, planned.ID, ""))(t)
	told("in the plan's order", planned.ID)

	rising := s.Sealed(p)
	list := vials(rising.ID, "k.level")
	for i := len(list) - 1; i >= 0; i-- { // a phone may send them late
		read(list[i], time.Date(2026, 3, 1, 7, i, 0, 0, time.UTC))
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, rising.ID, ""))(t)
	told("level by level", rising.ID, "Pocket meter")
	for _, r := range benchtest.Must(s.Readings(ctx, benchtest.Owner, rising.ID, trials.ReadingFilter{}))(t) {
		if r.Level < 5 { // would be the last by the time of its correction
			benchtest.Must(s.CorrectReading(ctx, s.Ines, r.ID, trials.NewReading{Key: benchtest.NewKey(), Text: "3.3"}, "misread"))(t)
		}
	}
	told("level by level, the lower ones corrected later", rising.ID, "Pocket meter")

	typed := s.Sealed(p)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, typed.ID, "the sheets are typed in now"))(t)
	for _, v := range vials(typed.ID, "k.level") {
		read(v, time.Time{})
	}
	told("typed in by level when the key was open", typed.ID)
}
