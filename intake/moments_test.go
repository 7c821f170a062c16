package intake

import (
	"fmt"
	"slices"
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
		if got := mustTrial(t, c.readings, "").InOrder; (len(got) == 1) != c.told {
			t.Errorf("%s: told of %q", c.name, got)
		}
	}
	// What a bench knows goes with the methods, as it writes no times.
	methods := func(name string) string {
		return "read_in_order = [\"" + name + "\"]\n[[method]]\nname = \"Meter\"\nkind = \"display\"\n"
	}
	trial := mustTrial(t, file("about %02d", mixed...), methods("Meter"))
	var b strings.Builder
	if err := WriteMethods(&b, MethodsFile{Scale: trial.Scale, Methods: trial.Methods, InOrder: trial.InOrder}); err != nil {
		t.Fatal(err)
	}
	if again := mustTrial(t, file("about %02d", mixed...), b.String()); !slices.Equal(again.InOrder, []string{"Meter"}) {
		t.Errorf("by the methods file: %q", again.InOrder)
	}
	if _, err := Methods(Source{Name: "methods.toml", Data: []byte(methods("Elm"))}); err == nil || !strings.Contains(err.Error(), "methods.toml:1:read_in_order") {
		t.Errorf("a method that is not there: %v", err)
	}
}
