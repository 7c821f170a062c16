package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
)

// TestMixed95: the error through a switch, against two hundred thousand results
// drawn as the procedure says: read undiluted; above 5 read diluted instead.
func TestMixed95(t *testing.T) {
	plain, diluted := record.Normal{Mean: 4.9, SD: 0.3}, record.Normal{Mean: 4.2, SD: 0.5}
	const c, over = 5.0, 5.0
	tiles := func(width, over float64) *nested {
		var miss, ends []float64
		for low := 0.0; low+width/2 <= over; low += width {
			miss, ends = append(miss, math.Abs(low+width/2-c)), append(ends, low)
		}
		return nestOf(miss, append(ends, float64(len(ends))*width))
	}
	left := num.Phi((plain.Mean - over) / plain.SD)
	numbers := switched{plain: &study{rec: &record.Record{}}, diluted: &study{rec: &record.Record{}}, over: over}.mixedNumbers(c, nil)
	for _, w := range []struct {
		name string
		got  float64
		tile float64
	}{
		{"display", numbers(plain, diluted, left), 0},
		{"steps", bothOf(tiles(0.25, over), tiles(0.5, 20)).within(plain, diluted, left), 0.25},
	} {
		rng := rand.New(rand.NewPCG(31, 1))
		miss := make([]float64, 200_000)
		for i := range miss {
			show := func(y, tile float64) float64 {
				if tile == 0 {
					return y
				}
				return (math.Floor(y/tile) + 0.5) * tile
			}
			r := show(plain.Mean+plain.SD*rng.NormFloat64(), w.tile)
			if r > over {
				r = show(diluted.Mean+diluted.SD*rng.NormFloat64(), 2*w.tile)
			}
			miss[i] = math.Abs(r - c)
		}
		sort.Float64s(miss)
		want := miss[len(miss)*95/100]
		if !(math.Abs(w.got-want) <= 0.01*want) {
			t.Errorf("%s: %.4f, drawn %.4f", w.name, w.got, want)
		}
	}
}

// The error through a switch of answers that are few, by hand: undiluted 0 to 2 and 2 to 4 stay, what
// lies above goes on to be read diluted, in steps of four.
func TestMixedStepsByHand(t *testing.T) {
	inf := math.Inf(1)
	u := nestOf([]float64{4, 2}, []float64{-inf, 2, 4}) // what reads above 4 goes on
	d := nestOf([]float64{3, 1, 5}, []float64{-inf, 4, 8, inf})
	for _, x := range []struct {
		a, b record.Normal
		want float64
	}{
		{record.Normal{Mean: 3, SD: 0.1}, record.Normal{Mean: 6, SD: 0.1}, 2},  // all stay at 2 to 4
		{record.Normal{Mean: 9, SD: 0.1}, record.Normal{Mean: 6, SD: 0.1}, 1},  // all go on, to 4 to 8
		{record.Normal{Mean: 9, SD: 0.1}, record.Normal{Mean: 6, SD: 1.1}, 3},  // 3.5 % on either side of it: 93 % at 1, then those below it
		{record.Normal{Mean: 9, SD: 0.1}, record.Normal{Mean: 6, SD: 0.95}, 1}, // 1.8 % on either side
		{record.Normal{Mean: 4, SD: 0.1}, record.Normal{Mean: 6, SD: 0.1}, 2},  // half at 1, half at 2
		{record.Normal{Mean: 4, SD: 0.1}, record.Normal{Mean: 9, SD: 0.1}, 5},  // half at 2, half at 5
		{record.Normal{Mean: 4, SD: 1.5}, record.Normal{Mean: 6, SD: 0.1}, 4},  // half at 1, 40.9 % at 2, the rest, 9.1 %, at 4
		{record.Normal{Mean: 4, SD: 1.2}, record.Normal{Mean: 6, SD: 0.1}, 2},  // half at 1, 45.2 % at 2
	} {
		if got := bothOf(u, d).within(x.a, x.b, num.Phi((x.a.Mean-4)/x.a.SD)); got != x.want {
			t.Errorf("%+v, then %+v: %v, want %v", x.a, x.b, got, x.want)
		}
	}
	// answers that begin somewhere: 95.4 % lie within 1 of 1, and hardly any below
	from0 := nestOf([]float64{1, 4}, []float64{0, 2, inf})
	if got := bothOf(from0, d).within(record.Normal{Mean: 1, SD: 0.5}, record.Normal{Mean: 6, SD: 0.1}, 0); got != 1 {
		t.Errorf("from nothing: %v, want 1", got)
	}
}

