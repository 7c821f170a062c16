package standards_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/report"
	"knownwater/science/known"
)

// TestSetOfTheHowTo: the shelf and the levels of docs/howto-standards.md, whose
// numbers come from the command line, give the same set on the bench.
func TestSetOfTheHowTo(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	set := benchtest.Must(s.NewSet(ctx, benchtest.Owner, s.Wanted()))(t)
	want := []struct{ level, value, u, shared, background float64 }{
		{0, 0.259, 0.028, 0, 0.028}, {0.6, 0.60132291, 0.028094521, 0.0010408573, 0.027990412}, {3, 3.0005056, 0.029222343, 0.0083353922, 0.027923218},
		{12, 11.996461, 0.045207536, 0.035681545, 0.027671266}, {40, 39.96084, 0.12361737, 0.12063202, 0.02688806},
	}
	if len(set.Values.Standards) != len(want) {
		t.Fatalf("%d standards", len(set.Values.Standards))
	}
	for i, st := range set.Values.Standards {
		w := want[i]
		for what, pair := range map[string][2]float64{"value": {st.Value.Value, w.value}, "u": {st.U, w.u}, "shared": {st.UShared, w.shared}, "background": {st.UBackground, w.background}} {
			if !(math.Abs(pair[0]-pair[1]) <= 1e-7*pair[1]) {
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
	plan := benchtest.Must(s.PlanStandards(ctx, s.Wanted(), true))(t)
	if plan.Next == nil || !strings.Contains(plan.Next.What, "without scale") || !(math.Abs(plan.Next.Ratio-1.65) <= 0.01) {
		t.Errorf("next best: %+v", plan.Next)
	}
	if len(plan.Buying) != 1 || !strings.Contains(plan.Buying[0].What, "200 g scale with 0.001 g steps") {
		t.Errorf("buying: %+v", plan.Buying)
	}
}

func TestActualAmountsGiveTheValue(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	set := benchtest.Must(s.NewSet(ctx, benchtest.Owner, s.Wanted()))(t)
	took := benchtest.AsPlanned(set.Spec)
	last := &took[len(took)-1]
	last.Take.Amount *= 1.1
	done := benchtest.Must(s.WriteDown(ctx, benchtest.Owner, set.ID, took, "warm day", "", ""))(t)
	if done.Version != 2 || !done.Spec.IsMade() || done.Spec.UseBy != "2026-03-08" || done.Spec.Note != "warm day" {
		t.Errorf("written down: version %d, %+v", done.Version, done.Spec)
	}
	before, after := set.Values.Standards[4], done.Values.Standards[4]
	// Mass balance by hand: 1.1 times the amount of the intermediate in the same whole.
	i1 := set.Values.Intermediates[0].Value.Value
	want := before.Value.Value + 0.1*(before.Value.Value-0.259)
	if !(math.Abs(after.Value.Value-want) <= 2e-3*want) || !(after.U > before.U) {
		t.Errorf("value %v ± %v, was %v ± %v (intermediate %v); want about %v", after.Value.Value, after.U, before.Value.Value, before.U, i1, want)
	}
	if x := done.Spec.Solutions[len(took)-1].Take; !(math.Abs(x.Amount-1.1*x.Planned) <= 1e-9) || x.Planned != set.Spec.Solutions[len(took)-1].Take.Amount {
		t.Errorf("taken %v, planned %v", x.Amount, x.Planned)
	}
	if !strings.Contains(strings.Join(report.SayAll(done.Doubts), "\n"), "40 was asked for") {
		t.Errorf("doubts: %v", done.Doubts)
	}
	if old := benchtest.Must(s.SetVersion(ctx, set.VersionID))(t); old.Values.Standards[4].Value.Value != before.Value.Value || old.Latest {
		t.Error("the first version has changed")
	}
	last.Take.Amount /= 1.1
	_, err := s.WriteDown(ctx, benchtest.Owner, set.ID, took, "warm day", "", "")
	benchtest.WantFault(t, err, "why")
	done = benchtest.Must(s.WriteDown(ctx, benchtest.Owner, set.ID, took, "warm day", "", "misread the scale"))(t)
	if done.Version != 3 || done.Values.Standards[4].Value.Value != before.Value.Value {
		t.Errorf("version %d: %v", done.Version, done.Values.Standards[4].Value.Value)
	}
	if len(benchtest.Must(s.SetVersions(ctx, set.ID))(t)) != 3 {
		t.Error("a version is missing")
	}
	if err := benchtest.Exec(t, s.Path, "update prepared_version set name = 'x'"); err == nil {
		t.Error("a version was changed in place")
	}
}

func TestWriteDownRefuses(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	set := benchtest.Must(s.NewSet(ctx, benchtest.Owner, s.Wanted()))(t)
	i1 := set.Spec.Solutions[0].Name
	for name, c := range map[string]struct {
		change func([]standards.Made) []standards.Made
		column string
	}{
		"nothing taken":    {func(m []standards.Made) []standards.Made { m[0].Take.Amount = 0; return m }, "take_amount_" + i1},
		"not a number":     {func(m []standards.Made) []standards.Made { m[0].Take.Amount = math.NaN(); return m }, "take_amount_" + i1},
		"more than whole":  {func(m []standards.Made) []standards.Made { m[0].Take.Amount = 400; return m }, "take_amount_" + i1},
		"spoon":            {func(m []standards.Made) []standards.Made { m[0].Take.Device = "spoon"; return m }, "take_device_" + i1},
		"whole of nothing": {func(m []standards.Made) []standards.Made { m[0].Make.Amount = -1; return m }, "make_amount_" + i1},
		"nobody":           {func(m []standards.Made) []standards.Made { m[0].MadeBy = " "; return m }, "made_by_" + i1},
		"no time":          {func(m []standards.Made) []standards.Made { m[0].MadeAt = "noon"; return m }, "made_at_" + i1},
		"too early":        {func(m []standards.Made) []standards.Made { return m[2:] }, "made_S2"},
		"unknown":          {func(m []standards.Made) []standards.Made { m[0].Solution = "S99"; return m }, "solution"},
	} {
		_, err := s.WriteDown(ctx, benchtest.Owner, set.ID, c.change(benchtest.AsPlanned(set.Spec)), "", "", "")
		t.Run(name, func(t *testing.T) { benchtest.WantFault(t, err, c.column) })
	}
	_, err := s.WriteDown(ctx, s.Ines, set.ID, nil, "", "", "")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.WriteDown(ctx, benchtest.Owner, 99, nil, "", "", "")
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	if got := benchtest.Must(s.Set(ctx, set.ID))(t); got.Version != 1 {
		t.Errorf("a refused entry made version %d", got.Version)
	}
}

func TestPlanningRefuses(t *testing.T) {
	s := benchtest.New(t)
	_, err := s.NewSet(ctx, benchtest.Owner, s.Wanted())
	benchtest.WantFault(t, err, "stocks")
	s.Shelved()
	for name, c := range map[string]struct {
		change func(*standards.Wanted)
		column string
	}{
		"no name":         {func(w *standards.Wanted) { w.Name = "" }, "name"},
		"above the stock": {func(w *standards.Wanted) { w.Levels = []float64{2000} }, "level 2000"},
		"below the water": {func(w *standards.Wanted) { w.Levels = []float64{0.1} }, "level 0.1"},
		"no water":        {func(w *standards.Wanted) { w.Water = 0 }, "water"},
		"other analyte":   {func(w *standards.Wanted) { w.Scale = benchtest.Phosphate }, "stocks"},
		"no level":        {func(w *standards.Wanted) { w.Levels = nil }, "levels"},
		"limits":          {func(w *standards.Wanted) { w.Limits.LevelWithin = 0 }, "limits level_within"},
	} {
		w := s.Wanted()
		c.change(&w)
		_, err := s.NewSet(ctx, benchtest.Owner, w)
		t.Run(name, func(t *testing.T) { benchtest.WantFault(t, err, c.column) })
	}
	benchtest.Must(s.SaveItem(ctx, benchtest.Owner, 0, standards.ItemSpec{Kind: standards.StockItem, Name: "P", Stock: &standards.StockSpec{Scale: benchtest.Phosphate, Value: 100, U: 1}}, ""))(t)
	w := s.Wanted()
	w.Scale = benchtest.Phosphate
	_, err = s.NewSet(ctx, benchtest.Owner, w)
	if err == nil || !strings.Contains(err.Error(), "nothing is stated of the phosphate") {
		t.Errorf("a water of unknown phosphate: %v", err)
	}
}

// TestTrialTakesItsLevelsFromASet: levels, u and shared part come from the set,
// labels say the code, the trial remembers the version, and its findings tell
// the chain back to the stock.
func TestTrialTakesItsLevelsFromASet(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	planned := benchtest.Must(s.NewSet(ctx, benchtest.Owner, s.Wanted()))(t)
	p := s.Plan()
	p.Knowns, p.Check = nil, ""
	r := benchtest.Must(s.NewTrial(ctx, benchtest.Owner, p.WithSet(planned.Standards())))(t)
	_, err := s.SealPlan(ctx, benchtest.Owner, r.ID)
	benchtest.WantFault(t, err, "set")

	took := benchtest.AsPlanned(planned.Spec)
	took[4].Take.Amount *= 1.02
	set := benchtest.Must(s.WriteDown(ctx, benchtest.Owner, planned.ID, took, "", "", ""))(t)
	_, doubts, err := s.ExaminePlan(ctx, r.Plan)
	if err != nil || !strings.Contains(strings.Join(report.SayAll(doubts), "\n"), "newer version") {
		t.Errorf("doubts: %v, %v", doubts, err)
	}
	p = r.Plan.WithSet(set.Standards())
	for i := range p.Knowns { // what a form sends back does not count
		p.Knowns[i].Level, p.Knowns[i].U, p.Knowns[i].Label = 99, 0, "40 mg/L"
	}
	r = benchtest.Must(s.SavePlan(ctx, benchtest.Owner, r.ID, p))(t)
	for i, st := range set.Values.Standards {
		k := r.Plan.Knowns[i]
		if k.Level != st.Value.Value || k.U != st.U || k.UShared != st.UShared || k.UBackground != st.UBackground || k.Label != st.Solution.Code || k.Matrix != "salt mix 7" {
			t.Errorf("known %d: %+v, standard %v ± %v", i, k, st.Value.Value, st.U)
		}
		if k.Blank != (i == 0) {
			t.Errorf("known %d: blank %t", i, k.Blank)
		}
	}
	r = benchtest.Must(s.SealPlan(ctx, benchtest.Owner, r.ID))(t)
	for _, row := range benchtest.Must(s.PrepList(ctx, benchtest.Owner, r.ID))(t) {
		if _, ok := set.Standard(row.Known.Label); !ok {
			t.Errorf("the preparation list names %q", row.Known.Label)
		}
	}
	benchtest.Must(s.WriteDown(ctx, benchtest.Owner, set.ID, benchtest.AsPlanned(set.Spec), "", "", "weighed again"))(t)
	s.ReadAll(r.ID, s.Ines, s.Tomo)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, ""))(t)
	f := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if f.Provenance == nil || f.Provenance.Version != 2 || f.Provenance.VersionID != set.VersionID || len(f.Provenance.Standards) != 5 {
		t.Fatalf("provenance: %+v", f.Provenance)
	}
	chain := f.Provenance.Standards[4].Chain
	if len(chain) < 2 || chain[0].Code != "from-stock" || chain[0].Names["stock"][0] != "bottle A" || chain[len(chain)-1].Code != "made-up" || !strings.Contains(f.Provenance.Stocks[0], "1000 mg/L NO3, U = 6 (k = 2), expires 2027-06-30") {
		t.Errorf("chain %v, stocks %q", chain, f.Provenance.Stocks)
	}
	for _, o := range f.Data.Observations {
		found := false
		for _, st := range set.Values.Standards {
			found = found || o.Level == st.Value.Value && o.ULevel == st.U && o.UShared == st.UShared && o.UBackground == st.UBackground
		}
		if !found {
			t.Fatalf("an observation at %v ± %v", o.Level, o.ULevel)
		}
	}
	if len(f.Notes) > 1 { // the look at the preparation list
		t.Errorf("notes: %q", report.SayAll(f.Notes))
	}
	if n := benchtest.Must(s.SetVersion(ctx, set.VersionID))(t).Trials; n != 1 {
		t.Errorf("the set says %d trials", n)
	}
}

// TestExpiredStandardsWarn: in the plan, and in the findings by the readings'
// days.
func TestExpiredStandardsWarn(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	set := s.Prepared()
	p := s.Plan().WithSet(set.Standards())
	p.Check = ""
	r := benchtest.Must(s.NewTrial(ctx, benchtest.Owner, p))(t)
	s.Clock.T = time.Date(2027, 7, 2, 8, 0, 0, 0, time.UTC)
	_, doubts, err := s.ExaminePlan(ctx, r.Plan)
	if all := strings.Join(report.SayAll(doubts), "\n"); err != nil || !strings.Contains(all, "expired on 2027-06-30") || !strings.Contains(all, "used by 2026-03-08") {
		t.Errorf("doubts: %v, %v", doubts, err)
	}
	s.Lot.ExpiresOn = ""
	benchtest.Must(s.SaveLot(ctx, benchtest.Owner, s.Lot))(t)
	r = benchtest.Must(s.SealPlan(ctx, benchtest.Owner, r.ID))(t)
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 0))(t)
	v := run.Vials[0]
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: benchtest.Seen(benchtest.MethodOf(run, v.Method)), ReadAt: s.Clock.T}))(t)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "to see the warnings"))(t)
	notes := strings.Join(report.SayAll(benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t).Notes), "\n")
	for _, want := range []string{"1 reading taken after 2026-03-08", "1 reading taken after 2027-06-30, when the stock “bottle A”"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note %q in\n%s", want, notes)
		}
	}
}

