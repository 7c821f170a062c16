package bench

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/report"
	"knownwater/science/known"
	"knownwater/sqlite"
)

// TestSetOfTheHowTo: the shelf and the levels of docs/howto-standards.md, whose
// numbers come from the command line, give the same set on the bench.
func TestSetOfTheHowTo(t *testing.T) {
	s := newShed(t)
	s.shelved()
	set := must(s.NewSet(ctx, owner, s.wanted()))(t)
	want := []struct{ level, value, u, shared float64 }{
		{0, 0.259, 0.028, 0.025060267}, {0.6, 0.60132291, 0.028094521, 0.025770661}, {3, 3.0005056, 0.029222343, 0.029222343},
		{12, 11.996461, 0.045207536, 0.037442939}, {40, 39.96084, 0.12361737, 0.061689478},
	}
	if len(set.Values.Standards) != len(want) {
		t.Fatalf("%d standards", len(set.Values.Standards))
	}
	for i, st := range set.Values.Standards {
		w := want[i]
		for what, pair := range map[string][2]float64{"value": {st.Value.Value, w.value}, "u": {st.U, w.u}, "shared": {st.UShared, w.shared}} {
			if math.Abs(pair[0]-pair[1]) > 1e-7*pair[1] {
				t.Errorf("%s of level %g: %v, want %v", what, w.level, pair[0], pair[1])
			}
		}
		if st.Solution.Code == "" || strings.Contains(st.Solution.Code, ".") {
			t.Errorf("code %q", st.Solution.Code)
		}
	}
	if set.Spec.IsMade() || set.Version != 1 {
		t.Errorf("made before anybody made it: %+v", set.Spec)
	}
	plan := must(s.PlanStandards(ctx, s.wanted(), true))(t)
	if plan.Next == nil || !strings.Contains(plan.Next.What, "without scale") || math.Abs(plan.Next.Ratio-1.65) > 0.01 {
		t.Errorf("next best: %+v", plan.Next)
	}
	if len(plan.Buying) != 1 || !strings.Contains(plan.Buying[0].What, "200 g scale with 0.001 g steps") {
		t.Errorf("buying: %+v", plan.Buying)
	}
}

func TestActualAmountsGiveTheValue(t *testing.T) {
	s := newShed(t)
	s.shelved()
	set := must(s.NewSet(ctx, owner, s.wanted()))(t)
	took := asPlanned(set.Spec)
	last := &took[len(took)-1]
	last.Take.Amount *= 1.1
	done := must(s.WriteDown(ctx, owner, set.ID, took, "warm day", "", ""))(t)
	if done.Version != 2 || !done.Spec.IsMade() || done.Spec.UseBy != "2026-03-08" || done.Spec.Note != "warm day" {
		t.Errorf("written down: version %d, %+v", done.Version, done.Spec)
	}
	before, after := set.Values.Standards[4], done.Values.Standards[4]
	// Mass balance by hand: 1.1 times the amount of the intermediate in the same whole.
	i1 := set.Values.Intermediates[0].Value.Value
	want := before.Value.Value + 0.1*(before.Value.Value-0.259)
	if math.Abs(after.Value.Value-want) > 2e-3*want || !(after.U > before.U) {
		t.Errorf("value %v ± %v, was %v ± %v (intermediate %v); want about %v", after.Value.Value, after.U, before.Value.Value, before.U, i1, want)
	}
	if x := done.Spec.Solutions[len(took)-1].Take; math.Abs(x.Amount-1.1*x.Planned) > 1e-9 || x.Planned != set.Spec.Solutions[len(took)-1].Take.Amount {
		t.Errorf("taken %v, planned %v", x.Amount, x.Planned)
	}
	if !strings.Contains(strings.Join(report.SayAll(done.Doubts), "\n"), "40 was asked for") {
		t.Errorf("doubts: %v", done.Doubts)
	}
	if old := must(s.SetVersion(ctx, set.VersionID))(t); old.Values.Standards[4].Value.Value != before.Value.Value || old.Latest {
		t.Error("the first version has changed")
	}
	last.Take.Amount /= 1.1
	_, err := s.WriteDown(ctx, owner, set.ID, took, "warm day", "", "")
	wantFault(t, err, "why")
	done = must(s.WriteDown(ctx, owner, set.ID, took, "warm day", "", "misread the scale"))(t)
	if done.Version != 3 || done.Values.Standards[4].Value.Value != before.Value.Value {
		t.Errorf("version %d: %v", done.Version, done.Values.Standards[4].Value.Value)
	}
	if len(must(s.SetVersions(ctx, set.ID))(t)) != 3 {
		t.Error("a version is missing")
	}
	if err := s.write(ctx, func(x tx) error { return x.Exec("update prepared_version set name = 'x'") }); err == nil {
		t.Error("a version was changed in place")
	}
}

