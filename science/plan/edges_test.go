package plan

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"knownwater"
	"knownwater/science/num"
)

// The middle of what is known: of an even count the average of the two in the middle; of what
// is mostly not known nothing.
func TestMedianOfRuns(t *testing.T) {
	nan := math.NaN()
	for _, x := range []struct {
		of   []float64
		want float64
	}{
		{[]float64{3, 1, 2}, 2}, {[]float64{4, 1, 3, 10}, 3.5}, {[]float64{nan, 2, 4, nan}, 3}, {[]float64{nan, nan, 5}, nan}, {nil, nan}, {[]float64{7}, 7},
	} {
		if got := median(x.of); got != x.want && !(math.IsNaN(got) && math.IsNaN(x.want)) {
			t.Errorf("median of %v: %v, want %v", x.of, got, x.want)
		}
	}
}

// How many times as far as its lower limit a spread's upper one lies, its root; nothing where
// either is open, or the lower one nothing.
func TestFactorOfLimits(t *testing.T) {
	end := num.Number(math.Inf(1))
	for _, x := range []struct{ low, high, want num.Number }{{1, 4, 2}, {0, 4, num.None}, {num.None, 4, num.None}, {1, num.None, num.None}, {1, end, num.None}} {
		if got := factor(x.low, x.high); num.Number(got) != x.want && (num.Number(got).OK() || x.want.OK() || !math.IsNaN(got)) {
			t.Errorf("%g to %g: %g, want %g", x.low, x.high, got, x.want)
		}
	}
}