// TestAveragesByHand: readings without bias that scatter by 0.3, forty a level:
// 95 of 100 averages of n lie within 1.96·0.3/√n (JCGM 100, 4.2).
func TestAveragesByHand(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 1))
	d := madeup.Of("", madeup.Meter, []float64{2, 4, 6, 8, 10}, 40, nil, madeup.Constant(0.3), madeup.OnMeter)
	trial := d.Trial(rng, "nitrate", nil)
	trial.Methods[0].DilutionFactor, trial.Methods[0].DilutionOver = 0, 0
	trial.Needs = []knownwater.Need{{Name: "n", Low: 2, High: 10, Permitted: []knownwater.Permit{{At: 2, Error: 0.5}}}}
	f := Run(trial, Options{})
	n := f.Methods[0].Needs[0]
	if len(n.Averages) != 2 {
		t.Fatalf("averages %+v: two tests and three, no two readers where none is known", n.Averages)
	}
	for i, a := range n.Averages {
		want := 1.96 * 0.3 / math.Sqrt(float64(a.N))
		if a.N != i+2 || a.Readers != 1 || !(math.Abs(float64(a.Error95)/want-1) <= 0.15) {
			t.Errorf("%d tests by %d: within %.3f, by hand %.3f", a.N, a.Readers, float64(a.Error95), want)
		}
	}
	if n.Verdict != NotFit && n.Verdict != Undecided || n.Averages[1].Verdict != Fit {
		t.Errorf("single results %s, three tests %s: ±0.59 and ±0.34 against ±0.5", n.Verdict, n.Averages[1].Verdict)
	}
	if p := f.Procedures; len(p) != 1 || len(p[0].Branches) != 1 || p[0].Needs[0].Verdict != n.Verdict {
		t.Errorf("procedures %+v: one branch that says what the method says", p)
	}
}

// lotsTrial has a lot of each ratio, five readings a level that scatter by 2 %.
func lotsTrial(rng *rand.Rand, ratios ...float64) knownwater.Trial {
	var t knownwater.Trial
	for i, r := range ratios {
		d := madeup.Of("", madeup.Meter, []float64{0.5, 1, 2, 4, 8, 16}, 5, func(c float64) float64 { return r * c }, madeup.Growing(0, 0.02), func(y float64) string { return fmt.Sprintf("%.3f", y) })
		one := d.Trial(rng, "nitrate", nil)
		for j := range one.Observations {
			one.Observations[j].Lot = string(rune('A' + i))
			one.Observations[j].Row += 100 * i
		}
		one.Observations = append(t.Observations, one.Observations...)
		t = one
	}
	t.Methods[0].DilutionFactor, t.Methods[0].DilutionOver = 0, 0
	t.Needs = []knownwater.Need{{Name: "n", Low: 0.5, High: 16, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.085}, {At: 16, Error: 2.4}}}}
	return t
}

// TestLots: each lot's ratio to the mean of the lots lies in its interval in 95
// of 100 trials, and the verdict never says more than the weakest.
func TestLots(t *testing.T) {
	trials := 50
	if testing.Short() {
		trials = 12
	}
	missed, fit := 0, 0
	for k := range trials {
		f := Run(lotsTrial(rand.New(rand.NewPCG(33, uint64(k))), 1, 0.82), Options{Brief: true, Few: true})
		m := f.Methods[0]
		if len(m.Lots) != 2 || m.Lots[1].Lot != "B" {
			t.Fatalf("lots %+v", m.Lots)
		}
		if b, want := m.Lots[1], num.Number(0.82/0.91); b.Low > want || b.High < want {
			missed++
		}
		n := m.Needs[0]
		if n.UntriedLot == nil || len(n.ByLot) != 2 {
			t.Fatalf("need %+v", n)
		}
		for _, v := range []string{n.ByLot[0].Verdict, n.ByLot[1].Verdict, *n.UntriedLot} {
			if sayLess(v, n.Verdict) {
				t.Errorf("%q says more than %q", n.Verdict, v)
			}
		}
		if v := n.ByLot[1].Verdict; v == Fit {
			t.Errorf("a lot 18 %% low is %s for 15 %%", v)
		} else if n.ByLot[0].Verdict == Fit {
			fit++
		}
	}
	if 2*fit < trials {
		t.Errorf("a lot that reads right and scatters by 2 %% is fit for 15 %% in %d of %d", fit, trials)
	}
	if !madeup.AtMost(missed, trials, 0.05) {
		t.Errorf("the ratio was missed in %d of %d", missed, trials)
	}
	one := Run(lotsTrial(rand.New(rand.NewPCG(34, 1)), 1), Options{}).Methods[0]
	if n := one.Needs[0]; len(one.Lots) != 0 || n.UntriedLot != nil || !hasCode(one.Notes, "one-lot") {
		t.Errorf("one lot: %+v, untried %v", one.Lots, n.UntriedLot)
	}
}

