package choose

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// bench is findings of one method with a bias and a half-width at each level.
func bench(levels, bias, half []float64) Trial {
	m := assess.MethodFinding{Method: "Card", Dilution: 1}
	for i, l := range levels {
		m.Levels = append(m.Levels, assess.LevelFinding{Level: l, Bias: num.Number(bias[i]), BiasLow: num.Number(bias[i] - half[i]), BiasHigh: num.Number(bias[i] + half[i])})
	}
	return Trial{Findings: assess.Findings{Methods: []assess.MethodFinding{m}}}
}

// By hand. At 2 the second bench's bias lies half way between 0.2 ± 0.4 at 1 and 0.6 ± 0.3 at 3:
// 0.4 ± √(0.2² + 0.15²) = 0.4 ± 0.25. Against 0.1 ± 0.6: 0.3 ± 0.65, E_n 0.3/0.65.
func TestAgreeByHand(t *testing.T) {
	a := bench([]float64{2, 9}, []float64{0.1, 0}, []float64{0.6, 0.1})
	b := bench([]float64{1, 3}, []float64{0.2, 0.6}, []float64{0.4, 0.3})
	all := Agree(a, b, nil, nil)
	if len(all) != 1 || len(all[0].Levels) != 1 {
		t.Fatalf("9 lies beyond what the second tried: %+v", all)
	}
	l := all[0].Levels[0]
	near(t, "difference", l.Difference, 0.3)
	near(t, "low", l.Low, 0.3-0.65)
	near(t, "E_n", l.En, 0.3/0.65)
	if all[0].Verdict != assess.Undecided {
		t.Errorf("%+v", all[0])
	}
}

// Two benches have one method, that flattens off, at knowns of their own: straight lines between the
// knowns of the second miss it, and told them apart in 17 of 60 made-up trials.
func TestAgreeBetweenKnownsOfABentMethod(t *testing.T) {
	biases := func(levels []float64) (bias, half []float64) {
		for _, c := range levels {
			bias, half = append(bias, 30*c/(30+c)-c), append(half, 0.03+0.005*c)
		}
		return bias, half
	}
	one, two := []float64{0.5, 4, 9, 18}, []float64{0, 2, 6, 13, 25}
	b1, h1 := biases(one)
	b2, h2 := biases(two)
	got := Agree(bench(one, b1, h1), bench(two, b2, h2), nil, nil)
	if got[0].Verdict != assess.Undecided {
		t.Errorf("%+v", got)
	}
	for _, l := range got[0].Levels {
		if !(l.Low < 0 && l.High > 0) {
			t.Errorf("at %v: %v (%v to %v), and there is none", l.Level, l.Difference, l.Low, l.High)
		}
	}
	// By hand, at 2 between knowns at 1, 3 and 5: the straight line weighs them 1/2, 1/2, 0, the parabola 3/8, 3/4, −1/8.
	by := betweenKnowns(bench([]float64{1, 3, 5}, []float64{1, 9, 25}, []float64{1, 1, 1}).Findings.Methods[0].Levels, 2)
	for j, w := range []float64{0.4375, 0.625, -0.0625} {
		near(t, "weight", num.Number(by.weights[j]), w)
	}
	// At 5 between knowns at 4 and 6, beyond which 2 and 8 have a say and 1 has none: the mean of two parabolas weighs them −1/16, 9/16, 9/16, −1/16.
	five := []float64{1, 2, 4, 6, 8}
	if by = betweenKnowns(bench(five, five, five).Findings.Methods[0].Levels, 5); by.from != 1 {
		t.Errorf("weights from known %d on", by.from)
	}
	for j, w := range []float64{-1 / 32., 17 / 32., 17 / 32., -1 / 32.} {
		near(t, "weight of four", num.Number(by.weights[j]), w)
	}
}

// Limits are those of the sides: the bias of the second may lie up to 0.3 below and 1 above 0.5, of the
// first 0.4 above and 0.2 below 0: 0.5 − √(0.3² + 0.4²) = 0, and 0.5 + √(1² + 0.2²).
func TestAgreeKeepsTheSides(t *testing.T) {
	a, b := bench([]float64{2}, []float64{0}, []float64{0.4}), bench([]float64{2}, []float64{0.5}, []float64{1})
	a.Findings.Methods[0].Levels[0].BiasLow, b.Findings.Methods[0].Levels[0].BiasLow = -0.2, 0.2
	l := Agree(a, b, nil, nil)[0].Levels[0]
	near(t, "low", l.Low, 0)
	near(t, "high", l.High, 0.5+math.Sqrt(1.04))
	near(t, "E_n", l.En, 1)
}

