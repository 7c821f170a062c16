package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// promiseTrial is a display whose error is constant; permitted is the same everywhere.
func promiseTrial(sd, permitted, uLevel float64, vials, readers int, seed uint64) knownwater.Trial {
	rng := rand.New(rand.NewPCG(seed, 2))
	m := knownwater.Method{Name: "m", Kind: knownwater.Display, Resolution: 0.01}
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	t := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{m}, WaterStated: true,
		Needs: []knownwater.Need{{Name: "n", Low: 1, High: 12, Permitted: []knownwater.Permit{{At: 1, Error: permitted}, {At: 12, Error: permitted}}}}}
	people := make([]float64, max(1, readers))
	for i := range people {
		people[i] = 2 * sd * rng.NormFloat64() * float64(min(1, readers))
	}
	for _, c := range []float64{0, 1, 2, 4, 8, 12} {
		true := c + uLevel*rng.NormFloat64()
		for v := range vials {
			for r := range people {
				text := reading.Show(true+people[r]+sd*rng.NormFloat64(), m)
				seen, _ := reading.Understand(text, m)
				o := knownwater.Observation{Method: "m", Level: c, ULevel: uLevel, Text: text, Seen: seen, Dilution: 1, Count: 1, Vial: fmt.Sprint(c, v)}
				if readers > 0 {
					o.Reader = fmt.Sprint("r", r)
				}
				t.Observations = append(t.Observations, o)
			}
		}
	}
	return t
}

// The more room, the fewer tests are named; they are a whole number of rounds, and
// what would help fits what holds the need back.
func TestMoreTests(t *testing.T) {
	need := func(tr knownwater.Trial) NeedFinding {
		return Run(tr, Options{Brief: true, Promises: true}).Methods[0].Needs[0]
	}
	last := math.Inf(1)
	for _, permitted := range []float64{1, 1.1, 1.2} {
		n := need(promiseTrial(0.3, permitted, 0, 3, 0, 3))
		if n.Verdict != Undecided || !n.MoreTests.OK() || n.Help[0].What != "tests" || n.Help[0].Tests != int(n.MoreTests) || n.Help[0].Each*6 != n.Help[0].Tests {
			t.Fatalf("permitted %g: %s, %v more, %v", permitted, n.Verdict, n.MoreTests, n.Help)
		}
		if !(float64(n.MoreTests) < last) {
			t.Errorf("permitted %g: %v more, and %g with less room", permitted, n.MoreTests, last)
		}
		last = float64(n.MoreTests)
	}
	if n := need(promiseTrial(0.3, 0.7, 0, 3, 0, 3)); n.MoreTests.OK() || len(n.Help) > 0 || n.Why[0].Code != "too-close" {
		t.Errorf("at the border: %v more, %v, %v", n.MoreTests, n.Help, n.Why)
	}
	if n := need(promiseTrial(0.03, 0.5, 0.4, 3, 0, 4)); n.MoreTests.OK() || len(n.Help) != 1 || n.Help[0].What != "knowns" || n.Why[0].Code != "knowns-too-loose" {
		t.Errorf("doubtful knowns: %s, %v more, %v, %v", n.Verdict, n.MoreTests, n.Help, n.Why)
	}
	if n := need(promiseTrial(0.1, 2, 0, 6, 2, 5)); n.MoreTests.OK() || len(n.Help) != 1 || n.Help[0].What != "readers" || n.Why[0].Code != "too-few-readers" {
		t.Errorf("two people who differ: %s, %v more, %v, %v", n.Verdict, n.MoreTests, n.Help, n.Why)
	}
}

// Two lots hardly tell how lots differ: what helps is more of them.
func TestMoreLots(t *testing.T) {
	tr := promiseTrial(0.3, 5, 0, 6, 0, 9)
	for i := range tr.Observations {
		tr.Observations[i].Lot = []string{"A", "B"}[i%2]
	}
	n := Run(tr, Options{Brief: true, Promises: true}).Methods[0].Needs[0]
	if n.MoreTests.OK() || len(n.Help) != 1 || n.Help[0].What != "lots" || n.Help[0].Each != someNew || n.Why[0].Code != "too-few-lots" {
		t.Errorf("%s, %v more, %v, %v", n.Verdict, n.MoreTests, n.Help, n.Why)
	}
	// Read once at every known, new lots are not judged themselves, and hold the method back: what is
	// settled is the verdict on a lot that was not tried, and no more is promised.
	rng := rand.New(rand.NewPCG(5, 2))
	for _, c := range []float64{0, 1, 2, 4, 8, 12} {
		for lot := range someNew {
			text := reading.Show(c+0.3*rng.NormFloat64(), tr.Methods[0])
			seen, _ := reading.Understand(text, tr.Methods[0])
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: "m", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1, Lot: fmt.Sprint("new", lot), Vial: fmt.Sprint(c, "new", lot)})
		}
	}
	after := Run(tr, Options{Brief: true}).Methods[0].Needs[0]
	if after.Verdict != Undecided || *after.UntriedLot != Fit {
		t.Errorf("with four lots more: %s, a lot not tried %s", after.Verdict, *after.UntriedLot)
	}
}

