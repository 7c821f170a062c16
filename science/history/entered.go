package history

import (
	"time"

	"knownwater/science/note"
)

// fewestAgain is how many days have to stand twice for a log to be asked about.
const fewestAgain = 5

// enteredAgain says how many rows of a log stand there before, alike in everything: where on five days or more,
// and four of five of those with several rows of a water by one method, each row has its double. Two tests of
// an evening that agree are seldom so many; a log that was pasted twice is.
func enteredAgain(log []Entry) []note.Note {
	type day struct {
		at            time.Time
		water, method string
	}
	rows := map[Entry]int{}
	for _, e := range log {
		e.Row = 0
		if !e.Check { // not a number is never like itself
			e.Known, e.UKnown = 0, 0
		}
		rows[e]++
	}
	all, odd := map[day]int{}, map[day]bool{}
	for e, n := range rows {
		d := day{dayOf(e.At), e.Water, e.Method}
		all[d] += n
		odd[d] = odd[d] || n%2 != 0
	}
	several, doubled, copies := 0, 0, 0
	for d, n := range all {
		switch {
		case n < 2:
		case odd[d]:
			several++
		default:
			several, doubled, copies = several+1, doubled+1, copies+n/2
		}
	}
	if doubled < fewestAgain || 5*doubled < 4*several {
		return nil
	}
	return []note.Note{note.New("entered-again").Number("rows", float64(copies)).Number("of", float64(len(log)))}
}
