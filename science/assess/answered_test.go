package assess

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/doubt"
	"knownwater/science/interval"
)

// spoiled are trials of one method in which one thing went wrong, with the trial as
// it would be had it been written down right.
func spoiled() map[string][2]knownwater.Trial {
	d := madeup.Of("display", madeup.Meter, madeup.Levels, 5, nil, madeup.Growing(0.05, 0.04), madeup.OnMeter)
	draw := func(spoil func(i int, c, y float64) float64) knownwater.Trial {
		t := d.Trial(rand.New(rand.NewPCG(3, 8)), "nitrate", spoil)
		t.Needs = []knownwater.Need{{Name: "hold", Low: 1, High: 20, Permitted: []knownwater.Permit{{At: 1, Error: 1}, {At: 20, Error: 4}}}}
		for i := range t.Observations {
			t.Observations[i].Vial = fmt.Sprint("v", i)
		}
		return t
	}
	copied := func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		return t
	}
	right := draw(nil)
	swapped := copied(right)
	a, b := &swapped.Observations[12], &swapped.Observations[27] // of 2.5 and 20
	a.Text, b.Text, a.Seen, b.Seen, a.Vial, b.Vial = b.Text, a.Text, b.Seen, a.Seen, b.Vial, a.Vial
	slip, without := copied(right), copied(right)
	slip.Observations[23].Text, slip.Observations[23].Seen = "29.00", interval.Interval{Low: 28.995, High: 29.005}
	without.Observations = slices.Delete(without.Observations, 23, 24)
	forgot, diluted := draw(func(i int, c, y float64) float64 {
		if i == 29 || i == 34 {
			return y / 8
		}
		return y
	}), knownwater.Trial{}
	diluted = copied(forgot)
	for _, i := range []int{27, 32} {
		diluted.Observations[i].Dilution = 8
	}
	return map[string][2]knownwater.Trial{doubt.OfSwap: {swapped, right}, doubt.OfSlip: {slip, without}, doubt.OfDilution: {forgot, diluted}}
}

// A yes gives the findings of the trial as it should have been written down; a no
// asks no more and holds nothing back; an answer to nothing is told as that.
func TestAnswers(t *testing.T) {
	for kind, c := range spoiled() {
		wrong, right := c[0], c[1]
		qs := askedOf(wrong)
		i := slices.IndexFunc(qs, func(q doubt.Question) bool { return q.Kind == kind })
		if i < 0 {
			t.Errorf("%s: not asked: %+v", kind, qs)
			continue
		}
		key := qs[i].Key
		wrong.Answers = []knownwater.Answer{{Question: key, Yes: true, Why: "seen"}, {Question: "nothing", Why: "?"}}
		yes := Run(wrong, Options{Seed: 1, Brief: true})
		want := Run(right, Options{Seed: 1, Brief: true})
		if !reflect.DeepEqual(verdictsOf(yes), verdictsOf(want)) || !reflect.DeepEqual(meansOf(yes), meansOf(want)) {
			t.Errorf("%s: yes gives\n%v %v\nwant\n%v %v", kind, verdictsOf(yes), meansOf(yes), verdictsOf(want), meansOf(want))
		}
		if len(yes.Answers) != 2 || yes.Answers[0].Answer != doubt.NotAsked && yes.Answers[1].Answer != doubt.NotAsked {
			t.Errorf("%s: answers told %+v", kind, yes.Answers)
		}
		if kind != doubt.OfSwap {
			continue // a no is the same of every kind
		}
		wrong.Answers = nil
		plain := Run(wrong, Options{Seed: 1, Brief: true})
		wrong.Answers = []knownwater.Answer{{Question: key, Why: "looked"}}
		no := Run(wrong, Options{Seed: 1, Brief: true})
		for _, q := range no.Questions {
			if q.Key == key {
				t.Errorf("%s: asked again after a no", kind)
			}
		}
		for _, v := range verdictsOf(no) {
			if v == HeldBack && len(no.Questions) == 0 {
				t.Errorf("%s: held back without a question", kind)
			}
		}
		if !reflect.DeepEqual(meansOf(no), meansOf(plain)) {
			t.Errorf("%s: a no changed numbers", kind)
		}
	}
}

// What waits for an answer says that it waits, and promises nothing of a verdict that may be another one.
func TestHeldBackSaysWhy(t *testing.T) {
	held := 0
	for _, c := range spoiled() {
		tight := c[0]
		tight.Needs = []knownwater.Need{{Name: "tight", Low: 1, High: 20, Permitted: []knownwater.Permit{{At: 1, Error: 0.5}, {At: 20, Error: 2.5}}}}
		for _, m := range Run(tight, Options{Seed: 1}).Methods {
			for _, n := range m.Needs {
				if n.Verdict != HeldBack {
					continue
				}
				held++
				if len(n.Why) != 1 || n.Why[0].Code != "question-first" || n.MoreTests.OK() || len(n.Help) > 0 {
					t.Errorf("held back because %v, more tests %v, help %v", n.Why, n.MoreTests, n.Help)
				}
			}
		}
	}
	if held == 0 {
		t.Error("nothing is held back")
	}
}

// askedOf is what a look at each method asks.
func askedOf(t knownwater.Trial) (qs []doubt.Question) {
	for _, s := range doubt.Sights(t.Scale, readingsOf(split(t))) {
		qs = append(qs, s.Ask(func(doubt.Question) bool { return false })...)
	}
	return qs
}

func verdictsOf(f Findings) (out []string) {
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			out = append(out, n.Verdict)
		}
	}
	return out
}

func meansOf(f Findings) (out []string) {
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			out = append(out, fmt.Sprintf("%g: %.10g %.10g %d", l.Level, float64(l.MeanLow), float64(l.MeanHigh), l.N))
		}
	}
	return out
}
