package assess

import (
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/record"
)

// Where all samples stay in a branch, or none does, the procedure takes what the branch found; it is
// what every draw through the switch says, draw by draw.
func TestOneBranchIsTheSwitch(t *testing.T) {
	met := map[string]int{}
	for what, tr := range map[string]knownwater.Trial{"display": promiseTrial(0.05, 1, 0, 12, 0, 1), "chart": cardTrial(1, 1)} {
		st, other := examine(split(tr)[0], tr, Options{Brief: true, Few: true}), examine(split(tr)[0], tr, Options{Brief: true, Few: true})
		s := switched{st, other, 5, false}
		for _, c := range []float64{1, 4.9, 12} {
			stay, leave := s.branches(c)
			for i, got := range s.errorsAt(c) {
				want := s.glimpse(c, 1, i == 1).whole(st.rule(0))
				about(t, what+": middle", got.middle, want.middle, 2e-3)
				about(t, what+": upper limit", got.high, want.high, 2e-3)
				band := func(r ratios) float64 { return lowerBand([]sample{r.wide}, st.rule(0))[0] }
				about(t, what+": band", band(got), band(want), 5e-3)
				if !slices.Equal(got.wide.low, want.wide.low) {
					t.Errorf("%s at %g: other draws are low", what, c)
				}
			}
			switch {
			case stay:
				met[what+" stays"]++
			case leave:
				met[what+" leaves"]++
			default:
				met[what+" both"]++
			}
		}
		st.method.DilutionOver = 5
		if st.forget(); st.switched == nil {
			t.Errorf("%s: what a procedure asks for again is not kept", what)
		}
		if join(st, other); st.errors != nil || st.switched != nil || other.errors != nil {
			t.Errorf("%s: what nobody asks for any more is kept, and fills the memory", what)
		}
	}
	if met["display stays"] == 0 || met["display leaves"] == 0 || met["display both"] == 0 || met["chart both"] == 0 {
		t.Errorf("not every case was met: %v", met)
	}
}

// A single answer as a number: by hand, all of one answer, and half of each of two.
func TestAnswersAsNumbers(t *testing.T) {
	answers := []record.Answer{}
	for i, v := range []float64{0, 5, 10} {
		a := record.Answer{Value: v}
		a.Seen.Low, a.Seen.High = []float64{math.Inf(-1), 2.5, 7.5}[i], []float64{2.5, 7.5, math.Inf(1)}[i]
		answers = append(answers, a)
	}
	value := [][2]float64{{0, 0}, {5, 6}, {10, math.Inf(1)}}
	raw, corr := asNumber(record.Normal{Mean: 5, SD: 0.1}, answers, value)
	about(t, "all of one", raw.Mean, 5, 1e-9)
	about(t, "turned round", corr.Mean, 6, 1e-9)
	about(t, "without a step", raw.SD, 0, 1e-9)
	raw, corr = asNumber(record.Normal{Mean: 2.5, SD: 0.3}, answers, value)
	about(t, "half of each", raw.Mean, 2.5, 1e-6)
	about(t, "the step's part", raw.SD, math.Sqrt(2.5*2.5-0.3*0.3), 1e-6)
	about(t, "half of each, turned round", corr.Mean, 3, 1e-6)
	if _, corr = asNumber(record.Normal{Mean: 7.5, SD: 0.3}, answers, value); corr.Mean < 1e30 {
		t.Errorf("half of them without end: %+v", corr)
	}
}

// A method whose sheet dilutes above 6, tried up to 12 without, says nothing of how it is used there, and
// says so; not where it was diluted, nor where nothing reaches so far.
func TestSheetThatWasNotFollowed(t *testing.T) {
	for _, c := range []struct {
		name    string
		over    float64
		diluted bool
		want    bool
	}{{"undiluted only", 6, false, true}, {"diluted, too", 6, true, false}, {"beyond all", 20, false, false}, {"no dilution", 0, false, false}} {
		tr := promiseTrial(0.1, 1, 0.01, 3, 0, 1)
		tr.Methods[0].DilutionOver, tr.Methods[0].DilutionFactor = c.over, 4
		if c.diluted {
			for _, o := range tr.Observations {
				if o.Level > 6 {
					o.Dilution, o.Vial = 4, o.Vial+"d"
					tr.Observations = append(tr.Observations, o)
				}
			}
		}
		n, left := Run(tr, Options{Brief: true, Few: true}).Methods[0].NeverDiluted()
		if left != c.want || left && !(n.Numbers["over"][0] == 6 && n.Numbers["factor"][0] == 4) {
			t.Errorf("%s: %v %v", c.name, left, n)
		}
	}
}

// Samples about a switch are read by a branch whose knowns end well before it: nothing is fit there, and the
// reason says which branch wants a known. (Each branch went on straight, and the procedure was fit.)
func TestSwitchBetweenKnowns(t *testing.T) {
	for _, c := range []struct {
		name     string
		to, from float64 // undiluted up to the one, diluted from the other on
		why      string
	}{{"knowns at the switch", 4, 4, ""}, {"undiluted only far below", 2, 4, "not-tested-undiluted"}, {"diluted only far above", 4, 8, "not-tested-diluted"}} {
		tr := promiseTrial(0.05, 3, 0.01, 5, 0, 1)
		tr.Methods[0].DilutionOver, tr.Methods[0].DilutionFactor = 5, 4
		var obs []knownwater.Observation
		for _, o := range tr.Observations {
			if o.Level <= c.to {
				obs = append(obs, o)
			}
			if o.Level >= c.from {
				o.Dilution, o.Vial = 4, o.Vial+"d"
				o.Seen.Low, o.Seen.High = o.Seen.Low/4, o.Seen.High/4
				obs = append(obs, o)
			}
		}
		tr.Observations = obs
		n := Run(tr, Options{Brief: true, Few: true}).Procedures[0].Needs[0]
		switch {
		case c.why == "" && n.Verdict != Fit:
			t.Errorf("%s: %s, %v", c.name, n.Verdict, n.Why)
		case c.why != "" && (n.Verdict != Undecided || n.Why[0].Code != c.why):
			t.Errorf("%s: %s, %v", c.name, n.Verdict, n.Why)
		}
	}
}

// The end of a need that no branch's knowns reached is named with the outermost known, by hand: two standard uncertainties beyond a
// known, and a fiftieth of the need, are still reached.
func TestEndsThatNoBranchReached(t *testing.T) {
	s := switched{over: 5,
		plain:   &study{design: &design{levels: []level{{value: 1, u: 0.1}, {value: 16}}}, rec: &record.Record{Bottom: 1, Top: 16}},
		diluted: &study{design: &design{levels: []level{{value: 1, u: 0.05}, {value: 20, u: 0.5}}}, rec: &record.Record{Bottom: 1, Top: 20}}}
	for _, x := range []struct {
		low, high float64
		code      string
		level     float64
	}{{0.38, 20, "not-tested-below", 1}, {2, 21.5, "not-tested-above", 20}, {0.1, 30, "not-tested-below", 1}, {0.7, 21.3, "", 0}} {
		why, open := s.uncovered(knownwater.Need{Low: x.low, High: x.high})
		if open != (x.code != "") || why.Code != x.code || open && float64(why.Numbers["level"][0]) != x.level {
			t.Errorf("%g to %g: %v, want %s at %g", x.low, x.high, why, x.code, x.level)
		}
	}
}