// A lot that was not tried over the whole need leaves it open, though the others are fit.
func TestALotHoldsBack(t *testing.T) {
	tr := lotsTrial(rand.New(rand.NewPCG(33, 0)), 1, 1, 1)
	tr.Needs[0].Permitted = []knownwater.Permit{{At: 0.5, Error: 0.17}, {At: 16, Error: 4.8}}
	tr.Observations = slices.DeleteFunc(tr.Observations, func(o knownwater.Observation) bool { return o.Lot == "C" && o.Level > 2 })
	n := Run(tr, Options{}).Methods[0].Needs[0]
	if *n.UntriedLot != Fit || n.ByLot[2].Verdict != Undecided {
		t.Fatalf("a lot not tried is %s, by lot %v", *n.UntriedLot, n.ByLot)
	}
	if n.Verdict != Undecided || len(n.Why) != 1 || n.Why[0].Code != "lot-holds-back" {
		t.Errorf("%s, because %v", n.Verdict, n.Why)
	}
}

// One lot that scatters too much to tell asks for tests of every lot, said at each level and in all.
func TestMoreTestsOfLots(t *testing.T) {
	trial := func() knownwater.Trial {
		tr := lotsTrial(rand.New(rand.NewPCG(33, 0)), 1, 1, 1)
		for i := range tr.Observations {
			if o := &tr.Observations[i]; o.Lot == "B" {
				o.Text = fmt.Sprintf("%.3f", o.Level+2*(o.Seen.Mid()-o.Level))
				o.Seen, _ = reading.Understand(o.Text, tr.Methods[0])
			}
		}
		tr.Needs[0].Permitted = []knownwater.Permit{{At: 0.5, Error: 0.14}, {At: 16, Error: 4.5}}
		return tr
	}
	n := Run(trial(), Options{}).Methods[0].Needs[0]
	one := trial()
	one.Observations = slices.DeleteFunc(one.Observations, func(o knownwater.Observation) bool { return o.Lot != "B" })
	b := Run(one, Options{}).Methods[0].Needs[0]
	if n.ByLot[1].Verdict != Undecided || n.Verdict != Undecided || !b.MoreTests.OK() {
		t.Fatalf("%s, by lot %v, more of B alone %v", n.Verdict, n.ByLot, b.MoreTests)
	}
	all := 3 * int(b.MoreTests)
	if n.MoreTests != num.Number(all) || !slices.Equal(n.Help, []Help{{"tests", all / 6, all}}) {
		t.Errorf("%v more tests, %v; B alone needs %v", n.MoreTests, n.Help, b.MoreTests)
	}
}

// Where the lots are fit and only one that was not tried is open, the tests that settle it are spread over the lots.
func TestMoreTestsOfALotNotTried(t *testing.T) {
	fit := &study{finding: MethodFinding{Needs: []NeedFinding{{Verdict: Fit, MoreTests: num.None}}}}
	st := &study{byLot: []*study{fit, fit}, design: &design{levels: make([]level, 6)}}
	open := Undecided
	n := NeedFinding{Verdict: Undecided, UntriedLot: &open, MoreTests: 60, Help: []Help{{"tests", 10, 60}}}
	st.moreOfLots(&n, 0)
	if n.MoreTests != 60 || !slices.Equal(n.Help, []Help{{"tests", 10, 60}}) {
		t.Errorf("%v more tests, %v", n.MoreTests, n.Help)
	}
}

func hasCode(notes []note.Note, code string) bool {
	for _, n := range notes {
		if n.Code == code {
			return true
		}
	}
	return false
}

