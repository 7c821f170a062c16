package assess

import (
	"slices"
	"testing"

	"knownwater"
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
	asked := func(f Findings) *Question {
		i := slices.IndexFunc(f.Questions, func(q Question) bool { return q.Kind == QuestionTwice })
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
	for name, tr := range map[string]knownwater.Trial{"once": once, "one of them once": odd, "alike at each known": steady} {
		if q := asked(Run(tr, o)); q != nil {
			t.Errorf("%s: %v", name, q.Says)
		}
	}
}
