package assess_test

import (
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
