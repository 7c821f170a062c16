package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"knownwater"
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
	if n := need(promiseTrial(0.1, 1.4, 0, 2, 2, 5)); n.MoreTests.OK() || len(n.Help) != 1 || n.Help[0].What != "readers" || n.Why[0].Code != "too-few-readers" {
		t.Errorf("two people who differ: %s, %v more, %v, %v", n.Verdict, n.MoreTests, n.Help, n.Why)
	}
}

// The ensemble is exact where all is normal: n further readings of a mean known from
// n0 before leave it √(n0/(n0+n)) as wide (conjugate normal, closed form).
func TestForesightIsConjugate(t *testing.T) {
	tr := promiseTrial(0.3, 1, 0, 12, 0, 6)
	s := split(tr)[0]
	st := &study{strand: s, design: newDesign(s), needs: tr.Needs, scale: tr.Scale}
	st.start()
	st.fit()
	st.respond()
	f := st.foresee([]float64{4}, 60)
	for _, n := range []int{4, 12, 64} {
		l, ok := f.after(f.truths[7], further{n, 0, 1})
		if !ok {
			t.Fatal("no answer")
		}
		ratio := math.Sqrt(l.at[4].varMean / variance(f.wide.x[0]))
		if want := math.Sqrt(12 / (12 + float64(n))); math.Abs(ratio-want) > 0.2*want {
			t.Errorf("%d further readings leave %.3f of the width, want about %.3f", n, ratio, want)
		}
	}
}