// Of two people no least number of new ones is named, as it would be another one with other random
// numbers: four, where they would do, or else the chance that they do, the same within two tenths.
func TestFewReadersTellLittle(t *testing.T) {
	codes := map[string]int{}
	low, high := 10.0, 0.0
	for task := range 4 {
		tr := promiseTrial(0.1, 1.5, 0, 6, 2, 5)
		for i := range tr.Observations { // moved by millionths: other random numbers
			tr.Observations[i].Seen.Low += 1e-5 * float64(task)
			tr.Observations[i].Seen.High += 1e-5 * float64(task)
		}
		n := Run(tr, Options{Brief: true, Promises: true}).Methods[0].Needs[0]
		if len(n.Why) != 1 || n.MoreTests.OK() {
			t.Fatalf("%s, %v", n.Verdict, n.Why)
		}
		why := n.Why[0]
		codes[why.Code]++
		if why.Numbers["new"][0] != someNew {
			t.Errorf("%+v", why)
		}
		chance := 10.0 * promiseKept / promiseTruths
		if c := why.Numbers["of10"]; c != nil {
			chance = float64(c[0])
		}
		low, high = math.Min(low, chance), math.Max(high, chance)
	}
	if codes["readers-tell-little"] == 0 || codes["readers-tell-little"]+codes["too-few-readers"] < 4 || high-low > 2 {
		t.Errorf("%v, in %g to %g of 10 cases", codes, low, high)
	}
}

// The ensemble is exact where all is normal: n further readings of a mean known from
// n0 before leave it √(n0/(n0+n)) as wide (conjugate normal, closed form).
func TestForesightIsConjugate(t *testing.T) {
	tr := promiseTrial(0.3, 1, 0, 12, 0, 6)
	s := split(tr)[0]
	st := &study{strand: s, design: newDesign(s, Options{}), needs: tr.Needs, scale: tr.Scale}
	st.start()
	st.fit()
	st.respond()
	f := st.foresee([]float64{4}, 60)
	for _, n := range []int{4, 12, 64} {
		l, ok := f.after(f.truths[7], further{tests: n, knowns: 1})
		if !ok {
			t.Fatal("no answer")
		}
		ratio := math.Sqrt(l.at(4).varMean() / variance(f.wide.x[0]))
		if want := math.Sqrt(12 / (12 + float64(n))); !(math.Abs(ratio-want) <= 0.2*want) {
			t.Errorf("%d further readings leave %.3f of the width, want about %.3f", n, ratio, want)
		}
	}
	// The response goes from what it is now to the truth: all the way by a million readings, nowhere by none.
	for _, truth := range f.truths[:20] {
		for _, x := range []struct {
			tests    int
			to, near float64
		}{{0, st.turnNow(4).at(4), 0.2 * math.Sqrt(f.form.varX[0])}, {1e6, f.form.x[0][truth], 3 * 0.3 / 1e3}} {
			l, ok := f.after(truth, further{tests: x.tests, knowns: 1})
			if got := st.turnNow(4).at(4) + l.shift(4); !ok || !(math.Abs(got-x.to) <= x.near) {
				t.Errorf("truth %d, %d readings: the response goes to %.5f, not %.5f ± %.5f", truth, x.tests, got, x.to, x.near)
			}
		}
	}
}

// What further readings tell of a log spread is ½·log(χ²_ν/ν): its quantiles are those of
// χ² (by the incomplete gamma function, another way than the draws), and its variance is
// ψ′(ν/2)/4, to three standard errors of 40,000 draws.
func TestSignOfASpread(t *testing.T) {
	for _, nu := range []float64{0.5, 2, 11.5, 63.5} {
		s, rng := signOfLog(0, nu), num.Source(1, 2)
		const n = 40000
		draws := make([]float64, n)
		for i := range draws {
			draws[i] = s.noise(rng)
		}
		if v := variance(draws); math.Abs(v/s.variance-1) > 3*math.Sqrt(8.0/n) { // kurtosis at most 9
			t.Errorf("ν = %g: variance %v, want %v", nu, s.variance, v)
		}
		slices.Sort(draws)
		for _, p := range []float64{0.025, 0.5, 0.975} {
			at := 0.5 * math.Log(num.ChiSquareQuantile(p, nu)/nu)
			below, _ := slices.BinarySearch(draws, at)
			if got := float64(below) / n; math.Abs(got-p) > 3*math.Sqrt(p*(1-p)/n) {
				t.Errorf("ν = %g: %v below the %g quantile", nu, got, p)
			}
		}
	}
}

