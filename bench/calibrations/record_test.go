package calibrations_test

import (
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/science/assess"
	"knownwater/science/result"
)

// TestRecordIsAdopted: a trial's record becomes the calibration of its method; it says
// what the trial's own record says, and is kept with what it is computed from.
func TestRecordIsAdopted(t *testing.T) {
	s := benchtest.New(t)
	r := s.Measured()
	n := calibrations.NewRecord{Trial: r.ID, Version: s.Meter.VersionID, Program: "test 1"}
	_, err := s.AdoptRecord(ctx, s.Ines, n)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	rec := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, n))(t)
	if rec.Version != 1 || !rec.InUse || rec.Method != s.Meter.ID || rec.Spec.Matrix != "salt mix" || rec.Spec.Readings != r.Progress.Taken || rec.Spec.Seed != 11 || len(rec.Spec.Inputs) != 64 {
		t.Errorf("adopted: %+v", rec)
	}
	if again := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, n))(t); !reflect.DeepEqual(again, rec) {
		t.Errorf("the same again is %+v", again)
	}
	list := benchtest.Must(s.Calibrations(ctx))(t)
	if len(list) != 1 || list[0].Kind != knownwater.ByRecord || list[0].Version != rec.VersionID || list[0].Method != s.Meter.ID || list[0].Scale != benchtest.Nitrate {
		t.Errorf("calibrations: %+v", list)
	}
	got := benchtest.Must(s.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, "5.2 5.3")))(t)
	d := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	p := benchtest.Must(assess.PerformanceOf(d, "Pocket meter", "salt mix", assess.Options{Seed: 11, Version: "test 1"}))(t)
	want := benchtest.Must(p.Read(result.Question{Readings: []string{"5.2", "5.3"}, Reader: "Ines", Dilution: 1}))(t)
	o := got.Outcome
	if o.Level != want.Result.Estimate || o.Low != want.Result.Low || o.High != want.Result.High || o.U != want.Result.U || o.N != 2 || len(got.Notes) != len(want.Notes) {
		t.Errorf("kept %+v, the trial's record says %+v", o, want.Result)
	}
	// 5.25 was shown where the meter shows a tenth too much and 0.2: near 4.6
	if !(math.Abs(o.Level-4.6) < 0.2 && o.Low < 4.6 && o.High > 4.6) {
		t.Errorf("5.2 and 5.3 mean %g, %g to %g", o.Level, o.Low, o.High)
	}
	if got.Record != rec.ID || got.Curve != 0 || got.VersionID != rec.VersionID || got.By != "Pocket meter" || got.Reader != "Ines" || got.Text != "5.2 5.3" || got.Scale != benchtest.Nitrate {
		t.Errorf("kept: %+v", got)
	}
	high := benchtest.Must(s.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, ">20")))(t)
	if high.Outcome.Open != "above" || !math.IsNaN(high.Outcome.High) || !(high.Outcome.Low > 10) {
		t.Errorf("beyond all that was tried: %+v", high.Outcome)
	}
	for readings, column := range map[string]string{"": "readings", "many": "readings", "7d": "readings"} {
		_, err := s.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, readings))
		benchtest.WantFault(t, err, column)
	}
}

// TestRecordsOutliveTheirTrials: readings that are left out later, and people who are
// called otherwise, change nothing of a version that was adopted; the trial as it is
// then makes the next version.
func TestRecordsOutliveTheirTrials(t *testing.T) {
	s := benchtest.New(t)
	rec, kept := s.Recorded()
	list := benchtest.Must(s.Readings(ctx, benchtest.Owner, rec.Spec.Trial, trials.ReadingFilter{Limit: 1000}))(t)
	for _, x := range list[:6] {
		if err := s.Exclude(ctx, benchtest.Owner, x.ID, true, "a bubble"); err != nil {
			t.Fatal(err)
		}
	}
	person := benchtest.Must(s.Person(ctx, s.Tomo.Person))(t)
	person.Name = "Thomas"
	benchtest.Must(s.SavePerson(ctx, benchtest.Owner, person))(t)
	s.Close()
	s.Open() // so that nothing is remembered
	again := benchtest.Must(s.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, "5.2 5.3")))(t)
	if !reflect.DeepEqual(again.Outcome, kept[0].Outcome) {
		t.Errorf("the adopted version says %+v, said %+v", again.Outcome, kept[0].Outcome)
	}
	n := calibrations.NewRecord{Trial: rec.Spec.Trial, Version: s.Meter.VersionID, Program: "test 2"}
	_, err := s.AdoptRecord(ctx, benchtest.Owner, n)
	benchtest.WantFault(t, err, "why")
	if versions := benchtest.Must(s.RecordVersions(ctx, rec.ID))(t); len(versions) != 1 {
		t.Errorf("a refused adoption left %d versions", len(versions))
	}
	n.Why = "six had bubbles"
	next := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, n))(t)
	if next.ID != rec.ID || next.Version != 2 || !next.InUse || next.Spec.Readings != rec.Spec.Readings-6 || next.Spec.Inputs == rec.Spec.Inputs {
		t.Errorf("next: %+v", next)
	}
	_, err = s.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, "5.2"))
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	beside := benchtest.Must(s.Say(ctx, next, calibrations.NewResult{Signals: kept[0].Text, Reader: kept[0].Reader}, nil))(t)
	if beside.Result.Estimate == kept[0].Outcome.Level || !(math.Abs(beside.Result.Estimate-kept[0].Outcome.Level) <= 0.5) {
		t.Errorf("beside %g the newer version says %g", kept[0].Outcome.Level, beside.Result.Estimate)
	}
	back := benchtest.Must(s.AdoptRecordVersion(ctx, benchtest.Owner, rec.VersionID, "they were none"))(t)
	if !back.InUse || len(benchtest.Must(s.Calibrations(ctx))(t)) != 1 {
		t.Errorf("back: %+v", back)
	}
	if err := s.RetireRecord(ctx, benchtest.Owner, rec.ID, true); err != nil {
		t.Fatal(err)
	}
	if left := benchtest.Must(s.Calibrations(ctx))(t); len(left) != 0 {
		t.Errorf("put away and still in use: %+v", left)
	}
}

