package bench_test

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/bench/waters"
	"knownwater/intake"
	"knownwater/internal/benchtest"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// withNitrite is a table of a meter that reads what it should, and 7 mg/L more for 1 mg/L of nitrite.
const withNitrite = `method,level,u_level,reading,nitrite,u_nitrite,vial
Reed,0,0.01,0.1,,,a
Reed,0,0.01,0.0,,,b
Reed,2,0.01,2.1,,,c
Reed,2,0.01,1.9,,,d
Reed,5,0.02,5.1,,,e
Reed,5,0.02,4.9,,,f
Reed,8,0.02,8.1,,,g
Reed,8,0.02,7.9,,,h
Reed,10,0.02,10.2,,,i
Reed,10,0.02,9.8,,,j
Reed,2,0.01,3.4,0.2,0.002,k
Reed,2,0.01,3.3,0.2,0.002,l
Reed,2,0.01,4.9,0.4,0.004,m
Reed,2,0.01,4.7,0.4,0.004,n
`

func codes(notes []note.Note) (out []string) {
	for _, n := range notes {
		out = append(out, n.Code)
	}
	return out
}

// TestNitriteOnTheBench: a table with knowns that hold nitrite comes in and goes out whole, its record takes the nitrite
// of a water off what is kept, corrected and looked at again, in logs from before and on another bench, too.
func TestNitriteOnTheBench(t *testing.T) {
	s := benchtest.New(t)
	methods := intake.Source{Name: "methods.toml", Data: []byte("analyte = \"nitrate\"\nunit = \"mg/L\"\nbasis = \"NO3\"\n[[method]]\nname = \"Reed\"\nkind = \"display\"\nresolution = 0.1\n")}
	typed := benchtest.Must(intake.Trial(intake.Source{Name: "reed.csv", Data: []byte(withNitrite)}, methods, intake.Source{}))(t)
	if len(typed.Nitrite) != 4 {
		t.Fatalf("%d readings with nitrite", len(typed.Nitrite))
	}
	in := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Title: "Reed", Data: typed}))(t)
	found := benchtest.Must(s.Findings(ctx, benchtest.Owner, in.ID, trials.FindingsOptions{Version: "test"}))(t)
	direct := assess.Run(typed, assess.Options{Seed: found.Findings.Seed, Version: "test"})
	said := func(list []assess.NitriteFinding) string {
		return fmt.Sprintf("%.9g %.9g %.9g %d", list[0].Factor, list[0].Low, list[0].High, list[0].N)
	}
	if len(found.Findings.Nitrite) != 1 || said(found.Findings.Nitrite) != said(direct.Nitrite) || math.Abs(float64(direct.Nitrite[0].Factor)-7) > 0.5 {
		t.Errorf("the bench finds %v, the command line %v", found.Findings.Nitrite, direct.Nitrite)
	}
	if a, b := found.Findings.Methods[0].N, direct.Methods[0].N; a != b || a != 10 {
		t.Errorf("%d and %d readings judge levels, want 10", a, b)
	}

	var out bytes.Buffer
	if err := intake.WriteReadings(&out, found.Data); err != nil {
		t.Fatal(err)
	}
	again := benchtest.Must(intake.Trial(intake.Source{Name: "out.csv", Data: out.Bytes()}, methods, intake.Source{}))(t)
	if len(again.Nitrite) != 4 || again.Nitrite[3].Nitrite != 0.4 || again.Nitrite[3].UNitrite != 0.004 || again.Nitrite[3].Level != 2 || len(again.Observations) != len(typed.Observations) {
		t.Errorf("written and read again: %+v\n%s", again.Nitrite, out.String())
	}

	version := benchtest.Must(s.Trial(ctx, benchtest.Owner, in.ID))(t).Plan.Methods[0].VersionID
	rec := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: in.ID, Version: version, Program: "test"}))(t)
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "Marram", Kind: knownwater.Tank}, ""))(t)
	keep := func(day int, nitrite *float64, u float64) (calibrations.Result, error) {
		return s.KeepResult(ctx, s.Ines, calibrations.NewResult{Key: benchtest.NewKey(), Record: rec.VersionID, Water: "Marram", Signals: "6.0", Nitrite: nitrite, UNitrite: u,
			TakenAt: s.Clock.T.AddDate(0, 0, day-40), Program: "test", Of: &knownwater.Sample{Water: w.ID, Role: knownwater.Routine}})
	}
	held := 0.3
	plain, less := benchtest.Must(keep(0, nil, 0))(t), benchtest.Must(keep(7, &held, 0.05))(t)
	// nitrite that is known to 0.05 adds 0.35, seven times that, and what the factor is in doubt by
	added := math.Sqrt(less.Outcome.U*less.Outcome.U - plain.Outcome.U*plain.Outcome.U)
	if math.Abs(plain.Outcome.Level-6) > 0.2 || math.Abs(less.Outcome.Level-3.9) > 0.3 || !(added > 0.35 && added < 0.5) {
		t.Errorf("%.2f ± %.2f without, %.2f ± %.2f with nitrite", plain.Outcome.Level, plain.Outcome.U, less.Outcome.Level, less.Outcome.U)
	}
	if !slices.Contains(codes(plain.Notes), "nitrite-not-stated") || !slices.Contains(codes(less.Notes), "nitrite-taken-off") {
		t.Errorf("notes %v, %v", codes(plain.Notes), codes(less.Notes))
	}
	for _, bad := range []float64{-0.1, math.NaN(), math.Inf(1), 1e7} {
		if _, err := keep(9, &bad, 0); err == nil || !strings.Contains(err.Error(), "mg/L NO2") {
			t.Errorf("nitrite %g: %v", bad, err)
		}
	}
	if _, err := keep(9, nil, 0.1); err == nil {
		t.Error("a doubt of no nitrite was kept")
	}

	n := calibrations.NewResult{Key: benchtest.NewKey(), Water: "Marram", Signals: "6.0", Nitrite: &held, Program: "test"}
	right := benchtest.Must(s.CorrectResult(ctx, s.Ines, plain.ID, n, "nitrite was measured, too"))(t)
	if right.Nitrite == nil || *right.Nitrite != held || math.Abs(right.Outcome.Level-less.Outcome.Level) > 0.05 || !(right.Outcome.U < less.Outcome.U) {
		t.Errorf("corrected: %v, %.2f ± %.2f", right.Nitrite, right.Outcome.Level, right.Outcome.U)
	}
	back := benchtest.Must(s.WithdrawResult(ctx, s.Ines, right.ID, benchtest.NewKey(), "the other tank"))(t)
	if back.Nitrite == nil || *back.Nitrite != held {
		t.Errorf("taken back without its nitrite: %v", back.Nitrite)
	}

	log := []waters.EarlierRow{}
	for i, v := range []float64{0, 0.3} {
		e := history.Entry{Row: i + 2, At: time.Date(2024, 3, 1+7*i, 9, 0, 0, 0, time.UTC), Water: "Marram", Method: "Reed", Reading: "6.0", Dilution: 1}
		if e.NitriteKnown = v > 0; e.NitriteKnown {
			e.Nitrite, e.UNitrite = v, 0.02
		}
		log = append(log, waters.EarlierRow{Water: w.ID, Method: rec.Method, Entry: e})
	}
	benchtest.Must(s.KeepEarlierLog(ctx, benchtest.Owner, waters.EarlierLog{Name: "old.csv", Digest: "d"}, log))(t)
	says := func(b *bench.Bench) string {
		l := benchtest.Must(b.LogOfWater(ctx, benchtest.Must(b.Water(ctx, w.ID))(t), unit.Scale{}))(t)
		h := benchtest.Must(b.WaterHistory(ctx, l))(t)
		var out []string
		for _, r := range h.Results {
			out = append(out, fmt.Sprintf("%v %.1f", r.NitriteKnown, r.Outcome.Result.Estimate))
		}
		return fmt.Sprint(out, slices.Contains(codes(h.Notes), "nitrite-not-stated-of"))
	}
	if got := says(s.Bench); got != "[false 6.0 true 3.9 true 3.9] true" {
		t.Errorf("its history: %s", got)
	}

	path := filepath.Join(t.TempDir(), "other.db")
	if err := benchtest.ImportAt(benchtest.Export(t, s.Bench), path); err != nil {
		t.Fatal(err)
	}
	other := benchtest.Must(bench.Open(path, bench.Options{}))(t)
	defer other.Close()
	if got := says(other); got != says(s.Bench) {
		t.Errorf("on another bench: %s", got)
	}
}
