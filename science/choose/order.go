package choose

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/num"
)

// sortWays puts the ways that can be used first, in the order in which one would take them,
// then those that would do beyond a limit, then what is open, then what does not.
func sortWays(ways []Way) {
	slices.SortStableFunc(ways, func(a, b Way) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), before(a, b))
	})
}

func rank(w Way) int {
	switch {
	case w.Can() && w.Inside():
		return 0
	case w.Can():
		return 1
	}
	return 2 + max(0, slices.Index([]string{assess.Undecided, assess.HeldBack, assess.NotTried, assess.NotFit}, w.Verdict))
}

// before orders two ways of one rank: the less money a year with what wrong calls cost (a
// way without a price behind those with one), then fewer minutes, fewer tests, as read
// before corrected, as the sheet says before otherwise, and the more of the permitted error to spare.
func before(a, b Way) int {
	last := func(is bool) int {
		if is {
			return 1
		}
		return 0
	}
	return cmp.Or(
		compareNumbers(a.moneyAndLoss(), b.moneyAndLoss()),
		compareNumbers(a.Cost.Minutes, b.Cost.Minutes),
		cmp.Compare(a.Tests, b.Tests),
		cmp.Compare(last(a.Corrected), last(b.Corrected)),
		cmp.Compare(last(a.Switches && a.Dilution != 0), last(b.Switches && b.Dilution != 0)),
		cmp.Compare(a.spare(), b.spare()),
	)
}

// compareNumbers counts as equal what differs by rounding only.
func compareNumbers(a, b num.Number) int {
	switch {
	case !a.OK() && !b.OK():
		return 0
	case !a.OK():
		return 1
	case !b.OK():
		return -1
	case math.Abs(float64(a-b)) <= 1e-9*math.Max(math.Abs(float64(a)), math.Abs(float64(b))):
		return 0
	}
	return cmp.Compare(a, b)
}

func (w Way) moneyAndLoss() num.Number {
	if w.Loss.Money.OK() {
		return w.Cost.Money + w.Loss.Money
	}
	return w.Cost.Money
}

// spare is the share of the permitted error that the upper limit of the error uses;
// infinite where it is not known.
func (w Way) spare() float64 {
	if w.Error.High.OK() && w.Error.Permitted.OK() && w.Error.Permitted > 0 {
		return float64(w.Error.High / w.Error.Permitted)
	}
	return math.Inf(1)
}

// because says why that way, or why none.
func because(n NeedChoice) note.Note {
	if w, ok := n.Used(); ok {
		return first(n, w)
	}
	count := map[string]int{}
	for _, w := range n.Ways {
		if w.Can() {
			count["beyond"]++
		}
		count[w.Verdict]++
	}
	switch {
	case len(n.Ways) == 0:
		return note.New("choose-nothing-tried")
	case count["beyond"] > 0:
		return note.New("choose-beyond-limits").Name("way", n.Ways[0].Method).Since(n.Ways[0].Beyond...)
	case count[assess.HeldBack] > 0:
		return note.New("question-first")
	case count[assess.NotTried] == len(n.Ways):
		return note.New("choose-not-tried")
	case count[assess.Undecided] > 0:
		return note.New("choose-undecided")
	}
	return note.New("choose-nothing-fit")
}

// first says what puts the way to use before the others that can be.
func first(n NeedChoice, w Way) note.Note {
	others, priced, least := 0, 0, w.Cost.Money
	for _, o := range n.Ways {
		if !o.Can() || !o.Inside() {
			continue
		}
		others++
		if o.Cost.Money.OK() {
			priced++
			least = min(least, o.Cost.Money)
		}
	}
	ways := float64(others)
	switch {
	case others == 1:
		return note.New("choose-only-one")
	case !w.Cost.Money.OK() && w.Cost.Minutes.OK():
		return note.New("choose-least-effort").Number("ways", ways)
	case !w.Cost.Money.OK():
		return note.New("choose-fewest-tests").Number("ways", ways)
	case compareNumbers(least, w.Cost.Money) < 0:
		return note.New("choose-least-with-calls").Number("ways", ways)
	case priced < others:
		return note.New("choose-least-known").Number("ways", ways)
	}
	return note.New("choose-least-money").Number("ways", ways)
}

// beside names the best way of each method that would do but for a limit.
func beside(n NeedChoice) (out []note.Note) {
	said := map[string]bool{}
	for i, w := range n.Ways {
		if !w.Can() || i == n.Use || said[w.Method] {
			continue
		}
		if said[w.Method] = true; !w.Inside() {
			out = append(out, note.New("choose-would-but").Name("method", w.Method).Since(w.Beyond...))
		}
	}
	return out
}