func TestWriteDownRefuses(t *testing.T) {
	s := newShed(t)
	s.shelved()
	set := must(s.NewSet(ctx, owner, s.wanted()))(t)
	i1 := set.Spec.Solutions[0].Name
	for name, c := range map[string]struct {
		change func([]Made) []Made
		column string
	}{
		"nothing taken":    {func(m []Made) []Made { m[0].Take.Amount = 0; return m }, "take_amount_" + i1},
		"not a number":     {func(m []Made) []Made { m[0].Take.Amount = math.NaN(); return m }, "take_amount_" + i1},
		"more than whole":  {func(m []Made) []Made { m[0].Take.Amount = 400; return m }, "take_amount_" + i1},
		"spoon":            {func(m []Made) []Made { m[0].Take.Device = "spoon"; return m }, "take_device_" + i1},
		"whole of nothing": {func(m []Made) []Made { m[0].Make.Amount = -1; return m }, "make_amount_" + i1},
		"nobody":           {func(m []Made) []Made { m[0].MadeBy = " "; return m }, "made_by_" + i1},
		"no time":          {func(m []Made) []Made { m[0].MadeAt = "noon"; return m }, "made_at_" + i1},
		"too early":        {func(m []Made) []Made { return m[2:] }, "made_S2"},
		"unknown":          {func(m []Made) []Made { m[0].Solution = "S99"; return m }, "solution"},
	} {
		_, err := s.WriteDown(ctx, owner, set.ID, c.change(asPlanned(set.Spec)), "", "", "")
		t.Run(name, func(t *testing.T) { wantFault(t, err, c.column) })
	}
	_, err := s.WriteDown(ctx, s.ines, set.ID, nil, "", "", "")
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.WriteDown(ctx, owner, 99, nil, "", "", "")
	wantRefusal(t, err, knownwater.NotFound)
	if got := must(s.Set(ctx, set.ID))(t); got.Version != 1 {
		t.Errorf("a refused entry made version %d", got.Version)
	}
}

func TestPlanningRefuses(t *testing.T) {
	s := newShed(t)
	_, err := s.NewSet(ctx, owner, s.wanted())
	wantFault(t, err, "stocks")
	s.shelved()
	for name, c := range map[string]struct {
		change func(*Wanted)
		column string
	}{
		"no name":         {func(w *Wanted) { w.Name = "" }, "name"},
		"above the stock": {func(w *Wanted) { w.Levels = []float64{2000} }, "level 2000"},
		"below the water": {func(w *Wanted) { w.Levels = []float64{0.1} }, "level 0.1"},
		"no water":        {func(w *Wanted) { w.Water = 0 }, "water"},
		"other analyte":   {func(w *Wanted) { w.Scale = phosphate }, "stocks"},
		"no level":        {func(w *Wanted) { w.Levels = nil }, "levels"},
		"limits":          {func(w *Wanted) { w.Limits.LevelWithin = 0 }, "limits level_within"},
	} {
		w := s.wanted()
		c.change(&w)
		_, err := s.NewSet(ctx, owner, w)
		t.Run(name, func(t *testing.T) { wantFault(t, err, c.column) })
	}
	must(s.SaveItem(ctx, owner, 0, ItemSpec{Kind: StockItem, Name: "P", Stock: &StockSpec{Scale: phosphate, Value: 100, U: 1}}, ""))(t)
	w := s.wanted()
	w.Scale = phosphate
	_, err = s.NewSet(ctx, owner, w)
	if err == nil || !strings.Contains(err.Error(), "nothing is stated of the phosphate") {
		t.Errorf("a water of unknown phosphate: %v", err)
	}
}

