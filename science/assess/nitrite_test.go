package assess_test

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// nitriteTrial is a meter that reads 1.02 of what there is and 1 mg/L of nitrite as 7 more, with a
// scatter of 0.15; all invented.
func nitriteTrial(t *testing.T, seed uint64) knownwater.Trial {
	t.Helper()
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		t.Fatal(err)
	}
	m := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01}
	tr := knownwater.Trial{Scale: scale, Methods: []knownwater.Method{m}}
	rng := num.Source(seed)
	one := func(level, nitrite float64, k int) knownwater.Observation {
		text := fmt.Sprintf("%.2f", 1.02*level+7*nitrite+0.15*rng.NormFloat64())
		seen, err := reading.Understand(text, m)
		if err != nil {
			t.Fatal(err)
		}
		return knownwater.Observation{Method: "Meter", Level: level, ULevel: 0.01, Text: text, Seen: seen, Dilution: 1, Reader: "Ines", Vial: fmt.Sprint(level, nitrite, k), Count: 1}
	}
	for _, level := range []float64{0, 2, 5, 10, 15} {
		for k := range 5 {
			tr.Observations = append(tr.Observations, one(level, 0, k))
		}
	}
	for _, n := range []float64{0.2, 0.4} {
		for k := range 3 {
			tr.Nitrite = append(tr.Nitrite, knownwater.WithNitrite{Observation: one(2, n, k), Nitrite: n, UNitrite: 0.005 * n})
		}
	}
	return tr
}

// The factor of a method that reads 1 of nitrite as 7 more nitrate, by hand: the response is c = y/1.02, so it is 7/1.02; the
// intervals hold it in 95 of 100 trials.
func TestNitriteFactor(t *testing.T) {
	held, runs := 0, 40
	for run := range runs {
		p, err := assess.PerformanceOf(nitriteTrial(t, uint64(run+1)), "", "", assess.Options{Seed: 1, Few: true})
		if err != nil {
			t.Fatal(err)
		}
		f := p.Nitrite
		if f.N != 6 || math.Abs(float64(f.Factor)-7/1.02) > 1.2 || !(f.U < 0.5) {
			t.Fatalf("%+v", f)
		}
		if float64(f.Low) <= 7/1.02 && 7/1.02 <= float64(f.High) {
			held++
		}
	}
	if held < 34 { // 38 expected; fewer than 34 in 1.4 of 100 such tests (binomial)
		t.Errorf("%d of %d intervals hold the factor", held, runs)
	}
}

// What nitrite reads is taken off a result, with its doubt; where it is not stated, it is said.
func TestNitriteTakenOff(t *testing.T) {
	tr := nitriteTrial(t, 3)
	p, err := assess.PerformanceOf(tr, "", "", assess.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	ask := func(p *assess.Performance, q result.Question) result.Outcome {
		t.Helper()
		q.Readings, q.Reader = []string{"6.00"}, "Ines"
		o, err := p.Read(q)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	has := func(o result.Outcome, code string) bool {
		for _, n := range o.Notes {
			if n.Code == code {
				return true
			}
		}
		return false
	}
	plain := ask(p, result.Question{})
	none := ask(p, result.Question{NitriteKnown: true})
	sure := ask(p, result.Question{NitriteKnown: true, Nitrite: 0.3})
	vague := ask(p, result.Question{NitriteKnown: true, Nitrite: 0.3, UNitrite: 0.1})
	if none.Result.Estimate != plain.Result.Estimate || none.Result.High != plain.Result.High {
		t.Errorf("no nitrite: %+v, want %+v", none.Result, plain.Result)
	}
	if got := plain.Result.Estimate - sure.Result.Estimate; math.Abs(got-0.3*float64(p.Nitrite.Factor)) > 0.05 {
		t.Errorf("%.3f was taken off, want %.3f", got, 0.3*float64(p.Nitrite.Factor))
	}
	want := math.Sqrt(sq(plain.Result.U) + sq(0.3*float64(p.Nitrite.U)) + sq(0.1*float64(p.Nitrite.Factor)))
	if got := (vague.Result.High - vague.Result.Low) / 2 / 1.96; math.Abs(got/want-1) > 0.12 {
		t.Errorf("u is %.3f, want %.3f", got, want)
	}
	// A sample diluted four times, which the trial did not try, has a quarter of its nitrite in the vial.
	four := ask(p, result.Question{Dilution: 4})
	with := ask(p, result.Question{Dilution: 4, NitriteKnown: true, Nitrite: 0.3})
	if got := four.Result.Estimate - with.Result.Estimate; math.Abs(got-0.3*float64(p.Nitrite.Factor)) > 0.1 {
		t.Errorf("diluted: %.3f was taken off, want %.3f", got, 0.3*float64(p.Nitrite.Factor))
	}
	if !has(plain, "nitrite-not-stated") || has(plain, "nitrite-taken-off") || !has(sure, "nitrite-taken-off") || has(none, "nitrite-not-stated") {
		t.Error("the notes on nitrite are not those")
	}
	tr.Nitrite = nil
	bare, err := assess.PerformanceOf(tr, "", "", assess.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if o := ask(bare, result.Question{NitriteKnown: true, Nitrite: 0.3}); !has(o, "nitrite-not-tried") || o.Result.Estimate != plain.Result.Estimate {
		t.Errorf("a trial without nitrite: %+v", o.Result)
	}
	if o := ask(bare, result.Question{}); has(o, "nitrite-not-stated") {
		t.Error("a warning of nitrite of which nothing is known")
	}
}

func sq(v float64) float64 { return v * v }