// TestCompareStocks: two stocks through two sets. What the sets share by name
// only (their first step) must not cancel; what they really share must.
func TestCompareStocks(t *testing.T) {
	s := benchtest.New(t)
	a, _ := s.Shelved()
	b := benchtest.Must(s.SaveItem(ctx, benchtest.Owner, 0, standards.ItemSpec{Kind: standards.StockItem, Name: "bottle B", Stock: &standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, U: 3, Expires: "2027-06-30"}}, ""))(t)
	set := func(stock standards.Item) standards.PreparedSet {
		w := s.Wanted()
		w.Name, w.Levels, w.Stocks = "from "+stock.Spec.Name, []float64{12}, []int64{stock.ID}
		return benchtest.Must(s.NewSet(ctx, benchtest.Owner, w))(t)
	}
	first, second := set(a), set(b)
	read := func(p standards.PreparedSet, mean float64) standards.StandardReading {
		return standards.StandardReading{Set: p.ID, Standard: "S1", Read: known.MeanRead{Mean: mean, U: 0.01, N: 3}}
	}
	c := benchtest.Must(s.CompareStocks(ctx, benchtest.Owner, read(first, 12), read(second, 12), 0.02))(t)
	if c.Verdict != known.Agree {
		t.Errorf("alike: %+v", c)
	}
	if c := benchtest.Must(s.CompareStocks(ctx, benchtest.Owner, read(first, 12.6), read(second, 12), 0.02))(t); c.Verdict != known.Disagree {
		t.Errorf("5 %% apart: %+v", c)
	}
	// u by hand: the readings, and of each set everything but what both share
	// (background and gain of the scale): the stock and the steps of its own.
	own := 2 * math.Pow(0.01/12, 2)
	for _, set := range []standards.PreparedSet{first, second} {
		st := set.Values.Standards[0]
		for _, p := range st.Value.Parts {
			if p.Name != "background" && !strings.HasPrefix(p.Name, "gain of") && !strings.HasPrefix(p.Name, "device ") {
				own += math.Pow(p.Size()/st.Value.Value, 2)
			}
		}
	}
	if !(math.Abs(c.U-math.Sqrt(own)) <= 1e-4*c.U) || c.U < math.Hypot(0.003, 0.003) {
		t.Errorf("u of the shift %v, want %v", c.U, math.Sqrt(own))
	}
	_, err := s.CompareStocks(ctx, benchtest.Owner, read(first, 12), read(first, 12), 0.02)
	benchtest.WantFault(t, err, "standard_second")
	_, err = s.CompareStocks(ctx, benchtest.Owner, read(first, 0), read(second, 12), 0)
	benchtest.WantFault(t, err, "mean_first")
	benchtest.WantFault(t, err, "permitted")
	_, err = s.CompareStocks(ctx, s.Ines, read(first, 1), read(second, 12), 0.02)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}
