package history_test

import (
	"fmt"
	"testing"

	"knownwater/science/control"
	"knownwater/science/history"
)

// Many waters, worked out at once, say what each says alone, and limits that were solved before
// change nothing.
func TestWatersAtOnce(t *testing.T) {
	p := recordOf(t)
	m := history.Methods{Records: map[string][]history.Source{"Meter": {p}}, Solved: new(control.Solved)}
	var all []history.Entry
	for k := range 3 {
		for _, e := range log(0.9) {
			if !e.Check {
				e.Water = fmt.Sprint("tank ", k)
			}
			if k == 0 || !e.Check {
				all = append(all, e)
			}
		}
	}
	alone := judged(t, log(0.9), p)
	for range 2 {
		h, err := history.Of(all, m)
		if err != nil {
			t.Fatal(err)
		}
		if len(h.Changes) != 3*len(alone.Changes) || len(h.Slopes) != 3*len(alone.Slopes) {
			t.Fatalf("%d changes and %d slopes of three waters, one has %d and %d", len(h.Changes), len(h.Slopes), len(alone.Changes), len(alone.Slopes))
		}
		for i, c := range h.Changes {
			one := alone.Changes[i%len(alone.Changes)]
			one.Water = c.Water
			if fmt.Sprint(c) != fmt.Sprint(one) || i > 0 && h.Changes[i-1].Water > c.Water {
				t.Errorf("change %d is %+v, alone %+v", i, c, one)
			}
		}
		for i, c := range h.Checks {
			if got, want := fmt.Sprint(c.Chart), fmt.Sprint(alone.Checks[i].Chart); got != want || fmt.Sprint(c.Delay(0.8)) != fmt.Sprint(alone.Checks[i].Delay(0.8)) {
				t.Errorf("checks %d: %s, alone %s", i, got, want)
			}
		}
	}
}