func TestAgreeVerdicts(t *testing.T) {
	n := knownwater.Need{Name: "hold", Low: 1, High: 6, Permitted: []knownwater.Permit{{At: 1, Error: 1}}}
	levels := []float64{1, 3, 6}
	flat := []float64{0.1, 0.1, 0.1}
	for _, c := range []struct {
		name string
		bias []float64
		want string
	}{
		{"the same", []float64{0.1, 0.2, 0.1}, assess.SameForNeed},
		{"differ, but not for the need", []float64{0.5, 0.5, 0.5}, assess.SameForNeed},
		{"differ", []float64{0.1, 1.2, 0.1}, assess.Different},
		{"open", []float64{0.1, 0.95, 0.1}, assess.Different},
	} {
		got := Agree(bench(levels, []float64{0, 0, 0}, flat), bench(levels, c.bias, flat), []knownwater.Need{n}, nil)
		if len(got) != 1 || got[0].Verdict != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	wide := []float64{1, 1, 1}
	if got := Agree(bench(levels, []float64{0, 0, 0}, wide), bench(levels, flat, wide), []knownwater.Need{n}, nil); got[0].Verdict != assess.Undecided {
		t.Errorf("wide: %+v", got)
	}
	// Ends are judged too: at 6, half way between 4 and 8, the limits are those of 0.1 and 1.7, half each; and a need that goes on beyond
	// the knowns is not settled by them.
	ends := n
	ends.Low, ends.High = 1, 6
	around, zero := []float64{1, 4, 8}, []float64{0, 0, 0}
	for i, c := range []struct {
		high, bias float64
		want       string
	}{{6, 0.1, assess.SameForNeed}, {6, 1.7, assess.Different}, {8.1, 0.1, assess.SameForNeed}, {8.15, 0.1, assess.Undecided}, {12, 0.1, assess.Undecided}, {4, 1.7, assess.SameForNeed}} {
		ends.High = c.high
		if got := Agree(bench(around, zero, flat), bench(around, []float64{0.1, 0.1, c.bias}, flat), []knownwater.Need{ends}, nil); got[0].Verdict != c.want {
			t.Errorf("ends %d: %+v, want %s", i, got, c.want)
		}
	}
	// The bound on |E_n| of three knowns is 2.394/1.960 = 1.2214 (Bonferroni), of one 1.
	for d, want := range map[float64]string{1.221: assess.Undecided, 1.222: assess.Different} {
		w := 0.1 * math.Sqrt2
		if got := Agree(bench(levels, []float64{0, 0, 0}, flat), bench(levels, []float64{0, d * w, 0}, flat), nil, nil); got[0].Verdict != want {
			t.Errorf("%v: %+v", d, got)
		}
	}
}

// What is read in fresh water is held against the other bench's in fresh water, and so in salt water, which takes a third off here at both. A
// water that the other did not try is held against nothing; of one water each the names do not count.
func TestAgreeInTheSameWater(t *testing.T) {
	levels, half := []float64{1, 3, 6}, []float64{0.1, 0.1, 0.1}
	waters := func(names ...string) (out Trial) {
		for _, name := range names {
			bias := []float64{0, 0, 0}
			if name == "salt" {
				bias = []float64{-0.33, -1, -2}
			}
			m := bench(levels, bias, half).Findings.Methods[0]
			m.Matrix = name
			out.Findings.Methods = append(out.Findings.Methods, m)
			out.Findings.Procedures = append(out.Findings.Procedures, assess.Procedure{Method: m.Method, Matrix: name})
		}
		return out
	}
	for _, c := range []struct {
		a, b Trial
		want string
	}{
		{waters("fresh", "salt"), waters("fresh", "salt"), "fresh undecided; salt undecided; "},
		{waters("fresh", "salt"), waters("salt"), "salt undecided; "},
		{waters("salt"), waters("fresh", "salt"), "salt undecided; "},
		{waters("salt"), waters("fresh", "tap"), ""},
		{waters("fresh"), waters("tap"), " undecided; "},
	} {
		got := ""
		for _, g := range Agree(c.a, c.b, nil, nil) {
			got += g.Matrix + " " + g.Verdict + "; "
		}
		if got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// Readers of each bench are held against the other bench, lots that both used against each other.
func TestAgreeParts(t *testing.T) {
	obs := func(lots, readers []string) (out []knownwater.Observation) {
		for _, l := range lots {
			for _, r := range readers {
				out = append(out, knownwater.Observation{Method: "Card", Lot: l, Reader: r, Count: 1})
			}
		}
		return out
	}
	a := bench([]float64{1}, []float64{0}, []float64{1})
	b := a
	a.Trial.Observations, b.Trial.Observations = obs([]string{"L1", "L2"}, []string{"Ines", "Tomo"}), obs([]string{"L2"}, []string{"Wren"})
	var judged []int
	got := Agree(a, b, nil, func(t knownwater.Trial) assess.Findings {
		judged = append(judged, len(t.Observations))
		return a.Findings
	})
	want := []string{"all ", "lot L2", "reader Ines", "reader Tomo"}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, g := range got {
		if g.Of+" "+g.Name != want[i] {
			t.Errorf("%d: %s %s", i, g.Of, g.Name)
		}
	}
	if len(judged) != 4 || judged[0] != 2 || judged[1] != 1 || judged[2] != 2 {
		t.Errorf("parts of %v readings", judged)
	}
}