// TestProcedure: a method that is right undiluted and 20 % low diluted is judged
// as its sheet says: the fault of the diluted branch counts above the switch only.
func TestProcedure(t *testing.T) {
	rng := rand.New(rand.NewPCG(35, 1))
	m := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01, DilutionOver: 5, DilutionFactor: 8}
	plain := madeup.Of("", m, []float64{0.5, 1, 2, 3, 4.5, 6}, 5, nil, madeup.Growing(0.02, 0.02), madeup.OnMeter).Trial(rng, "nitrate", nil)
	low := madeup.Of("", m, []float64{4.5, 6, 12, 20, 40}, 5, func(c float64) float64 { return 0.8 * c / 8 }, madeup.Growing(0, 0.0008), func(y float64) string { return fmt.Sprintf("%.3f", y) }).Trial(rng, "nitrate", nil)
	for i := range low.Observations {
		low.Observations[i].Dilution, low.Observations[i].Row = 8, 100+i
	}
	plain.Observations = append(plain.Observations, low.Observations...)
	permit := []knownwater.Permit{{At: 0.5, Error: 0.2}, {At: 40, Error: 4}}
	plain.Needs = []knownwater.Need{{Name: "below", Low: 0.5, High: 4, Permitted: permit}, {Name: "above", Low: 8, High: 40, Permitted: permit}, {Name: "all", Low: 0.5, High: 40, Permitted: permit}}
	f := Run(plain, Options{})
	if len(f.Procedures) != 1 || len(f.Procedures[0].Branches) != 2 || f.Procedures[0].Branches[0].To != 5 || f.Procedures[0].Branches[1].Dilution != 8 {
		t.Fatalf("procedures %+v", f.Procedures)
	}
	for i, want := range []string{Fit, FitWhenCorrected, FitWhenCorrected} {
		n := f.Procedures[0].Needs[i]
		raw := []string{Fit, NotFit, NotFit}[i]
		if n.Verdict != want || n.Raw.Verdict != raw {
			t.Errorf("%s: %s (as read %s), want %s (%s): %+v %+v", n.Need, n.Verdict, n.Raw.Verdict, want, raw, n.Raw, n.Corrected)
		}
	}
	for _, q := range f.Questions {
		t.Errorf("asked %+v", q)
	}
}

// TestKnownAtTheLimit: a known that agrees with a need's limit within two of its
// standard uncertainties counts as inside.
func TestKnownAtTheLimit(t *testing.T) {
	levels := []level{{value: 1.04, u: 0.02}, {value: 9.9, u: 0.04}}
	for _, c := range []struct {
		low, high float64
		want      bool
	}{
		{2, 9, false}, {2, 9.83, true}, {2, 9.81, false}, {1.07, 2, true}, {1.09, 2, false}, {1, 10, true}, {9.97, 12, true}, {9.99, 12, false},
	} {
		if got := tried(levels, knownwater.Need{Low: c.low, High: c.high}); got != c.want {
			t.Errorf("%g to %g: tried %v", c.low, c.high, got)
		}
	}
	if low, high := reach(levels, 1.04); low != 1 || !(math.Abs(high-9.98) <= 1e-12) {
		t.Errorf("reach %g to %g, by hand 1 to 9.98", low, high)
	}
}

