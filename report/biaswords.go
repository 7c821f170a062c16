package report

import (
	"math"
	"slices"
	"strings"

	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/wording"
)

// readsOf is where a method reads low or high, as the note about it says; the
// note need not stand among the others then.
func readsOf(m assess.MethodFinding) (words string, others []note.Note) {
	for i, n := range m.Notes {
		if n.Code == "reads" || n.Code == "reads-singly" {
			return Say(n), slices.Delete(slices.Clone(m.Notes), i, i+1)
		}
	}
	return "", m.Notes
}

// readsWords puts the stretches of a bias in words: “reads high near zero (at
// 0), by about 0.02; reads low from 2 up, by about 15 %”.
func readsWords(n told) string {
	var parts []string
	bottom, top := at(n, "ends", 0), at(n, "ends", 1)
	for i, side := range n.Names["side"] {
		from, to := at(n, "from", i), at(n, "to", i)
		where := n.whereWords(from, to, bottom, top)
		by := n.byWords(from, to, at(n, "first", i), at(n, "last", i))
		switch side {
		case "low", "high":
			parts = append(parts, n.Say(readsTo[side], where, by))
		case "right":
			parts = append(parts, n.Say("reads right {1}, within 5 %", where))
		default:
			parts = append(parts, n.Say("{1} neither high nor low is shown", where))
		}
	}
	for _, side := range []string{"low", "high"} {
		if alone := n.Numbers["alone_"+side]; len(alone) > 0 {
			parts = append(parts, n.Say(looksAlone[side], n.numbers(alone, "")))
		}
	}
	return strings.Join(parts, "; ")
}

// looksAlone says of knowns at which the sentence shows neither side that their own intervals, which the
// table prints, leave the known out.
var looksAlone = map[string]string{
	"low":  wording.Key("the readings at {1} by themselves look low, which at one known of several may be chance"),
	"high": wording.Key("the readings at {1} by themselves look high, which at one known of several may be chance"),
}

var readsTo = map[string]string{"low": wording.Key("reads low {1}, by {2}"), "high": wording.Key("reads high {1}, by {2}")}

// offWords are the stretches that read low or high alone.
func offWords(n told) []string {
	var parts []string
	bottom, top := at(n, "ends", 0), at(n, "ends", 1)
	for i, side := range n.Names["side"] {
		if side == "low" || side == "high" {
			from, to := at(n, "from", i), at(n, "to", i)
			parts = append(parts, n.Say(readsTo[side], n.whereWords(from, to, bottom, top), n.byWords(from, to, at(n, "first", i), at(n, "last", i))))
		}
	}
	return parts
}

// whereWords names a stretch of knowns between the lowest and the highest one.
func (l speech) whereWords(from, to, bottom, top float64) string {
	f := func(v float64) string { return figureOf(v, "") }
	switch {
	case from == bottom && to == top:
		return l.Say("throughout, from {1} to {2}", f(from), f(to))
	case from == to && from == 0:
		return l.Say("near zero (at 0)")
	case from == to && to != top:
		return l.Say("at {1}", f(from))
	case to == top:
		return l.Say("from {1} up", f(from))
	case from == bottom && from == 0:
		return l.Say("near zero, up to {1}", f(to))
	case from == bottom:
		return l.Say("up to {1}", f(to))
	}
	return l.Say("from {1} to {2}", f(from), f(to))
}

// byWords is by how much: a share where the bias is less than half of the known at
// both ends, else as it is; one number where both ends are about the same, else that of the
// lower and of the upper end. Where one would be a share and one not, both are shares if none is more than the known
// itself; else, as at nothing, the ends are named.
func (l speech) byWords(from, to, first, last float64) string {
	limit := 0.5
	a, aShare := amount(from, first, limit)
	b, bShare := amount(to, last, limit)
	if aShare != bShare {
		limit = 1
		a, aShare = amount(from, first, limit)
		b, bShare = amount(to, last, limit)
	}
	how := "2%"
	if aShare && bShare {
		a, b = a/100, b/100
	} else {
		a, b, how = math.Abs(first), math.Abs(last), "2"
	}
	word := func(v, level float64, share bool) string {
		if share {
			return figureOf(v/level, "2%")
		}
		return figureOf(v, "2")
	}
	switch {
	case from == to || math.Abs(a-b) <= 0.25*math.Max(a, b):
		return l.Say("about {1}", figureOf((a+b)/2, how))
	case aShare == bShare:
		return l.Say("about {1} to {2}", figureOf(a, how), figureOf(b, how))
	}
	return l.Say("about {1} at {2} to {3} at {4}", word(a, from, aShare), figureOf(from, ""), word(b, to, bShare), figureOf(to, ""))
}

// amount is a bias as a share of the known, in percent, where it is less than limit of it.
func amount(level, bias, limit float64) (size float64, share bool) {
	if b := math.Abs(bias); b < limit*level {
		return 100 * b / level, true
	}
	return math.Abs(bias), false
}

func straightThrough(n told) string {
	low, high := figureOf(at(n, "slope", 0), "3"), figureOf(at(n, "slope", 1), "3")
	if low == high {
		return n.Say("a straight line without any scatter passes through all the readings; its slope is {1}", low)
	}
	return n.Say("straight lines without any scatter pass through all the readings; their slopes go from {1} to {2}", low, high)
}
