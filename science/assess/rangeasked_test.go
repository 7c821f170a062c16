package assess_test

import (
	"slices"
	"testing"

	"knownwater"
	"knownwater/intake"
	"knownwater/science/assess"
	"knownwater/science/doubt"
)

// A need up to where a display seems to end waits for the answer: with the end it is not known to be fit.
// A no leaves the verdict as the numbers have it.
func TestVerdictsWaitForADisplaysEnd(t *testing.T) {
	var rows [][]any
	for level, all := range map[int][]string{0: {"-0.2", "0.1", "-0.3"}, 2: {"2.0", "1.9", "2.0"}, 5: {"4.8", "5.1", "5.0"}, 10: {"9.5", "10.3", "9.9"},
		20: {"21.8", "20.7", "20.3"}, 28: {"30.0", "27.2", "30.0"}, 40: {"30.0", "30.0", "30.0"}} {
		for _, v := range all {
			rows = append(rows, []any{"M", level, v})
		}
	}
	need := "[[need]]\nname = \"r\"\nlow = 5\nhigh = 28\npermitted = [{ at = 5, error = 2.2 }, { at = 28, error = 8 }]\n"
	trial, err := intake.Trial(file("readings.csv", table("method,level,reading", rows...)), file("methods.toml", nitrate+"[[method]]\nname = \"M\"\nkind = \"display\"\nresolution = 0.1\n"), file("need.toml", need))
	if err != nil {
		t.Fatal(err)
	}
	verdict := func(answers ...knownwater.Answer) (string, []doubt.Question) {
		trial.Answers = answers
		f := assess.Run(trial, assess.Options{Brief: true})
		return f.Methods[0].Needs[0].Verdict, f.Questions
	}
	got, qs := verdict()
	i := slices.IndexFunc(qs, func(q doubt.Question) bool { return q.Kind == doubt.OfRange })
	if got != assess.HeldBack || i < 0 || !qs[i].HoldsBack || len(qs[i].At) != 5 {
		t.Fatalf("%s, asked %+v", got, qs)
	}
	if got, qs := verdict(knownwater.Answer{Question: qs[i].Key, Why: "it shows 47 of others"}); got != assess.Fit || slices.ContainsFunc(qs, func(q doubt.Question) bool { return q.Kind == doubt.OfRange }) {
		t.Errorf("after a no %s, asked %+v", got, qs)
	}
	if got, _ := verdict(knownwater.Answer{Question: qs[i].Key, Yes: true, Why: "so its booklet says"}); got != assess.Undecided {
		t.Errorf("after a yes %s", got)
	}
}
