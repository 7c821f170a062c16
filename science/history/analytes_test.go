package history_test

import (
	"fmt"
	"testing"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// ofScale is a source that measures something else.
type ofScale struct {
	history.Source
	scale unit.Scale
}

func (s ofScale) Unit() unit.Scale { return s.scale }

// A log is taken apart by what its methods measure; methods without a record go where their samples' words or their
// description tie them, and a log of one analyte stays whole.
func TestSplit(t *testing.T) {
	nitrate := recordOf(t)
	phosphate := ofScale{nitrate, unit.Scale{Analyte: "phosphate", Unit: "mg/L", Basis: "PO4"}}
	m := history.Methods{Records: map[string][]history.Source{"Meter": {nitrate}, "Blue": {phosphate}},
		Kinds: map[string]knownwater.Method{"Old": meter, "Said": meter, "Odd": meter, "Iron": meter}, Measures: map[string]string{"Said": "phosphate", "Iron": "iron"}}
	var l []history.Entry
	add := func(method, pair string, check bool) {
		l = append(l, history.Entry{Row: len(l) + 2, Method: method, Pair: pair, Check: check, Water: "north"})
	}
	for range 3 {
		add("Meter", "", false)
	}
	add("Blue", "", false)
	add("Blue", "", true)
	add("Old", "p1", false)
	add("Old", "", false)
	add("Blue", "p1", false)
	add("Said", "", false)
	add("Odd", "", false)
	add("Iron", "", false)
	says := func(l []history.Entry, m history.Methods) string {
		s := ""
		for _, p := range history.Split(l, m) {
			s += "[" + p.Scale.Analyte
			for _, e := range p.Entries {
				s += fmt.Sprint(" ", e.Row)
			}
			s += fmt.Sprint(" by ", len(p.Methods.Records), "]")
		}
		return s
	}
	if got, want := says(l, m), "[phosphate 5 6 7 8 9 10 by 1][nitrate 2 3 4 by 1][iron 12 by 0][ 11 by 0]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	one := m
	one.Records = map[string][]history.Source{"Meter": {nitrate}}
	if got := says(l, one); got != "[nitrate 2 3 4 5 6 7 8 9 10 11 12 by 1]" {
		t.Errorf("one record alone: %s", got)
	}
	if got := says(nil, m); got != "[ by 2]" {
		t.Errorf("an empty log: %s", got)
	}
}
