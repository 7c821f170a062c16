package assess_test

import (
	"fmt"
	"strings"
	"testing"

	"knownwater/science/assess"
)

// A card that showed its own swatch in four of four readings was "not fit, corrected or not", and read
// high near zero: that the spread is not nothing, and no mean below nothing, was taken for seen.
func TestFewRightAnswersAreNoFault(t *testing.T) {
	few := func(at5, at10 string) assess.MethodFinding {
		rows := [][]any{{"Card", 0, "0"}}
		for range 3 {
			rows = append(rows, []any{"Card", 5, at5})
			if at10 != "" {
				rows = append(rows, []any{"Card", 10, at10})
			}
		}
		return assessed(t, table("method,level,reading", rows...), chartFile("[0, 1, 2.5, 5, 10, 25]"), needFile(2, 5, 0.6)).Methods[0]
	}
	right := few("5", "")
	if n := right.Needs[0]; n.Verdict != assess.Undecided || float64(n.Raw.Low) > 0.6 {
		t.Errorf("four right answers: %s, the error at least %v", n.Verdict, n.Raw.Low)
	}
	if said := notes(right); strings.Contains(said, "reads high") || strings.Contains(strings.ToLower(said), "high near zero") {
		t.Errorf("four right answers read high:\n%s", said)
	}
	if n := few("2.5", "5").Needs[0]; n.Raw.Verdict != assess.NotFit {
		t.Errorf("half of what is there, every time: as read %s", n.Raw.Verdict)
	}
}

// Knowns that lie on the boundaries between two counts of drops, read as the one and as the other:
// hands that do not scatter at all would read so, and are never more than a drop off. That
// means lie on boundaries was taken for scatter, of half a drop at least, and held against them.
func TestBoundariesAreNoScatter(t *testing.T) {
	var rows [][]any
	for i, c := range []int{1, 2, 4, 6, 10, 15, 20} {
		for k := range 3 {
			rows = append(rows, []any{"Drops", c, fmt.Sprintf("%dd", c+(i+k)%2)})
		}
	}
	judged := func(permitted float64) assess.MethodFinding {
		return assessed(t, table("method,level,reading", rows...), "[[method]]\nname = \"Drops\"\nkind = \"drops\"\ndrop_value = 1.0\n", needFile(2, 18, permitted)).Methods[0]
	}
	m := judged(1.05)
	if n := m.Needs[0]; n.Raw.Verdict == assess.NotFit {
		t.Errorf("not fit for 1.05: the error is at least %v", n.Raw.Low)
	}
	for _, l := range m.Levels {
		if l.SDLow != 0 {
			t.Errorf("the spread at %g is at least %v", l.Level, l.SDLow)
		}
	}
	if n := judged(0.6).Needs[0]; n.Raw.Verdict != assess.NotFit {
		t.Errorf("a drop off where 0.6 is permitted: %s", n.Raw.Verdict)
	}
}