// TestResultsOfRecordsAreAppendOnly: corrected and withdrawn as those of curves.
func TestResultsOfRecordsAreAppendOnly(t *testing.T) {
	s := benchtest.New(t)
	rec, kept := s.Recorded()
	story := benchtest.Must(s.ResultStory(ctx, s.Ines, kept[1].ID))(t)
	if len(story) != 2 || story[0].Stands() || !story[1].Stands() || story[0].Because != "digits swapped" || story[1].Record != rec.ID {
		t.Errorf("corrected: %+v", story)
	}
	if story = benchtest.Must(s.ResultStory(ctx, s.Ines, kept[2].ID))(t); len(story) != 2 || !story[1].Withdrawn || !reflect.DeepEqual(story[1].Notes, story[0].Notes) {
		t.Errorf("withdrawn: %+v", story)
	}
	list, more, err := s.Results(ctx, benchtest.Owner, calibrations.ResultFilter{Record: rec.ID})
	if err != nil || more || len(list) != 5 {
		t.Errorf("%d results, %t, %v", len(list), more, err)
	}
	all, _, err := s.Results(ctx, benchtest.Owner, calibrations.ResultFilter{})
	if err != nil || len(all) != 5 {
		t.Errorf("%d results of all, %v", len(all), err)
	}
	n := benchtest.ReadBy(rec, "5.2")
	first := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	if again := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t); again.ID != first.ID {
		t.Error("sent twice, kept twice")
	}
	n.Signals = "5.3"
	_, err = s.KeepResult(ctx, s.Ines, n)
	benchtest.WantRefusal(t, err, knownwater.AlreadyRead)
	_, err = s.CorrectResult(ctx, s.Tomo, first.ID, benchtest.ReadBy(rec, "5.4"), "not mine")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	for _, q := range []string{"delete from record", "update record_version set spec = '{}'", "delete from record_version", "update record_adoption set why = 'x'", "delete from record_adoption",
		"update record set method_id = 1", "insert into record_version select 99, record_id, 99, name, '{\"trial\": 99}', why, made_at, made_by, made_from from record_version",
		"insert into result (id, key, curve_version_id) values (99, 'x', null)"} {
		if err := benchtest.Exec(t, s.Path, q); err == nil {
			t.Errorf("went through: %s", q)
		}
	}
}

// TestWhatHasNoRecord: a trial that shows nothing, one that goes on, another method.
func TestWhatHasNoRecord(t *testing.T) {
	s := benchtest.New(t)
	going := s.Sealed(s.Plan())
	_, err := s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: going.ID, Version: s.Meter.VersionID})
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	s.ReadAll(going.ID, s.Ines, s.Tomo) // the same text everywhere
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, going.ID, ""))(t)
	benchtest.Must(s.Finish(ctx, benchtest.Owner, going.ID))(t)
	_, err = s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: going.ID, Version: s.Meter.VersionID, Matrix: "salt mix"})
	benchtest.WantFault(t, err, "method")
	_, err = s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: s.Measured().ID, Version: s.Card.VersionID})
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	if list := benchtest.Must(s.Records(ctx))(t); len(list) != 0 {
		t.Errorf("records: %+v", list)
	}
}

// TestRecordRoundTrip: an exported record comes back and says the same.
func TestRecordRoundTrip(t *testing.T) {
	s := benchtest.New(t)
	rec, kept := s.Recorded()
	path := filepath.Join(t.TempDir(), "in.db")
	if err := benchtest.ImportAt(benchtest.Export(t, s.Bench), path); err != nil {
		t.Fatal(err)
	}
	b := benchtest.Must(bench.Open(path, bench.Options{}))(t)
	defer b.Close()
	if got := benchtest.Must(b.RecordVersion(ctx, rec.VersionID))(t); !reflect.DeepEqual(got, rec) {
		t.Errorf("was %+v\nis %+v", rec, got)
	}
	again := benchtest.Must(b.KeepResult(ctx, s.Ines, benchtest.ReadBy(rec, "5.2 5.3")))(t)
	if !reflect.DeepEqual(again.Outcome, kept[0].Outcome) {
		t.Errorf("says %+v, said %+v", again.Outcome, kept[0].Outcome)
	}
}

// TestRecordOfTamperedReadings: readings that another program changed past the rules
// make no results.
func TestRecordOfTamperedReadings(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	db := benchtest.SQL(t, s.Path)
	for _, q := range []string{"pragma writable_schema = 1", "drop trigger reading_stays", "update reading set text = '9.9' where id = (select min(id) from reading)"} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	p, err := s.Performance(ctx, calibrations.Record{Versioned: knownwater.Versioned[calibrations.RecordSpec]{VersionID: 1000, Spec: rec.Spec}}) // as one that is not remembered
	if err == nil || p != nil || !strings.Contains(err.Error(), "no longer those") {
		t.Errorf("%v, %v", p, err)
	}
}