// TestTrialTakesItsLevelsFromASet: levels, u and shared part come from the set,
// labels say the code, the trial remembers the version, and its findings tell
// the chain back to the stock.
func TestTrialTakesItsLevelsFromASet(t *testing.T) {
	s := newShed(t)
	s.shelved()
	planned := must(s.NewSet(ctx, owner, s.wanted()))(t)
	p := s.plan()
	p.Knowns, p.Check = nil, ""
	r := must(s.NewTrial(ctx, owner, p.WithSet(planned)))(t)
	_, err := s.SealPlan(ctx, owner, r.ID)
	wantFault(t, err, "set")

	took := asPlanned(planned.Spec)
	took[4].Take.Amount *= 1.02
	set := must(s.WriteDown(ctx, owner, planned.ID, took, "", "", ""))(t)
	_, doubts, err := s.CheckPlan(ctx, r.Plan)
	if err != nil || !strings.Contains(strings.Join(report.SayAll(doubts), "\n"), "newer version") {
		t.Errorf("doubts: %v, %v", doubts, err)
	}
	p = r.Plan.WithSet(set)
	for i := range p.Knowns { // what a form sends back does not count
		p.Knowns[i].Level, p.Knowns[i].U, p.Knowns[i].Label = 99, 0, "40 mg/L"
	}
	r = must(s.SavePlan(ctx, owner, r.ID, p))(t)
	for i, st := range set.Values.Standards {
		k := r.Plan.Knowns[i]
		if k.Level != st.Value.Value || k.U != st.U || k.UShared != st.UShared || k.Label != st.Solution.Code || k.Matrix != "salt mix 7" {
			t.Errorf("known %d: %+v, standard %v ± %v", i, k, st.Value.Value, st.U)
		}
		if k.Blank != (i == 0) {
			t.Errorf("known %d: blank %t", i, k.Blank)
		}
	}
	r = must(s.SealPlan(ctx, owner, r.ID))(t)
	for _, row := range must(s.PrepList(ctx, owner, r.ID))(t) {
		if _, ok := set.Standard(row.Known.Label); !ok {
			t.Errorf("the preparation list names %q", row.Known.Label)
		}
	}
	must(s.WriteDown(ctx, owner, set.ID, asPlanned(set.Spec), "", "", "weighed again"))(t)
	s.readAll(r.ID, s.ines, s.tomo)
	must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	f := must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t)
	if f.Provenance == nil || f.Provenance.Version != 2 || f.Provenance.VersionID != set.VersionID || len(f.Provenance.Standards) != 5 {
		t.Fatalf("provenance: %+v", f.Provenance)
	}
	chain := strings.Join(f.Provenance.Standards[4].Chain, "; ")
	if !strings.Contains(chain, "stock bottle A") || !strings.Contains(chain, "filled up to") || !strings.Contains(f.Provenance.Stocks[0], "1000 mg/L NO3, U = 6 (k = 2), expires 2027-06-30") {
		t.Errorf("chain %q, stocks %q", chain, f.Provenance.Stocks)
	}
	for _, o := range f.Data.Observations {
		found := false
		for _, st := range set.Values.Standards {
			found = found || o.Level == st.Value.Value && o.ULevel == st.U && o.UShared == st.UShared
		}
		if !found {
			t.Fatalf("an observation at %v ± %v", o.Level, o.ULevel)
		}
	}
	if len(f.Notes) > 1 { // the look at the preparation list
		t.Errorf("notes: %q", f.Notes)
	}
	if n := must(s.SetVersion(ctx, set.VersionID))(t).Trials; n != 1 {
		t.Errorf("the set says %d trials", n)
	}
}

// TestExpiredStandardsWarn: in the plan, and in the findings by the readings'
// days.
func TestExpiredStandardsWarn(t *testing.T) {
	s := newShed(t)
	s.shelved()
	set := s.made()
	p := s.plan().WithSet(set)
	p.Check = ""
	r := must(s.NewTrial(ctx, owner, p))(t)
	s.clock.t = time.Date(2027, 7, 2, 8, 0, 0, 0, time.UTC)
	_, doubts, err := s.CheckPlan(ctx, r.Plan)
	if all := strings.Join(report.SayAll(doubts), "\n"); err != nil || !strings.Contains(all, "expired on 2027-06-30") || !strings.Contains(all, "used by 2026-03-08") {
		t.Errorf("doubts: %v, %v", doubts, err)
	}
	s.lot.ExpiresOn = ""
	must(s.SaveLot(ctx, owner, s.lot))(t)
	r = must(s.SealPlan(ctx, owner, r.ID))(t)
	run := must(s.Run(ctx, s.ines, r.ID, 0))(t)
	v := run.Vials[0]
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: seen(method(run, v.Method)), ReadAt: s.clock.t}))(t)
	must(s.OpenKey(ctx, owner, r.ID, "to see the warnings"))(t)
	notes := strings.Join(must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t).Notes, "\n")
	for _, want := range []string{"1 readings were taken after 2026-03-08", "1 readings were taken after 2027-06-30, when the stock \"bottle A\""} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note %q in\n%s", want, notes)
		}
	}
}

