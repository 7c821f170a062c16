package assess

import (
	"fmt"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/interval"
)

// A table that was pasted twice is asked about, and a yes makes of it what it was; tables in which
// one reading stands once, or whose readings are all alike at each known, are not.
func TestTableEnteredTwice(t *testing.T) {
	times := func(tr knownwater.Trial, n int) knownwater.Trial {
		tr.Observations = slices.Clone(tr.Observations)
		for i := range tr.Observations {
			tr.Observations[i].Count = n
		}
		return tr
	}
	asked := func(f Findings) *doubt.Question {
		i := slices.IndexFunc(f.Questions, func(q doubt.Question) bool { return q.Kind == doubt.OfTwice })
		if i < 0 {
			return nil
		}
		return &f.Questions[i]
	}
	o := Options{Brief: true, Few: true}
	once := promiseTrial(0.1, 0.6, 0.01, 3, 0, 1)
	twice := times(once, 2)
	q := asked(Run(twice, o))
	if q == nil {
		t.Fatal("a table that was entered twice is not asked about")
	}
	if q.Says.Numbers["readings"][0] != 36 {
		t.Errorf("%v", q.Says)
	}
	twice.Answers = []knownwater.Answer{{Question: q.Key, Yes: true}}
	got, want := Run(twice, o), Run(once, o)
	if a, b := got.Methods[0], want.Methods[0]; a.N != b.N || a.Levels[2].MeanLow != b.Levels[2].MeanLow || a.Needs[0].Verdict != b.Needs[0].Verdict {
		t.Errorf("answered by yes: %d readings, from %v; entered once: %d, from %v", a.N, a.Levels[2].MeanLow, b.N, b.Levels[2].MeanLow)
	}
	odd := times(once, 2)
	odd.Observations[4].Count = 1
	steady := times(once, 2)
	steady.Observations = slices.DeleteFunc(slices.Clone(steady.Observations), func(o knownwater.Observation) bool {
		return slices.IndexFunc(steady.Observations, func(p knownwater.Observation) bool { return p.Level == o.Level }) !=
			slices.IndexFunc(steady.Observations, func(p knownwater.Observation) bool { return p.Vial == o.Vial })
	})
	alike := times(once, 2)
	for i := range alike.Observations {
		first := alike.Observations[slices.IndexFunc(alike.Observations, func(p knownwater.Observation) bool { return p.Level == alike.Observations[i].Level })]
		alike.Observations[i].Text, alike.Observations[i].Seen = first.Text, first.Seen
	}
	for name, tr := range map[string]knownwater.Trial{"once": once, "one of them once": odd, "one vial at each known": steady, "alike at each known": alike} {
		if q := asked(Run(tr, o)); q != nil {
			t.Errorf("%s: %v", name, q.Says)
		}
	}
}

// A table of three methods that was pasted twice is asked about as one, though its cards showed the same
// swatch each time and could by themselves be in steady hands, and a yes counts all of it once; where the card's rows
// stand once the other method alone is asked about.
func TestTableOfThreeMethodsEnteredTwice(t *testing.T) {
	tr := promiseTrial(0.1, 0.6, 0.01, 3, 0, 1)
	for i := range tr.Observations {
		tr.Observations[i].Count = 2
	}
	for _, name := range []string{"card", "other card"} {
		tr.Methods = append(tr.Methods, knownwater.Method{Name: name, Kind: knownwater.Chart, Swatches: []float64{0, 5, 10, 20}})
		for _, c := range []float64{0, 10} {
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: name, Level: c, Text: fmt.Sprint(c), Seen: interval.Interval{Low: c - 1, High: c + 1},
				Dilution: 1, Count: 2, Row: 100 + len(tr.Observations)})
		}
	}
	asked := func() (of []doubt.Question) {
		for _, q := range Run(tr, Options{Brief: true, Few: true}).Questions {
			if q.Kind == doubt.OfTwice {
				of = append(of, q)
			}
		}
		return of
	}
	of := asked()
	if len(of) != 1 || of[0].Method != "" || of[0].Says.Numbers["readings"][0] != 44 {
		t.Fatalf("asked: %v", of)
	}
	tr.Answers = []knownwater.Answer{{Question: of[0].Key, Yes: true}}
	if f := Run(tr, Options{Brief: true, Few: true}); f.Methods[0].N != 18 || f.Methods[1].N != 2 || f.Methods[2].N != 2 {
		t.Errorf("answered by yes: %d, %d and %d readings", f.Methods[0].N, f.Methods[1].N, f.Methods[2].N)
	}
	tr.Answers = nil
	tr.Observations[len(tr.Observations)-1].Count = 1
	if of = asked(); len(of) != 1 || of[0].Method != tr.Methods[0].Name {
		t.Errorf("with one card reading entered once: asked about %v", of)
	}
}
