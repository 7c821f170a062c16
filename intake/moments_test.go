package intake

import (
	"fmt"
	"strings"
	"testing"
)

// Knowns that were read level by level are told of, by whatever clock; mixed ones, ones that go up and down
// again and those of which nobody says when, are not.
func TestReadInTheOrderOfLevels(t *testing.T) {
	file := func(of string, levels ...int) string {
		var b strings.Builder
		b.WriteString("method,level,reading,taken_at,session\n")
		for i, c := range levels {
			fmt.Fprintf(&b, "Meter,%d,%d.%d,%s,s%d\n", c, c, i%3, fmt.Sprintf(of, i), i/8)
		}
		return b.String()
	}
	rising, mixed := []int{0, 0, 2, 2, 5, 5, 10, 10, 0, 0, 2, 2, 5, 5, 10, 10}, []int{5, 0, 10, 2, 0, 10, 5, 2, 2, 10, 0, 5, 10, 5, 2, 0}
	turned := []int{0, 0, 2, 2, 5, 5, 10, 10, 10, 10, 5, 5, 2, 2, 0, 0}
	for _, c := range []struct {
		name, readings string
		told           bool
	}{
		{"date and time", file("2026-03-01T09:%02d", rising...), true},
		{"a time of day", file("9:%02d", rising...), true},
		{"mixed", file("2026-03-01T09:%02d", mixed...), false},
		{"up, then down", file("2026-03-01 09:%02d", turned...), false},
		{"no clock", file("about %02d", rising...), false},
	} {
		trial := mustTrial(t, c.readings, "")
		told := trial.Notes[0].Code == "read-in-order" // before what says less
		if told != c.told {
			t.Errorf("%s: told %v: %v", c.name, told, trial.Notes)
		}
	}
}
