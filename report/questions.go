package report

import (
	"strconv"
	"strings"

	"knownwater/science/assess"
	"knownwater/science/doubt"
)

// questionView is a question as it stands above the findings.
type questionView struct {
	Method, Text, Rows string
	Holds              string // what it holds back, or nothing
}

func questionsOf(f assess.Findings) []questionView {
	var out []questionView
	for _, q := range f.Questions {
		v := questionView{Method: clean(q.Method), Text: Say(q.Says), Rows: english.rowWords(q.At, mostRowsNamed)}
		if q.HoldsBack {
			v.Holds = english.Say("Its answer could overturn a verdict, which is held back until then.")
		}
		out = append(out, v)
	}
	return out
}

// mostRowsNamed bounds the rows that a person is told of.
const mostRowsNamed = 12

// rowWords names the rows of a question: "Rows 5 (2.5 at 20) and 9 (2.4 at 20)."
func (l speech) rowWords(at []doubt.Place, most int) string {
	var names []string
	for _, p := range at[:min(len(at), most)] {
		names = append(names, l.Say("{1} (“{2}” at {3})", strconv.Itoa(p.Row), clean(p.Reading), figureOf(p.Level, "")))
	}
	switch n := len(at) - most; {
	case len(at) == 0:
		return ""
	case len(at) == 1:
		return l.Say("Row {1}.", names[0])
	case n > 0:
		return l.Say("Rows {1} and {2} more.", strings.Join(names, ", "), count(n))
	}
	return l.Say("Rows {1}.", l.and(names))
}

// askAll asks what would explain all readings together.
func askAll(n told) string {
	return n.Say("could it be that {1}? All readings together are about {2} times their knowns, which that would explain{3}",
		first(n), figureOf(at(n, "ratio", 0), "2"), rest(n))
}

// askRows asks what would explain some of them.
func askRows(n told) string {
	return n.Say("could it be that here {1}? This is about {2} times what the other readings let expect{3}",
		first(n), figureOf(at(n, "ratio", 0), "2"), rest(n))
}

func first(n told) string {
	if len(n.Because) == 0 {
		return none
	}
	return n.say(n.Because[0])
}

// rest are the other explanations.
func rest(n told) string {
	if len(n.Because) < 2 {
		return ""
	}
	var parts []string
	for _, b := range n.Because[1:] {
		parts = append(parts, n.Say("that {1}", n.say(b)))
	}
	return "; " + n.Say("so would it {1}", strings.Join(parts, n.Say(", or")+" "))
}

func both(n told) string {
	parts := make([]string, len(n.Because))
	for i, b := range n.Because {
		parts[i] = n.say(b)
	}
	return n.and(parts)
}

func askSwap(n told) string {
	f := func(name string, i int) string { return figureOf(at(n, name, i), "3") }
	of := [2]string{n.Say("one of level {1}", f("level", 0)), n.Say("one of level {1}", f("level", 1))}
	for i := range of {
		if names := n.Names["vial"]; i < len(names) && names[i] != "" {
			of[i] = n.Say("{1} (level {2})", names[i], f("level", i))
		}
	}
	return n.Say("were two vials swapped, {1} and {2}? They read {3} and {4} where {5} and {6} were to be expected, each like the other’s level",
		of[0], of[1], f("read", 0), f("read", 1), f("expected", 0), f("expected", 1))
}

// askSlip names readings that disagree.
func askSlip(n told) string {
	var parts []string
	for i := range min(len(n.Numbers["read"]), mostRowsNamed) {
		parts = append(parts, n.Say("{1} at {2}, where the others read about {3}",
			figureOf(at(n, "read", i), "3"), figureOf(at(n, "level", i), ""), figureOf(at(n, "expected", i), "3")))
	}
	return n.Say("is there a slip here: {1}? Nothing was left out", strings.Join(parts, "; "))
}