// Each number that a plan cannot have is refused by itself.
func TestLayRefusesEachBySelf(t *testing.T) {
	for name, change := range map[string]func(*Design){
		"blanks":      func(d *Design) { d.Blanks = -1 },
		"duplicates":  func(d *Design) { d.Duplicates = -1 },
		"check every": func(d *Design) { d.CheckEvery = -1 },
		"check":       func(d *Design) { d.Check = len(d.Knowns) },
		"readers":     func(d *Design) { d.Readers = -1 },
		"sessions":    func(d *Design) { d.Sessions = -1 },
		"too many":    func(d *Design) { d.Duplicates = MostVials/(d.Sessions*len(d.Methods)) + 1 },
	} {
		d := design()
		change(&d)
		if _, err := Lay(d, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// What is typed as minutes is a preparation, a wait and a reading of 20 s, in all as long
// as was typed.
func TestStepsOfMinutes(t *testing.T) {
	for _, x := range []struct{ minutes, hands, prepare, wait float64 }{{10, 2, 100, 500}, {1, 0.2, 0, 60}, {3, 1, 40, 140}} {
		s := StepsOf(nil, x.minutes, x.hands)
		if len(s) != 3 || s[0].Seconds != x.prepare || s[1].Seconds != x.wait || s[2].Seconds != 20 || !s[0].HandsOn || s[1].HandsOn || !s[2].HandsOn {
			t.Errorf("%g minutes, %g hands on: %+v, want %g and %g s before the reading", x.minutes, x.hands, s, x.prepare, x.wait)
		}
	}
	typed := []knownwater.Step{{Name: "dip", Seconds: 4}}
	if s := StepsOf(typed, 10, 2); len(s) != 1 || s[0].Name != "dip" {
		t.Errorf("typed steps: %+v", s)
	}
}

// A step at fault is counted from one.
func TestStepAtFaultIsNamed(t *testing.T) {
	ok := knownwater.Step{Name: "fill", Seconds: 1}
	for _, x := range []struct {
		bad  knownwater.Step
		want string
	}{
		{knownwater.Step{Seconds: 1}, "step 2 has no name"},
		{knownwater.Step{Name: "x", Seconds: -1}, "step 2 (x) takes -1 seconds: 0 to a day"},
		{knownwater.Step{Name: "x", Within: -1}, "step 2 (x) must be read within -1 seconds: 0 (any time) to a day"},
		{knownwater.Step{Name: "x", Within: 5}, "step 2 (x) has a reading window, but only the last step is the reading"},
	} {
		err := ValidSteps([]knownwater.Step{ok, x.bad, ok})
		if err == nil || err.Error() != x.want {
			t.Errorf("%+v: %v, want %s", x.bad, err, x.want)
		}
	}
	for _, day := range []knownwater.Step{{Name: "x", Seconds: 86400}, {Name: "x", Within: 86400}} {
		if err := ValidSteps([]knownwater.Step{ok, day}); err != nil {
			t.Errorf("a whole day: %v", err)
		}
		day.Seconds, day.Within = 1.001*day.Seconds, 1.001*day.Within
		if ValidSteps([]knownwater.Step{ok, day}) == nil {
			t.Errorf("more than a day: %+v", day)
		}
	}
}

// Levels beside a limit lie half the permitted error off it, but not at less than half of
// the limit; where nothing is permitted, or the limit is nothing, there are none.
func TestLevelsBesideALimit(t *testing.T) {
	permit := func(e float64) []knownwater.Permit { return []knownwater.Permit{{At: 1, Error: e}} }
	for _, x := range []struct {
		need knownwater.Need
		want []float64
	}{
		{knownwater.Need{Low: 2, High: 8, Permitted: permit(1)}, []float64{1.5, 2.5, 7.5, 8.5}},
		{knownwater.Need{Low: 2, High: 8, Permitted: permit(6)}, []float64{1, 5, 5, 11}},
		{knownwater.Need{Low: 0, High: 8, Permitted: permit(1)}, []float64{7.5, 8.5}},
		{knownwater.Need{Low: 2, High: 8, Permitted: permit(0)}, nil},
	} {
		got := atLimits([]knownwater.Need{x.need})
		if len(got) != len(x.want) {
			t.Errorf("%+v: %v, want %v", x.need, got, x.want)
			continue
		}
		for i := range got {
			if got[i].Level != x.want[i] {
				t.Errorf("%+v: %v, want %v", x.need, got, x.want)
			}
		}
	}
}

// Levels beside a join are for methods that dilute: a twentieth below it and a little above, and steps of 1.4 from a fifth above.
func TestLevelsBesideAJoin(t *testing.T) {
	levels := func(all []Proposed) (out []float64) {
		for _, p := range all {
			out = append(out, digits(p.Level, 4))
		}
		return out
	}
	dilutes := knownwater.Method{DilutionOver: 10, DilutionFactor: 4}
	if got := levels(atJoins([]knownwater.Method{dilutes})); !slices.Equal(got, []float64{9.5, 11.5}) {
		t.Errorf("at a join of 10: %v", got)
	}
	if got := levels(aboveJoins([]knownwater.Method{dilutes}, 30)); !slices.Equal(got, []float64{12, 16.8, 23.52}) {
		t.Errorf("above a join of 10, up to 30: %v", got)
	}
	never := []knownwater.Method{{DilutionOver: 10}, {DilutionOver: 10, DilutionFactor: 1}}
	if got := append(atJoins(never), aboveJoins(never, 30)...); got != nil {
		t.Errorf("of methods that do not dilute: %v", got)
	}
}

// Two levels are no nearer than 15 % of the larger, counted from the bottom; the blank has no neighbours.
func TestApart(t *testing.T) {
	for _, x := range []struct {
		v, bottom float64
		want      bool
	}{{0.01, 0, true}, {8.4, 0, true}, {8.6, 0, false}, {11.7, 0, false}, {11.8, 0, true}, {9.65, 8, true}, {9.75, 8, false}, {10.3, 8, false}, {10.4, 8, true}} {
		if got := apart(x.v, []Proposed{{Level: 0}, {Level: 10}}, x.bottom); got != x.want {
			t.Errorf("%g beside 10, from %g: apart %v", x.v, x.bottom, got)
		}
	}
}

// Steps by factors of two are for methods without swatches.
func TestLadderWithoutSwatches(t *testing.T) {
	steps := func(m knownwater.Method) (n int) {
		for _, p := range Levels([]knownwater.Method{m}, nil) {
			if p.Why.Code == "ladder-step" {
				n++
			}
		}
		return n
	}
	if n := steps(card); n != 0 {
		t.Errorf("%d steps of a ladder for a chart", n)
	}
	if n := steps(meter); n < 4 {
		t.Errorf("%d steps of a ladder for a display", n)
	}
}

// A guess that nobody gave is that of its kind, with readings that follow the concentration;
// one with a spread stays.
func TestFilledGuess(t *testing.T) {
	if g := (Guess{}).Fill(meter); g.Slope != 1 || g.From != byKind || !(math.Abs(g.Sigma0-2*0.1) <= 1e-12) { // two steps of a tenth
		t.Errorf("of its kind: %+v", g)
	}
	if g := (Guess{Slope: 0.5}).Fill(meter); g.Slope != 0.5 || !(g.Sigma0 > 0) {
		t.Errorf("with a slope: %+v", g)
	}
	for _, given := range []Guess{{Slope: 0.9, Sigma0: 0.2}, {Slope: 0.9, Kappa: 0.2}} {
		if g := given.Fill(meter); g != given {
			t.Errorf("given %+v: %+v", given, g)
		}
	}
}

// Checks stand at both ends of a method's run and after every so many of its vials: of n
// vials 1 + ⌈n/5⌉.
func TestNumberOfChecks(t *testing.T) {
	d := design()
	vials, checks := map[[2]int]int{}, map[[2]int]int{} // method, session
	for _, v := range lay(t, d, 6) {
		if key := [2]int{v.Method, v.Session}; v.Role == Check {
			checks[key]++
		} else {
			vials[key]++
		}
	}
	for key, n := range vials {
		if want := 1 + (n+d.CheckEvery-1)/d.CheckEvery; checks[key] != want {
			t.Errorf("method %d, session %d: %d checks among %d vials, want %d", key[0], key[1], checks[key], n, want)
		}
	}
}

// A plan that asks for more vials, checks and duplicates among them, than there are codes is refused.
func TestMoreVialsThanCodes(t *testing.T) {
	d := Design{Knowns: []DesignKnown{{Level: 1}}, Methods: []DesignMethod{{Techniques: []string{""}}}, Readers: 1, Sessions: 1, Replicates: 19000, CheckEvery: 1, Duplicates: 4000}
	if _, err := Lay(d, 1); err == nil {
		t.Error("46,000 vials have codes")
	}
	d.Duplicates = 0
	if vials, err := Lay(d, 1); err != nil || len(vials) != 38001 {
		t.Errorf("%d vials, %v", len(vials), err)
	}
}

// The candidate that is farthest from all that is chosen.
func TestFarthestCandidate(t *testing.T) {
	chosen := []Proposed{{Level: 0}, {Level: 10}}
	rest := []Proposed{{Level: 9}, {Level: 1}, {Level: 3}, {Level: 9.9}}
	if i := farthest(rest, chosen, 0, 10); rest[i].Level != 1 { // from nothing on a scale that is logarithmic: 3 lies near 10
		t.Errorf("farthest of nothing and ten: %v", rest[i].Level)
	}
	if i := farthest([]Proposed{{Level: 4.5}, {Level: 6}}, []Proposed{{Level: 2}, {Level: 10}}, 2, 10); i != 1 { // far from nothing straight
		t.Errorf("farthest of 2 and 10 is candidate %d", i)
	}
	if i := farthest([]Proposed{{Level: 8}, {Level: 9.5}, {Level: 11}}, []Proposed{{Level: 8.1}, {Level: 10.9}}, 7, 11); i != 1 {
		t.Errorf("farthest of 8.1 and 10.9 is candidate %d", i)
	}
}

// A simulated reading says where it stands, as a file's rows do, and carries its known as stated.
func TestSimulatedRows(t *testing.T) {
	tr := simTrial(t, 2)
	got := tr.simulate(rand.New(rand.NewPCG(1, 1)))
	i := 0
	for v, vial := range tr.Vials {
		for _, r := range vial.Readers {
			o, k := got.Observations[i], tr.Knowns[vial.Known]
			if o.Row != v+2 || o.Level != k.Level || o.ULevel != k.U || o.UShared != k.UShared || o.UBackground != k.UBackground || o.Reader != strconv.Itoa(r+1) || o.Session != strconv.Itoa(vial.Session) || o.Dilution != vial.Dilution || o.Vial != vial.Code {
				t.Fatalf("reading %d: %+v of vial %+v", i, o, vial)
			}
			i++
		}
	}
	if i != len(got.Observations) {
		t.Errorf("%d readings, want %d", len(got.Observations), i)
	}
}

// Steps far from zero are even, from the lowest level on and with the highest among them; digits
// are counted from the first that is not zero.
func TestEvenSteps(t *testing.T) {
	rungs := ladder([]knownwater.Method{meter}, 10, 10+MostLevels)
	if len(rungs) != MostLevels {
		t.Fatalf("%d rungs, want %d", len(rungs), MostLevels)
	}
	for i, r := range rungs {
		if want := 11 + float64(i); r.Level != want {
			t.Errorf("rung %d at %v, want %v", i+1, r.Level, want)
		}
	}
	for _, x := range []struct {
		v    float64
		n    int
		want float64
	}{{1.2345, 2, 1.2}, {0.0012345, 3, 0.00123}, {98765, 2, 99000}, {-1.26, 2, -1.3}, {0, 2, 0}} {
		if got := digits(x.v, x.n); got != x.want {
			t.Errorf("%v to %d digits: %v, want %v", x.v, x.n, got, x.want)
		}
	}
}

// What just fits touches nothing: between hands that are free at 60 and busy again from 180 lie 80 seconds, with 20 to turn round before and after.
func TestClash(t *testing.T) {
	d := &diary{busy: []span{{0, 60}, {180, 200}}}
	for _, x := range []struct {
		from, to float64
		until    float64 // 0: no clash
	}{{80, 160, 0}, {79.9, 100, 80}, {80, 160.1, 220}, {100, 100, 0}, {170, 190, 220}, {220, 300, 0}} {
		if until, hit := d.clash(x.from, x.to, 20); hit != (x.until > 0) || until != x.until {
			t.Errorf("%g to %g: clash %v, until %g", x.from, x.to, hit, until)
		}
	}
}

// A vial starts so that its first hands-on step begins when its reader has turned round from the
// last: what comes before that step goes on meanwhile.
func TestStartsAsEarlyAsHandsAllow(t *testing.T) {
	busy := &diary{}
	busy.add([]span{{0, 100}}, 0, 100)
	if got := earliest([]span{{30, 50}}, 60, []*diary{busy}, Pace{Between: 10}); got != 80 { // hands from 110 on
		t.Errorf("starts at %v, want 80", got)
	}
}