func TestWithinLimits(t *testing.T) {
	priced := knownwater.Method{PackPrice: 20, PackTests: 50, RefillPrice: 10, RefillTests: 50, Minutes: 6} // 0.2 a test
	for _, c := range []struct {
		name string
		m    knownwater.Method
		need knownwater.Need
		over float64 // the reading above which it is diluted
		want string
	}{
		{"nothing limited", priced, knownwater.Need{}, 0, "null"},
		{"in time", priced, knownwater.Need{MinutesAtMost: 6}, 0, "true"},
		{"too long", priced, knownwater.Need{MinutesAtMost: 5.9}, 0, "false"},
		{"read, diluted and read again", priced, knownwater.Need{Low: 2, High: 10, MinutesAtMost: 11.9}, 6, "false"},
		{"both in time", priced, knownwater.Need{Low: 2, High: 10, MinutesAtMost: 12}, 6, "true"},
		{"diluted at once", priced, knownwater.Need{Low: 6, High: 10, MinutesAtMost: 6}, 6, "true"},
		{"never diluted there", priced, knownwater.Need{Low: 2, High: 6, MinutesAtMost: 6}, 6, "true"},
		{"half of the answers take two tests: 36", priced, knownwater.Need{Low: 2, High: 10, MoneyAYear: 36, TestsAMonth: 10}, 6, "true"},
		{"less than 36", priced, knownwater.Need{Low: 2, High: 10, MoneyAYear: 35.9, TestsAMonth: 10}, 6, "false"},
		{"a quarter of the usual waters: 30", priced, knownwater.Need{Low: 2, High: 10, Usual: [2]float64{0, 8}, MoneyAYear: 30, TestsAMonth: 10}, 6, "true"},
		{"less than 30", priced, knownwater.Need{Low: 2, High: 10, Usual: [2]float64{0, 8}, MoneyAYear: 29.9, TestsAMonth: 10}, 6, "false"},
		{"minutes not stated", knownwater.Method{PackPrice: 1, PackTests: 1}, knownwater.Need{MinutesAtMost: 6}, 0, "null"},
		{"12 · 10 · 0.2 = 24", priced, knownwater.Need{MoneyAYear: 24, TestsAMonth: 10}, 0, "true"},
		{"less than 24", priced, knownwater.Need{MoneyAYear: 23.9, TestsAMonth: 10}, 0, "false"},
		{"tests a month not stated", priced, knownwater.Need{MoneyAYear: 23.9}, 0, "null"},
		{"price not stated", knownwater.Method{Minutes: 5}, knownwater.Need{MoneyAYear: 23.9, TestsAMonth: 10}, 0, "null"},
		{"one exceeded, the other not known", knownwater.Method{Minutes: 9}, knownwater.Need{MoneyAYear: 1, TestsAMonth: 1, MinutesAtMost: 6}, 0, "false"},
	} {
		got := "null"
		if v := withinLimits(c.m, c.need, c.over); v != nil {
			got = fmt.Sprint(*v)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// A question that holds back what either branch is said of holds back the procedure, but not what was
// not tried; another water's branch has no say. Branches that no sheet joins are told by one of them.
func TestProceduresAreHeldBack(t *testing.T) {
	m := knownwater.Method{Name: "m", Kind: knownwater.Display, DilutionOver: 5, DilutionFactor: 8}
	branch := func(m knownwater.Method, dilution float64, matrix string) strand {
		return strand{method: m, dilution: dilution, matrix: matrix}
	}
	strands := []strand{branch(m, 1, "sea"), branch(m, 8, "pure"), branch(m, 8, "sea"), branch(m, 4, "sea"), branch(knownwater.Method{Name: "other"}, 1, "sea"), branch(knownwater.Method{Name: "other"}, 2, "sea")}
	pairs := switches(strands)
	if !slices.Equal(pairs, [][2]int{{0, 2}}) {
		t.Fatalf("joined: %v", pairs)
	}
	var studies []*study
	for i, s := range strands {
		studies = append(studies, &study{strand: s, design: &design{n: i}})
	}
	for held := range strands {
		f := &Findings{Methods: make([]MethodFinding, len(strands))}
		for i := range f.Methods {
			f.Methods[i].Needs = []NeedFinding{{Verdict: Fit}, {Verdict: Fit}}
		}
		f.Methods[held].Needs[0].Verdict, f.Methods[held].Needs[1].Verdict = HeldBack, HeldBack
		out := procedures(studies, map[[2]int][]NeedFinding{{0, 2}: {{Verdict: Undecided}, {Verdict: NotTried}}}, f)
		verdicts := [2]string{Undecided, NotTried}
		if held == 0 || held == 2 {
			verdicts[0] = HeldBack
		}
		if len(out) != 3 || len(out[0].Branches) != 2 || out[0].Needs[0].Verdict != verdicts[0] || out[0].Needs[1].Verdict != verdicts[1] {
			t.Errorf("branch %d held back: %+v", held, out)
		}
		other := out[slices.IndexFunc(out, func(p Procedure) bool { return p.Method == "other" })]
		if len(other.Branches) != 1 || other.Branches[0].Dilution != 1 || (other.Needs[0].Verdict == HeldBack) != (held == 4) {
			t.Errorf("branch %d held back: of the other %+v", held, other)
		}
	}
}