// One repeat in all gives no interval, and says what would; two give one.
func TestNoIntervalYet(t *testing.T) {
	of := func(texts ...string) MethodFinding {
		tr := promiseTrial(0.3, 1, 0, 1, 0, 7)
		tr.Observations = nil
		for _, text := range texts {
			seen, _ := reading.Understand(text, tr.Methods[0])
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: "m", Level: 5, Text: text, Seen: seen, Dilution: 1, Count: 1})
		}
		return Run(tr, Options{}).Methods[0]
	}
	said := func(m MethodFinding) (yes bool) {
		for _, n := range m.Notes {
			yes = yes || n.Code == "no-interval-yet"
		}
		return yes
	}
	two, three := of("5.3", "5.1"), of("5.3", "5.1", "5.2")
	if l := two.Levels[0]; l.MeanLow.OK() || l.MeanHigh.OK() || l.SDHigh.OK() || l.BiasLow.OK() || l.SingleU.OK() || !said(two) {
		t.Errorf("two readings: %+v", l)
	}
	if l := three.Levels[0]; !l.MeanLow.OK() || !l.MeanHigh.OK() || !l.SDHigh.OK() || said(three) {
		t.Errorf("three readings: %+v", l)
	}
}

// Far from the switch a procedure's averages are those of the branch that is used
// there; they are judged for each use, and more tests are named as for one branch.
func TestAveragesOfAProcedure(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 2))
	m := knownwater.Method{Name: "m", Kind: knownwater.Display, Resolution: 0.1, DilutionOver: 10, DilutionFactor: 4}
	tr := promiseTrial(0.3, 1, 0, 1, 0, 7)
	tr.Methods, tr.Observations = []knownwater.Method{m}, nil
	tr.Needs = []knownwater.Need{{Name: "low", Low: 1, High: 5, Permitted: []knownwater.Permit{{At: 1, Error: 2}, {At: 5, Error: 2}}},
		{Name: "all", Low: 1, High: 35, Permitted: []knownwater.Permit{{At: 1, Error: 1.2}, {At: 35, Error: 5}}}}
	for _, b := range []struct {
		dilution float64
		levels   []float64
	}{{1, []float64{0, 2, 5, 8, 12}}, {4, []float64{1, 8, 12, 20, 35}}} {
		for _, c := range b.levels {
			for range 5 {
				text := reading.Show(c/b.dilution+0.2*rng.NormFloat64(), m)
				seen, _ := reading.Understand(text, m)
				tr.Observations = append(tr.Observations, knownwater.Observation{Method: "m", Level: c, Text: text, Seen: seen, Dilution: b.dilution, Count: 1})
			}
		}
	}
	f := Run(tr, Options{})
	p, plain := f.Procedures[0], f.Methods[0]
	if len(p.Branches) != 2 || len(p.Needs[0].Averages) != 2 || len(p.Needs[1].Averages) != 2 {
		t.Fatalf("%+v", p)
	}
	for i, a := range p.Needs[0].Averages {
		b := plain.Needs[0].Averages[i]
		if a.N != b.N || a.Verdict != b.Verdict || !(math.Abs(float64(a.Error95/b.Error95)-1) <= 0.03) || !(math.Abs(float64(a.High/b.High)-1) <= 0.05) {
			t.Errorf("average of %d: %+v, of the branch alone %+v", a.N, a, b)
		}
	}
	if n := p.Needs[1]; n.Verdict == Undecided && !n.MoreTests.OK() && len(n.Why) == 0 {
		t.Errorf("undecided without a number or a reason: %+v", n)
	}
}

// The least number that is enough is the first of those tried from which on all are.
func TestLeastOf(t *testing.T) {
	for want, from := range map[int]int{1: 1, 2: 2, 6: 5, 11: 11, 45: 44, 64: 46} {
		if n, ok := leastOf(64, func(n int) bool { return n >= from }); !ok || n != want {
			t.Errorf("enough from %d on: %d, %v; want %d", from, n, ok, want)
		}
	}
	if n, ok := leastOf(10, func(n int) bool { return n >= 8 }); !ok || n != 8 {
		t.Errorf("up to 10: %d, %v; want 8", n, ok)
	}
	if n, ok := leastOf(10, func(n int) bool { return n > 8 }); ok {
		t.Errorf("none of those up to 10 is enough, and yet %d", n)
	}
	if n, ok := leastOf(0, func(int) bool { return true }); ok {
		t.Errorf("none is allowed, and yet %d", n)
	}
}

// Failing somewhere, at another place in every truth, settles nothing: which place it is that fails
// is what nobody knows. At one place it does, and passing counts with it.
func TestTruthsFailTogetherAtOnePlace(t *testing.T) {
	p := promise{spots: make([]float64, 4)}
	at := func(places ...int) outcome {
		o := outcome{fails: make([]bool, 4)}
		for _, i := range places {
			o.fails[i] = true
		}
		return o
	}
	for _, c := range []struct {
		outcomes []outcome
		settled  int
	}{
		{[]outcome{at(0), at(1), at(2), at(3)}, 1},
		{[]outcome{at(0, 2), at(1, 2), at(2), at(3)}, 3},
		{[]outcome{{fits: true}, at(1), {}, at(), at(1, 3)}, 3},
		{[]outcome{{fits: true}, {fits: true}}, 2},
	} {
		tally := p.tally()
		for _, o := range c.outcomes {
			tally.add(o)
		}
		if tally.settled() != c.settled || tally.of != len(c.outcomes) {
			t.Errorf("%+v: %d settled of %d, want %d", c.outcomes, tally.settled(), tally.of, c.settled)
		}
	}
}
