package assess_test

import (
	"fmt"
	"math"
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

// Nine readings of one known and one of every other: how far readings of those scatter nobody saw, and the form that spreads
// mostly follow bounds them from above at best. Over a hump lower limits at the last known missed in 67 of 100 trials.
func TestReadOnceHasNoLeastSpread(t *testing.T) {
	rows := [][]any{}
	for _, r := range []float64{2.71, 3.34, 2.95, 3.62, 3.07, 2.48, 3.25, 2.9, 3.11} {
		rows = append(rows, []any{"Meter", 3, r})
	}
	for _, c := range []float64{0, 1.5, 6, 12, 40} {
		rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.2f", c+0.04)})
	}
	m := assessed(t, table("method,level,reading", rows...), "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.01\n", needFile(1.5, 20, 2)).Methods[0]
	for _, l := range m.Levels {
		if once := l.N == 1; once != (l.SDLow == 0) || !(l.SD > 0 && l.SDHigh > l.SD) {
			t.Errorf("%d readings of %g: spread %v (%v to %v)", l.N, l.Level, l.SD, l.SDLow, l.SDHigh)
		}
	}
	for _, a := range m.Needs[0].Along {
		if once := a.At != 3; a.RawLow > 0.1 == once { // nothing but the bias, of which one reading leaves nothing sure
			t.Errorf("at %g: error at least %v", a.At, a.RawLow)
		}
	}
}

// One drop, none and none at the blank: of three readings two are open below, and by themselves bound neither their mean nor
// their scatter. The mean was 0 to 11, the scatter at most 24, beside knowns at which drops of 0.5 scatter by less than one.
func TestOpenBlanksBorrowFromTheOthers(t *testing.T) {
	var rows [][]any
	for _, of := range []struct {
		level float64
		drops []int
	}{{0, []int{1, 0, 0}}, {3, []int{6, 7, 6}}, {7, []int{14, 15, 14}}, {11, []int{22, 23, 22}}} {
		for _, n := range of.drops {
			rows = append(rows, []any{"Count", of.level, n})
		}
	}
	m := assessed(t, table("method,level,reading", rows...), "analyte = \"alkalinity\"\nunit = \"dKH\"\n[[method]]\nname = \"Count\"\nkind = \"drops\"\ndrop_value = 0.5\n", "").Methods[0]
	if l := m.Levels[0]; !(l.MeanHigh > 0.5 && l.MeanHigh < 2) || !(l.SDHigh > m.Levels[1].SDHigh && l.SDHigh < 8) {
		t.Errorf("the blank is %v to %v and scatters by at most %v", l.MeanLow, l.MeanHigh, l.SDHigh)
	}
}

// Knowns at which drops gave one count each time, or two that meet there, beside others where they did not: nobody saw how far they scatter there. By the
// form of the others' spreads lower limits lay too high in 54 and 99 of 100 trials at the foot of a hump.
func TestOneAnswerHasNoLeastSpread(t *testing.T) {
	var rows [][]any
	for c, counts := range map[int][]int{2: {2, 2, 2}, 4: {4, 6, 5}, 8: {7, 9, 10}, 14: {15, 14, 15}, 20: {20, 20, 20}} {
		for _, n := range counts {
			rows = append(rows, []any{"Drops", c, fmt.Sprintf("%dd", n)})
		}
	}
	m := assessed(t, table("method,level,reading", rows...), "[[method]]\nname = \"Drops\"\nkind = \"drops\"\ndrop_value = 1.0\n", needFile(2, 20, 2)).Methods[0]
	for _, l := range m.Levels {
		if one := l.Level != 4 && l.Level != 8; one != (l.SDLow == 0) || !(l.SD > 0 && l.SDHigh > l.SD) {
			t.Errorf("at %g: spread %v (%v to %v)", l.Level, l.SD, l.SDLow, l.SDHigh)
		}
	}
	// steady hands are never off there
	for _, a := range m.Needs[0].Along {
		if one := a.At == 2 || a.At == 20; one && a.RawLow > 0 {
			t.Errorf("at %g: error at least %v", a.At, a.RawLow)
		}
	}
}

// Two readings of one vial at each known: vials may not differ at all, and the lower limit of the spread of single readings is no
// higher than that of somebody who noted no vial. It was higher, by what vials may differ.
func TestOneVialMayBeAsEveryOther(t *testing.T) {
	of := func(vials bool) assess.MethodFinding {
		rows := [][]any{}
		for i, c := range []float64{0, 1.5, 3, 6, 12, 40} {
			off := []float64{0.11, 0.32, 0.2, 0.45, 0.17, 0.05}[i]
			for k := range 2 {
				vial := ""
				if vials {
					vial = fmt.Sprint("v", i)
				}
				rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.2f", c+off*(float64(k)-0.4)), vial})
			}
		}
		return assessed(t, table("method,level,reading,vial", rows...), "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.01\n", needFile(1.5, 20, 2)).Methods[0]
	}
	noted, not := of(true), of(false)
	for i, l := range noted.Levels {
		if n := not.Levels[i]; l.SDLow > n.SDLow*1.02 || l.SDHigh < n.SDHigh {
			t.Errorf("at %g: spread %v to %v, without vials %v to %v", l.Level, l.SDLow, l.SDHigh, n.SDLow, n.SDHigh)
		}
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

// That what later readings say is told more loosely after two readings a level is said; of three it is not, nor so. Of levels that
// were read five times and twice it is told by the average of 1/n.
func TestTwoReadingsSayThatTheySayLess(t *testing.T) {
	for _, c := range []struct{ n, other, want float64 }{{2, 2, 1.5}, {3, 3, 0}, {5, 2, 1 + (3-5/(3/2.+2/5.))/2}} {
		rows := [][]any{}
		for i, level := range []float64{0, 3, 6, 12, 40} {
			n := c.n
			if i%2 == 0 {
				n = c.other
			}
			for k := range int(n) {
				rows = append(rows, []any{"Meter", level, fmt.Sprintf("%.2f", level+0.1*math.Sin(3*level+2*float64(k)))})
			}
		}
		m := assessed(t, table("method,level,reading", rows...), "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.01\n", needFile(1.5, 20, 2)).Methods[0]
		said := 0.0
		for _, o := range m.Notes {
			if o.Code == "read-loosely" {
				said = float64(o.Numbers["times"][0])
			}
		}
		if math.Abs(said-c.want) > 1e-9 {
			t.Errorf("%g and %g readings a level: said to scatter %g times as much, want %g", c.n, c.other, said, c.want)
		}
	}
}
