package assess

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
	"knownwater/science/unit"
)

// scored is a trial of a display of which nothing is left to chance: at every level n
// readings of the response at the normal scores, stretched to the standard deviation sd.
func scored(levels []float64, n int, sd float64, response func(c float64) float64, permitted float64) knownwater.Trial {
	m := knownwater.Method{Name: "m", Kind: knownwater.Display, Resolution: 0.0001}
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	t := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{m}, WaterStated: true,
		Needs: []knownwater.Need{{Name: "n", Low: levels[0], High: levels[len(levels)-1], Permitted: []knownwater.Permit{{At: levels[0], Error: permitted}, {At: levels[len(levels)-1], Error: permitted}}}}}
	scores := make([]float64, n)
	for i := range scores {
		scores[i] = num.PhiInv((float64(i) + 0.5) / float64(n))
	}
	_, size := num.MeanSD(scores)
	for _, c := range levels {
		for i, z := range scores {
			text := reading.Show(response(c)+sd*z/size, m)
			seen, _ := reading.Understand(text, m)
			t.Observations = append(t.Observations, knownwater.Observation{Method: "m", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1, Vial: fmt.Sprint(c, i)})
		}
	}
	return t
}

// A display that shows half of what there is, with a spread of 0.1: results turned round
// scatter by 0.2. Who knew the form would have 1.96·0.2 and, of 48 degrees of freedom,
// chi-square limits 0.83 and 1.25 times that (closed form); nobody does, and each level's
// own eight leave 0.68 to 1.9. The limits lie between.
func TestLimitsOfCorrectedErrors(t *testing.T) {
	const sd, slope, df, own = 0.1, 0.5, 48.0, 8.0
	tr := scored([]float64{2, 4, 6, 8, 10, 12}, 9, sd, func(c float64) float64 { return slope * c }, 1)
	f := Run(tr, Options{Brief: true}).Methods[0].Needs[0]
	if f.Verdict != FitWhenCorrected || f.Raw.Verdict != NotFit {
		t.Errorf("half of what there is: %s, as read %s", f.Verdict, f.Raw.Verdict)
	}
	want := 1.959964 * sd / slope
	inside := func(what string, at float64, got num.Number, low, high float64) {
		if r := float64(got) / want; !(r >= low && r <= high) {
			t.Errorf("%s at %g: %.3f of who knew all, not %.3f to %.3f", what, at, r, low, high)
		}
	}
	limit := func(p, df float64) float64 { return math.Sqrt(df / num.ChiSquareQuantile(p, df)) }
	for _, a := range f.Along {
		inside("lower limit", a.At, a.CorrLow, 0.95*limit(0.975, own), 1.02*limit(0.975, df))
		inside("corrected error", a.At, a.Corrected, 0.95, 1.10)
		inside("upper limit", a.At, a.CorrHigh, 0.98*limit(0.025, df), 1.05*limit(0.025, own))
	}
}

// The lack-of-fit probability that is printed, against the classical F test of equal
// spreads (closed form): with nine readings at each of six levels they are all but the same. No
// level knows that the others' spreads are its own: p may be as large as with its own eight degrees of freedom.
func TestLackOfFitAgainstTheFTest(t *testing.T) {
	const n, sd = 9, 0.1
	levels := []float64{2, 4, 6, 8, 10, 12}
	bend := []float64{5, -1, -4, -4, -1, 5} // the orthogonal quadratic: no part of a line
	for _, size := range []float64{0.004, 0.008, 0.012, 0.016} {
		tr := scored(levels, n, sd, func(c float64) float64 { return c + size*bend[int(c/2)-1] }, 1)
		got := float64(Run(tr, Options{Brief: true}).Methods[0].Line.LackOfFitP)
		square := 0.0
		for _, b := range bend {
			square += n * size * size * b * b
		}
		want, own := num.FSurvival(square/4/(sd*sd), 4, n*6-6), num.FSurvival(square/4/(sd*sd), 4, n-1)
		logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
		if !(logit(got) >= logit(want)-0.5 && got <= own) {
			t.Errorf("a bend of %g: p = %.4f, the F test gives %.4f, of eight degrees of freedom %.4f", size, got, want, own)
		}
	}
}

// How often a chart gives an answer goes by the sharing of its gaps, which the draws have
// between them; how far off it is, by what it is taken for.
func TestErrorsGoByTheirSharing(t *testing.T) {
	m := knownwater.Method{Name: "m", Kind: knownwater.Chart, Swatches: []float64{0, 5, 10, 20}}
	st := &study{}
	st.method, st.dilution = m, 1
	st.design = &design{shares: []float64{0.25, 0.45}}
	st.data.Shares = []float64{0.5, 0.5}
	st.know.Mean = []float64{20}
	st.rec = &record.Record{Shown: record.Shown{Answers: st.answers(m)}}
	of := st.rawAt(10).of
	// Around 10, "10" reaches 8.75 to 12.5 by a quarter, 7.75 to 14.5 by 0.45 of the gaps.
	narrow, wide := of(record.Normal{Mean: 10, SD: 1}), of(record.Normal{Mean: 10, SD: 1, Sharing: 1})
	if wide != 0 {
		t.Errorf("of readings of 10 ± 1 by 0.45, 98 %% say 10, and the error is %g", wide)
	}
	if narrow != 2.5 { // 89 % say 10; "5 to 10" is taken for 7.5
		t.Errorf("of readings of 10 ± 1 by 0.25, 89 %% say 10, and the error is %g", narrow)
	}
}

// A display that bends sharply at the known of 4: a curve through the other means misses what it shows there by several times what is
// permitted, the one that was found, which is what results will be corrected by, does not. The correction is not called fit for it, nor not fit.
func TestLeftOutTellsNothingAgainst(t *testing.T) {
	const permitted = 0.3
	tr := scored([]float64{0, 2, 4, 6, 8, 10}, 5, 0.02, func(c float64) float64 { return 2*c - 1.5*math.Max(0, c-4) }, permitted)
	f := Run(tr, Options{Brief: true}).Methods[0]
	if f.Needs[0].Corrected.Verdict != Undecided {
		t.Errorf("corrected results are %s", f.Needs[0].Corrected.Verdict)
	}
	met := false
	for _, a := range f.Needs[0].Along {
		met = met || a.At == 4
		if a.At == 4 && !(a.Corrected > 2*permitted && a.CorrLow < permitted) {
			t.Errorf("at 4 the error is %g, at least %g", a.Corrected, a.CorrLow)
		}
	}
	if !met {
		t.Error("the known of 4 was not looked at")
	}
}
