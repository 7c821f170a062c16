package report

import (
	"fmt"
	"math"

	"knownwater/science/history"
)

// Said is a sentence for whoever reads now, and what more there is to it.
type Said struct{ Head, More string }

// LotsSay is what whoever reads with a lot should know of it beside the one before: that
// side-by-side vials are wanted while that one lasts, or what they said. next says that another lot is
// already open; else a lot that runs out asks for it. Empty: nothing.
func LotsSay(l history.Lot, next bool) (out []Said) {
	if l.Before != "" {
		if t := besideSays(l); t.Head != "" {
			out = append(out, t)
		}
	}
	if n := max(l.Pairs(0.8), 2); !next && l.Left >= 0 && l.Left <= n+4 {
		out = append(out, Said{"Lot " + clean(l.Code) + " has " + things(l.Left, "test") + " left: open the next one before it is empty.",
			"Test one known with both" + lotPlan(l) + "."})
	}
	return out
}

func besideSays(l history.Lot) Said {
	name, old := "Lot "+clean(l.Code), "lot "+clean(l.Before)
	if math.IsNaN(l.Ratio) {
		t := Said{name + " has not been tested beside " + old + " yet.", "While that one lasts"}
		if l.LeftBefore >= 0 {
			t.More += " (" + things(l.LeftBefore, "test") + " left)"
		}
		t.More += ", test one known with both" + lotPlan(l) + ". Without them nobody can tell a step in the log from a step in the water."
		return t
	}
	t := Said{fmt.Sprintf("%s reads %s of what %s did (%s to %s).", name, ofHundred(l.Ratio), old, ofHundred(l.Low), ofHundred(l.High)),
		fmt.Sprintf("By %s of a known of %s with it and %d with %s.", things(l.To, "vial"), brief(l.Known), l.From, old)}
	if l.Share > 0 {
		t.More += fmt.Sprintf(" What you need leaves a lot %s to either side (half of the error that it permits).", ofHundred(l.Share))
	}
	switch l.Told {
	case "different":
		t.More += " What it reads is turned round as if it were that lot: a trial with it gives it a record of its own."
	case "undecided":
		if n := l.Pairs(0.9); n > min(l.From, l.To) {
			t.More += fmt.Sprintf(" %s with each would show a tenth in 4 of 5 cases.", capital(things(n, "vial")))
		}
	default:
		return Said{}
	}
	return t
}

// lotPlan is how many vials show what.
func lotPlan(l history.Lot) string {
	n, more := l.Pairs(0.8), l.Pairs(0.9)
	if n == 0 {
		return ""
	}
	s := fmt.Sprintf(": %s of a known of %s with each show in 4 of 5 cases a lot that reads a fifth otherwise", things(n, "vial"), brief(l.Known))
	if more > n {
		s += fmt.Sprintf(", %d one that reads a tenth", more)
	}
	return s
}
