package choose

import (
	"fmt"
	"reflect"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// open is a trial of a display at eight knowns, three readings each, that leaves the need
// undecided: it permits a little more than the method errs by.
func open() (Trial, []knownwater.Need) {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	n := knownwater.Need{Name: "hold", Low: 1.5, High: 6, Permitted: []knownwater.Permit{{At: 1.5, Error: 0.8}, {At: 6, Error: 0.8}}}
	t := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Needs: []knownwater.Need{n},
		Methods: []knownwater.Method{{Name: "Meter", Kind: knownwater.Display, Resolution: 0.001, Minutes: 10, PackPrice: 20, PackTests: 40}}}
	rng := num.Source(1, 2, 3)
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40} {
		for v := range 3 {
			y := c + 0.25*rng.NormFloat64()
			t.Observations = append(t.Observations, knownwater.Observation{Method: "Meter", Level: c, Text: fmt.Sprintf("%.3f", y), Seen: interval.Interval{Low: y - 0.0005, High: y + 0.0005},
				Dilution: 1, Count: 1, Vial: fmt.Sprint("v", c, v)})
		}
	}
	return Trial{Trial: t, Findings: assess.Run(t, assess.Options{Brief: true})}, t.Needs
}

// The next experiment stands near the need, fits the evening, beats an even spread, and is
// the same when asked again.
func TestNext(t *testing.T) {
	trial, needs := open()
	if v := trial.Findings.Procedures[0].Needs[0].Verdict; v != assess.Undecided {
		t.Fatalf("the trial is meant to leave it open: %s", v)
	}
	c := Of(needs, []Trial{trial}, Options{})
	calls := 0
	next := Next(c, []Trial{trial}, Ahead{Progress: func(done, all int) { calls++ }})
	if len(next) != 1 || calls == 0 {
		t.Fatalf("%+v, %d calls", next, calls)
	}
	x := next[0]
	if !(x.PSettles > x.Even && x.PSettles > 0.3) || !x.Changes || x.Need != "hold" {
		t.Errorf("%+v", x)
	}
	for _, v := range x.Vials {
		if v.Level < 0.6 || v.Level > 12 || v.Readings < 1 {
			t.Errorf("far from the need: %+v", v)
		}
	}
	near(t, "minutes", x.Minutes, 10*float64(x.Tests()))
	near(t, "money", x.Money, 0.5*float64(x.Tests()))
	if x.Minutes > Evening {
		t.Errorf("%v minutes are more than an evening", x.Minutes)
	}
	if again := Next(c, []Trial{trial}, Ahead{}); !reflect.DeepEqual(again, next) {
		t.Errorf("asked again: %+v", again)
	}
	for _, x := range Next(c, []Trial{trial}, Ahead{Minutes: 25}) {
		if x.Tests() > 2 {
			t.Errorf("25 minutes hold two tests: %+v", x)
		}
	}
	if got := Next(c, []Trial{trial}, Ahead{Stop: func() bool { return true }}); len(got) != 0 {
		t.Errorf("stopped at once: %+v", got)
	}
}

// Nothing is advised where nothing is open.
func TestNextNothingOpen(t *testing.T) {
	trial, needs := open()
	needs[0].Permitted = []knownwater.Permit{{At: 1.5, Error: 30}}
	trial.Trial.Needs = needs
	trial.Findings = assess.Run(trial.Trial, assess.Options{Brief: true})
	if next := Next(Of(needs, []Trial{trial}, Options{}), []Trial{trial}, Ahead{}); len(next) != 0 {
		t.Errorf("%+v", next)
	}
}

// A way is forbidden by a limit that it is known to break, but not by that of money, nor by what nobody stated.
func TestForbidden(t *testing.T) {
	yes, no := true, false
	for _, c := range []struct {
		within *bool
		beyond string
		want   bool
	}{{nil, "unsaid-minutes", false}, {&no, "beyond-money", false}, {&no, "beyond-minutes", true}, {&yes, "", false}} {
		w := Way{Within: c.within}
		if c.beyond != "" {
			w.Beyond = []note.Note{note.New(c.beyond)}
		}
		if w.forbidden() != c.want {
			t.Errorf("%q: %v", c.beyond, !c.want)
		}
	}
}

func TestEven(t *testing.T) {
	for _, c := range []struct {
		places, tests int
		want          []int
	}{{3, 6, []int{2, 2, 2}}, {4, 2, []int{0, 1, 0, 1}}, {3, 1, []int{0, 1, 0}}, {2, 3, []int{1, 2}}} {
		if got := even(c.places, c.tests); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%d over %d: %v, want %v", c.tests, c.places, got, c.want)
		}
	}
}
