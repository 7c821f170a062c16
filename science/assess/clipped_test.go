package assess_test

import (
	"fmt"
	"slices"
	"testing"

	"knownwater"
	"knownwater/intake"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// A display that shows 0 beside more at one known is asked whether it can show less, unless it
// did, or its range says so.
func TestDisplaysThatNeverShowLessThanNothing(t *testing.T) {
	for _, x := range []struct {
		name     string
		readings []float64 // at 0; at 5 it shows 4.9, 5.1 and 5.0
		ranged   bool
		doubted  bool
		asked    bool
	}{
		{"zeros beside more", []float64{0, 0.2, 0}, false, true, false},
		{"zeros beside much more", []float64{0, 0.3, 0}, false, false, true},
		{"no more zeros than others", []float64{0, 0.3, 0, 0.4}, false, true, false},
		{"all zero", []float64{0, 0, 0}, false, false, false},
		{"never zero", []float64{0.1, 0.2, 0.1}, false, false, false},
		{"less than nothing", []float64{0, 0.3, 0, 0, -0.1}, false, false, false},
		{"its range is known", []float64{0, 0.3, 0}, true, false, false},
	} {
		m := knownwater.Method{Name: "M", Kind: knownwater.Display, Resolution: 0.1}
		if x.ranged {
			m.Range = &interval.Interval{Low: 0, High: 60}
		}
		trial := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, Methods: []knownwater.Method{m}}
		for level, readings := range map[float64][]float64{0: x.readings, 5: {4.9, 5.1, 5}} {
			for _, v := range readings {
				trial.Observations = append(trial.Observations, knownwater.Observation{Method: "M", Level: level, Text: fmt.Sprint(v), Seen: interval.Interval{Low: v - 0.05, High: v + 0.05}, Dilution: 1, Count: 1})
			}
		}
		f := assess.Run(trial, assess.Options{})
		if got := slices.ContainsFunc(f.Methods[0].Notes, func(n note.Note) bool { return n.Code == "never-below-zero" }); got != x.doubted {
			t.Errorf("%s: doubted %v, want %v", x.name, got, x.doubted)
		}
		if got := asksRange(f, "ask-ends-below"); got != x.asked {
			t.Errorf("%s: asked %v, want %v", x.name, got, x.asked)
		}
	}
}

// A display that shows one number at its highest knowns, and scatters below, is asked whether it ends there.
func TestDisplaysThatNeverShowMore(t *testing.T) {
	for _, x := range []struct {
		name       string
		at20, at40 []any
		at50       []any
		methods    string
		doubted    bool
	}{
		{"at two knowns", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.0"}, "", true},
		{"at one, three times", []any{"19.1", "20.4"}, nil, []any{"30.0", "30.0", "30.0"}, "", true},
		{"at one, twice", []any{"19.1", "20.4"}, nil, []any{"30.0", "30.0"}, "", false},
		{"it repeats itself", []any{"20.0", "20.0"}, nil, []any{"30.0", "30.0", "30.0"}, "", false},
		{"once more", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.1"}, "", false},
		{"its range is known", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.0"}, "range = [0, 30]\n", false},
		{"what the others lead to", []any{"12.1", "12.4"}, nil, []any{"30.0", "30.0", "30.0"}, "", false},
	} {
		rows := [][]any{{"M", 2, "1.9"}, {"M", 2, "2.2"}}
		for level, all := range map[int][]any{20: x.at20, 40: x.at40, 50: x.at50} {
			for _, v := range all {
				rows = append(rows, []any{"M", level, v})
			}
		}
		f := assessed(t, table("method,level,reading", rows...), nitrate+"[[method]]\nname = \"M\"\nkind = \"display\"\nresolution = 0.1\n"+x.methods, "")
		if got := asksRange(f, "ask-ends-above"); got != x.doubted {
			t.Errorf("%s: asked %v, want %v", x.name, got, x.doubted)
		}
	}
}

func asksRange(f assess.Findings, code string) bool {
	return slices.ContainsFunc(f.Questions, func(q doubt.Question) bool { return q.Kind == doubt.OfRange && q.Says.Code == code })
}

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
