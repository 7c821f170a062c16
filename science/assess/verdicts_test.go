package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// cardTrial is a chart at its own swatches, one reader, of a known scatter.
func cardTrial(permitted float64, seed uint64) knownwater.Trial {
	rng := rand.New(rand.NewPCG(seed, 3))
	m := knownwater.Method{Name: "m", Kind: knownwater.Chart, Swatches: []float64{0, 2, 5, 10, 20}}
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	t := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{m}, WaterStated: true,
		Needs: []knownwater.Need{{Name: "n", Low: 1, High: 12, Permitted: []knownwater.Permit{{At: 1, Error: permitted}}}}}
	for _, c := range []float64{0, 1, 2, 4, 8, 12} {
		for v := range 4 {
			text := reading.Show(c+0.5*rng.NormFloat64(), m)
			seen, err := reading.Understand(text, m)
			if err != nil {
				seen = interval.Exact(c)
			}
			t.Observations = append(t.Observations, knownwater.Observation{Method: "m", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1, Vial: fmt.Sprint(c, v)})
		}
	}
	return t
}

// Where verdicts alone are asked for they are what the errors along the need say, of
// displays, of charts and through a switch; all three verdicts are met.
func TestVerdictsAloneAreThoseOfTheErrors(t *testing.T) {
	met := map[string]int{}
	same := func(what string, whole, alone NeedFinding) {
		t.Helper()
		met[whole.Verdict]++
		if alone.Verdict != whole.Verdict || alone.Raw.Verdict != whole.Raw.Verdict || len(alone.Along) > 0 {
			t.Errorf("%s: alone %q (as read %q), of the errors %q (%q)", what, alone.Verdict, alone.Raw.Verdict, whole.Verdict, whole.Raw.Verdict)
		}
		if whole.Raw.Verdict == NotFit && alone.Corrected.Verdict != whole.Corrected.Verdict {
			t.Errorf("%s: corrected alone %q, of the errors %q", what, alone.Corrected.Verdict, whole.Corrected.Verdict)
		}
	}
	for _, permitted := range []float64{0.35, 1.1, 1.5, 8} {
		high := promiseTrial(0.2, permitted, 0, 4, 0, 1) // only what is corrected passes
		for i := range high.Observations {
			high.Observations[i].Level *= 0.8
		}
		for what, tr := range map[string]knownwater.Trial{"display": promiseTrial(0.4, permitted, 0, 4, 0, 1), "high": high, "chart": cardTrial(permitted, 1)} {
			st := examine(split(tr)[0], tr, Options{Brief: true, Few: true})
			alone := st.judge(tr.Needs[0])
			other := switched{st, st, 5, false}
			through := other.judge(tr.Needs[0])
			st.opt.Few = false
			same(fmt.Sprint(what, ", permitted ", permitted), st.judge(tr.Needs[0]), alone)
			same(fmt.Sprint(what, " through a switch, permitted ", permitted), other.judge(tr.Needs[0]), through)
		}
	}
	if met[Fit] < 3 || met[NotFit] < 3 || met[Undecided] < 3 {
		t.Errorf("too few of a kind to tell: %v", met)
	}
}

// A procedure of branches that were read 12 times a level and twice: verdicts alone are those of the
// errors where what is permitted lies within a hair of the upper limit on either side, which each
// branch tells by its own share of draws, and both together by the smaller one.
func TestVerdictsOfUnequalBranches(t *testing.T) {
	branch := func(vials int) *study {
		tr := promiseTrial(0.05, 1, 0, vials, 0, 1)
		return examine(split(tr)[0], tr, Options{Brief: true})
	}
	plain, diluted := branch(12), branch(2)
	n := plain.needs[0]
	shares := map[float64]bool{}
	for _, c := range []float64{1, 4.9, 12} {
		s := switched{plain, diluted, 5, false}
		e := s.errorsAt(c)[0]
		shares[s.ruleAt(c).above] = true
		for _, beside := range []float64{0.999, 1.001} {
			n.Low, n.High, n.Permitted = c, c, []knownwater.Permit{{At: c, Error: beside * math.Exp(e.high)}}
			plain.levels[2].u = 3 // so that 4.9 counts as tried
			whole := s.judge(n).Raw.Verdict
			alone := switched{plain, diluted, 5, true}.judge(n).Raw.Verdict
			if (whole == Fit) != (beside > 1) || alone != whole {
				t.Errorf("at %g, upper limit %g, %g of it permitted: %q, alone %q", c, math.Exp(e.high), beside, whole, alone)
			}
		}
	}
	if len(shares) != 2 {
		t.Errorf("one share of draws for all: %v", shares)
	}
}

// A card that shows a known's own swatch every time is off by nothing there, not by a millionth.
func TestAnExactResultIsOffByNothing(t *testing.T) {
	f := Run(cardTrial(1.5, 1), Options{Seed: 1}).Methods[0].Needs[0]
	seen := false
	for _, a := range f.Along {
		if a.At == 2 {
			seen = true
			if a.RawLow != 0 {
				t.Errorf("at 2: %v at least", a.RawLow)
			}
		}
	}
	if !seen {
		t.Error("nothing is said of 2")
	}
}
