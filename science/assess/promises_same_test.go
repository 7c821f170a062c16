package assess_test

// What must change nothing, and what exact data must give.

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"knownwater/intake"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// asJSON is the findings as they leave, so that null equals null.
func asJSON(t *testing.T, f assess.Findings) []byte {
	t.Helper()
	b, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestOrderAndSeed(t *testing.T) {
	text := made([]float64{0, 1, 3, 8, 20}, 4, straight, 0.06, nil)
	need := needFile(1, 15, 2)
	first := assessed(t, text, meterFile, need)
	lines := strings.Split(strings.TrimSpace(text), "\n")
	slices.Reverse(lines[1:])
	if again := assessed(t, strings.Join(lines, "\n"), meterFile, need); !bytes.Equal(asJSON(t, first), asJSON(t, again)) {
		t.Error("the order of the rows changes the findings")
	}
	trial, err := intake.Trial(file("r.csv", text), file("m.toml", meterFile), file("n.toml", need))
	if err != nil {
		t.Fatal(err)
	}
	// Nor does the seed: nothing that is found hangs on it.
	other := assess.Run(trial, assess.Options{Seed: 2})
	other.Seed = first.Seed
	if !bytes.Equal(asJSON(t, first), asJSON(t, other)) {
		t.Error("the seed changes the findings")
	}
}

// same compares two numbers, b in a scale that is factor times finer.
func same(t *testing.T, what string, a, b num.Number, factor, tolerance float64) {
	t.Helper()
	if a.OK() != b.OK() || a.OK() && !(math.Abs(float64(b)-factor*float64(a)) <= tolerance*math.Abs(factor*float64(a))) {
		t.Errorf("%s: %v × %v is not %v", what, a, factor, b)
	}
}

// cardIn is a trial of a card with everything in a scale that is k times finer.
func cardIn(k float64, unit string) (readings, methods, needs string) {
	swatches := []float64{0, 2, 5, 10, 20, 40}
	rng := rand.New(rand.NewPCG(8, 9))
	var rows [][]any
	for _, c := range []float64{0, 3, 7, 14, 28} {
		for r := range 6 {
			y, best := c*(1+0.2*rng.NormFloat64()), 0.0
			for _, s := range swatches {
				if math.Abs(s-y) < math.Abs(best-y) {
					best = s
				}
			}
			rows = append(rows, []any{"Card", k * c, k * best, k * 0.05, fmt.Sprint("r", r%3)})
		}
	}
	for i := range swatches {
		swatches[i] *= k
	}
	list := strings.Join(strings.Fields(fmt.Sprint(swatches)), ", ")
	methods = fmt.Sprintf("analyte = \"nitrate\"\nunit = %q\n[[method]]\nname = \"Card\"\nkind = \"chart\"\nswatches = %s\n", unit, list)
	return table("method,level,reading,u_level,reader", rows...), methods, needFile(2*k, 20*k, 3*k)
}

// The scale changes nothing: the readings walk the same chain in any unit, whose
// factor need not be a power of two.
func TestUnitsChangeNothing(t *testing.T) {
	run := func(k float64, unit string) assess.MethodFinding {
		r, m, n := cardIn(k, unit)
		return assessed(t, r, m, n).Methods[0]
	}
	a := run(1, "mg/L")
	for _, c := range []struct {
		unit              string
		factor, tolerance float64
	}{{"mg/L", 16, 1e-9}, {"umol/L", 16.1278, 1e-4}} { // 1 mg/L NO3 = 16.1278 µmol/L
		b := run(c.factor, c.unit)
		for i := range a.Levels {
			x, y := a.Levels[i], b.Levels[i]
			same(t, fmt.Sprintf("mean at %v", x.Level), x.Mean, y.Mean, c.factor, c.tolerance)
			same(t, fmt.Sprintf("mean's upper limit at %v", x.Level), x.MeanHigh, y.MeanHigh, c.factor, c.tolerance)
			same(t, fmt.Sprintf("spread at %v", x.Level), x.SD, y.SD, c.factor, c.tolerance)
			same(t, fmt.Sprintf("recovery at %v", x.Level), x.Recovery, y.Recovery, 1, c.tolerance)
		}
		same(t, "slope", a.Line.Slope, b.Line.Slope, 1, c.tolerance)
		same(t, "kappa", a.Spread.Kappa, b.Spread.Kappa, 1, c.tolerance)
		same(t, "detection limit", a.Limits.Detection, b.Limits.Detection, c.factor, c.tolerance)
		same(t, "error as read", a.Needs[0].Raw.Error95, b.Needs[0].Raw.Error95, c.factor, c.tolerance)
		same(t, "error corrected", a.Needs[0].Corrected.Error95, b.Needs[0].Corrected.Error95, c.factor, c.tolerance)
		if a.Needs[0].Verdict != b.Needs[0].Verdict || a.Shape.Name != b.Shape.Name {
			t.Errorf("in %s the verdict is %q and the shape %q; in mg/L %q and %q", c.unit, b.Needs[0].Verdict, b.Shape.Name, a.Needs[0].Verdict, a.Shape.Name)
		}
		for i := range a.ReadBack {
			same(t, "what "+a.ReadBack[i].Reading+" says", a.ReadBack[i].High, b.ReadBack[i].High, c.factor, c.tolerance)
		}
	}
}

// Readings that nothing ties together count one by one, however they are written.
func TestTwiceIsWeightTwo(t *testing.T) {
	text := made([]float64{0, 2, 6, 15}, 3, straight, 0.05, nil)
	text = strings.ReplaceAll(text, ",vial", ",note") // no vials: every row stands alone
	trial, err := intake.Trial(file("r.csv", text), file("m.toml", meterFile), intake.Source{})
	if err != nil {
		t.Fatal(err)
	}
	double, twice := trial, trial
	double.Observations = slices.Clone(trial.Observations)
	for i := range double.Observations {
		double.Observations[i].Count *= 2
	}
	twice.Observations = append(slices.Clone(trial.Observations), trial.Observations...)
	o := assess.Options{Seed: 3}
	a, b := assess.Run(double, o).Methods[0], assess.Run(twice, o).Methods[0]
	if a.N != b.N {
		t.Errorf("%d and %d readings", a.N, b.N)
	}
	for i := range a.Levels {
		same(t, "mean", a.Levels[i].Mean, b.Levels[i].Mean, 1, 1e-9)
		same(t, "lower limit", a.Levels[i].MeanLow, b.Levels[i].MeanLow, 1, 1e-9)
		same(t, "spread", a.Levels[i].SD, b.Levels[i].SD, 1, 1e-9)
	}
	once := assess.Run(trial, o).Methods[0].Levels[3]
	if w := a.Levels[3].MeanHigh - a.Levels[3].MeanLow; !(w < 0.9*(once.MeanHigh-once.MeanLow)) {
		t.Errorf("twice the readings leave the interval at %v, once it was %v", w, once.MeanHigh-once.MeanLow)
	}
}

// A display with fine steps gives what the textbook gives for exact readings:
// the average, its bias and recovery, and about the t limits of the pooled
// spread (here 20 degrees of freedom, constant spread).
func TestFineDisplayGivesTheTextbook(t *testing.T) {
	levels, const0 := []float64{5, 10, 20, 40}, []float64{-0.42, 0.31, 0.12, -0.18, 0.27, -0.10}
	var rows [][]any
	square := 0.0
	for _, c := range levels {
		for i, e := range const0 {
			rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.3f", c+1+e), 0.05, i})
			square += e * e
		}
	}
	m := assessed(t, table("method,level,reading,u_level,replicate", rows...), "", "").Methods[0]
	sd := math.Sqrt(square / 20) // the six deviations add up to 0
	half, own := num.TQuantile(0.975, 20)*sd/math.Sqrt(6), num.TQuantile(0.975, 5)*sd/math.Sqrt(6)
	for _, l := range m.Levels {
		about(t, "the mean", l.Mean, l.Level+1, 1e-3)
		about(t, "the bias", l.Bias, 1, 1e-3)
		about(t, "the recovery", l.Recovery, 100*(l.Level+1)/l.Level, 0.02)
		about(t, "the spread", l.SD, sd, 0.1*sd)
		// Nobody said that the spread is the same everywhere: wider than the pooled
		// limits, no wider than the level's own.
		if w := float64(l.MeanHigh-l.MeanLow) / 2; w < 0.95*half || w > 1.05*own {
			t.Errorf("half the mean's interval is %v, want between the pooled %v and the level's own %v", w, half, own)
		}
		about(t, "one reading's uncertainty", l.SingleU, math.Hypot(float64(l.SD), 0.05), 1e-9)
		if !(l.BiasHigh-l.BiasLow > l.MeanHigh-l.MeanLow) {
			t.Errorf("the known's own doubt is not inside the bias: %v to %v", l.BiasLow, l.BiasHigh)
		}
	}
	about(t, "the slope", m.Line.Slope, 1, 0.02)
	about(t, "the intercept", m.Line.Intercept, 1, 0.3)
}

// A wider reading never says more than a narrower one inside it.
func TestWiderReadingIsNoNarrowerBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var rows [][]any
	for _, c := range []float64{0, 2, 5, 10, 20} {
		for range 4 {
			rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.1f", math.Abs(0.4+1.02*c+0.3*rng.NormFloat64()))})
		}
	}
	inside := [][2]string{{"7.0", "6.5..7.5"}, {"6.5..7.5", "6..8"}, {"6..8", "4..9"}, {"4..9", "<9"}}
	for _, w := range inside {
		rows = append(rows, []any{"Meter", 7, w[0]}, []any{"Meter", 7, w[1]})
	}
	m := assessed(t, table("method,level,reading", rows...), nitrate+"[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.1\n", "").Methods[0]
	back := map[string]assess.ReadBack{}
	for _, rb := range m.ReadBack {
		back[rb.Reading] = rb
	}
	for _, w := range inside {
		narrow, wide := back[w[0]], back[w[1]]
		if narrow.Reading == "" || wide.Reading == "" || wide.Low > narrow.Low || wide.High < narrow.High {
			t.Errorf("%q says %v to %v, %q says %v to %v", w[0], narrow.Low, narrow.High, w[1], wide.Low, wide.High)
		}
	}
}
