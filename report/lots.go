package report

import (
	"math"
	"strconv"

	"knownwater/science/history"
	"knownwater/wording"
)

// Said is a sentence for whoever reads now, and what more there is to it.
type Said struct{ Head, More string }

// LotsSay is what whoever reads with a lot should know of it beside the one before: that
// side-by-side vials are wanted while that one lasts, or what they said. next says that another lot is
// already open; else a lot that runs out asks for it. Empty: nothing.
func LotsSay(l *wording.Language, x history.Lot, next bool) (out []Said) {
	if x.Before != "" {
		if t := besideSays(speech{l}, x); t.Head != "" {
			out = append(out, t)
		}
	}
	if n := max(x.Pairs(0.8), 2); !next && x.Left >= 0 && x.Left <= n+4 {
		out = append(out, Said{l.Say("Lot {1} has {2} left: open the next one before it is empty.", clean(x.Code), speech{l}.things(x.Left, "test")),
			l.Say("Test one known with both{1}.", lotPlan(speech{l}, x))})
	}
	return out
}

func besideSays(l speech, x history.Lot) Said {
	name, old := l.Say("Lot {1}", clean(x.Code)), l.Say("lot {1}", clean(x.Before))
	if math.IsNaN(x.Ratio) {
		t := Said{l.Say("{1} has not been tested beside {2} yet.", name, old), "While that one lasts"}
		if x.LeftBefore >= 0 {
			t.More += " " + l.Say("({1} left)", l.things(x.LeftBefore, "test"))
		}
		t.More += ", " + l.Say("test one known with both{1}. Without them nobody can tell a step in the log from a step in the water.", lotPlan(l, x))
		return t
	}
	t := Said{l.Say("{1} reads {2} of what {3} did ({4} to {5}).", name, ofHundred(x.Ratio), old, ofHundred(x.Low), ofHundred(x.High)),
		l.Say("By {1} of a known of {2} with it and {3} with {4}.", l.things(x.To, "vial"), brief(x.Known), strconv.Itoa(x.From), old)}
	if len(x.Knowns) > 1 {
		knowns := make([]string, len(x.Knowns))
		for i, c := range x.Knowns {
			knowns[i] = brief(c)
		}
		t.More = l.Say("By {1} of knowns of {2} with it and {3} with {4}.", l.things(x.To, "vial"), l.and(knowns), strconv.Itoa(x.From), old)
	}
	if x.Share > 0 {
		t.More += " " + l.Say("What you need leaves a lot {1} to either side (half of the error that it permits).", ofHundred(x.Share))
	}
	switch x.Told {
	case "different":
		t.More += " " + l.Say("What it reads is turned round as if it were that lot: a trial with it gives it a record of its own.")
	case "undecided":
		if n := x.Pairs(0.9); n > min(x.From, x.To) {
			t.More += " " + l.Say("{1} of a known of {2} with each would show a tenth in 4 of 5 cases.", capital(l.things(n, "vial")), brief(x.Known))
		}
	default:
		return Said{}
	}
	return t
}

// lotPlan is how many vials show what.
func lotPlan(l speech, x history.Lot) string {
	n, more := x.Pairs(0.8), x.Pairs(0.9)
	if n == 0 {
		return ""
	}
	s := ": " + l.Say("{1} of a known of {2} with each show in 4 of 5 cases a lot that reads a fifth otherwise", l.things(n, "vial"), brief(x.Known))
	if more > n {
		s += ", " + l.Say("{1} one that reads a tenth", strconv.Itoa(more))
	}
	return s
}
