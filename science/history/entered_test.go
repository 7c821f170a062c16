package history_test

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/history"
	"knownwater/science/note"
)

// A log that was pasted twice says so, in whatever order its rows stand; one of two tests an evening, some of
// which agree, does not, nor does one with a row entered twice.
func TestLogEnteredTwice(t *testing.T) {
	p := recordOf(t)
	noted := func(rows []history.Entry) *note.Note {
		h := judged(t, rows, p)
		i := slices.IndexFunc(h.Notes, func(n note.Note) bool { return n.Code == "entered-again" })
		if i < 0 {
			return nil
		}
		return &h.Notes[i]
	}
	again := func(rows []history.Entry) (out []history.Entry) {
		for i, e := range slices.Concat(rows, rows) {
			e.Row = i + 2
			out = append(out, e)
		}
		return out
	}
	once := log(1)
	for i := range once { // as a file gives them
		if !once[i].Check {
			once[i].Known = math.NaN()
		}
	}
	twice := again(once)
	slices.Reverse(twice)
	if n := noted(twice); n == nil || int(n.Numbers["rows"][0]) != len(once) || int(n.Numbers["of"][0]) != 2*len(once) {
		t.Errorf("a log that was entered twice: %v", n)
	}
	evenings := again(once)
	for i := range once {
		if i%3 != 0 { // one evening in three on which both tests agree
			evenings[i].Reading += "1"
		}
	}
	for name, rows := range map[string][]history.Entry{"once": once, "a row twice": append(slices.Clone(once), once[3]), "two tests an evening": evenings} {
		if n := noted(rows); n != nil {
			t.Errorf("%s: %v", name, n)
		}
	}
}