// TestCompareStocks: two stocks through two sets. What the sets share by name
// only (their first step) must not cancel; what they really share must.
func TestCompareStocks(t *testing.T) {
	s := newShed(t)
	a, _ := s.shelved()
	b := must(s.SaveItem(ctx, owner, 0, ItemSpec{Kind: StockItem, Name: "bottle B", Stock: &StockSpec{Scale: nitrate, Value: 1000, U: 3, Expires: "2027-06-30"}}, ""))(t)
	set := func(stock Item) PreparedSet {
		w := s.wanted()
		w.Name, w.Levels, w.Stocks = "from "+stock.Spec.Name, []float64{12}, []int64{stock.ID}
		return must(s.NewSet(ctx, owner, w))(t)
	}
	first, second := set(a), set(b)
	read := func(p PreparedSet, mean float64) StandardReading {
		return StandardReading{Set: p.ID, Standard: "S1", Mean: mean, U: 0.01}
	}
	c := must(s.CompareStocks(ctx, owner, read(first, 12), read(second, 12), 0.02))(t)
	if c.Verdict != known.Agree {
		t.Errorf("alike: %+v", c)
	}
	if c := must(s.CompareStocks(ctx, owner, read(first, 12.6), read(second, 12), 0.02))(t); c.Verdict != known.Disagree {
		t.Errorf("5 %% apart: %+v", c)
	}
	// u by hand: the readings, and of each set everything but what both share
	// (background and gain of the scale): the stock and the steps of its own.
	own := 2 * math.Pow(0.01/12, 2)
	for _, set := range []PreparedSet{first, second} {
		st := set.Values.Standards[0]
		for _, p := range st.Value.Parts {
			if p.Name != "background" && !strings.HasPrefix(p.Name, "gain of") && !strings.HasPrefix(p.Name, "device ") {
				own += math.Pow(p.Size()/st.Value.Value, 2)
			}
		}
	}
	if math.Abs(c.U-math.Sqrt(own)) > 1e-4*c.U || c.U < math.Hypot(0.003, 0.003) {
		t.Errorf("u of the shift %v, want %v", c.U, math.Sqrt(own))
	}
	_, err := s.CompareStocks(ctx, owner, read(first, 12), read(first, 12), 0.02)
	wantFault(t, err, "standard_second")
	_, err = s.CompareStocks(ctx, owner, read(first, 0), read(second, 12), 0)
	wantFault(t, err, "mean_first")
	wantFault(t, err, "permitted")
	_, err = s.CompareStocks(ctx, s.ines, read(first, 1), read(second, 12), 0.02)
	wantRefusal(t, err, knownwater.NotAllowed)
}

// TestExportOfAnOlderSchema: an export from before there was a shelf comes in.
func TestExportOfAnOlderSchema(t *testing.T) {
	s := newShed(t)
	data := export(t, s.Bench)
	for _, tab := range tables {
		if tab.since > 4 {
			data = rezip(t, data, "tables/"+tab.name+".csv", func([]byte) []byte { return nil }, nil)
		}
	}
	data = rezip(t, data, manifestName, func(b []byte) []byte {
		return []byte(strings.Replace(string(b), fmt.Sprintf("schema = %d", sqlite.SchemaVersion()), "schema = 4", 1))
	}, nil)
	path := t.TempDir() + "/old.db"
	if err := importAt(data, path); err != nil {
		t.Fatal(err)
	}
	b := must(Open(path, Options{}))(t)
	defer b.Close()
	if len(must(b.Methods(ctx))(t)) != 2 || len(must(b.Shelf(ctx))(t)) != 0 {
		t.Error("something is missing, or more than there was")
	}
	os.Remove(path)
}
