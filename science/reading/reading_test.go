package reading

import (
	"errors"
	"math"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/interval"
)

var (
	inf   = math.Inf(1)
	chart = knownwater.Method{Name: "Violet card", Kind: knownwater.Chart, Swatches: []float64{0, 6, 15, 30}}
	panel = knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01,
		Range: &interval.Interval{Low: 0, High: 30}}
	drops = knownwater.Method{Name: "Titration", Kind: knownwater.Drops, DropValue: 0.5}
	cell  = knownwater.Method{Name: "Cuvette", Kind: knownwater.Absorbance}
)

// The expected intervals follow from the tiling in concept.md, worked by hand.
func TestUnderstand(t *testing.T) {
	for _, c := range []struct {
		m         knownwater.Method
		text      string
		low, high float64
	}{
		{chart, "0", -inf, 1.5},
		{chart, "6", 4.5, 8.25},
		{chart, " 6 ", 4.5, 8.25},
		{chart, "6.0", 4.5, 8.25},
		{chart, "15", 12.75, 18.75},
		{chart, "30", 26.25, 33.75},
		{chart, "0..6", 1.5, 4.5},
		{chart, "6..15", 8.25, 12.75},
		{chart, "6 .. 15", 8.25, 12.75},
		{chart, "0..15", 0, 15},
		{chart, ">30", 33.75, inf},
		{chart, ">15", 18.75, inf},
		{chart, "<0", -inf, 0},
		{chart, "< 6", -inf, 4.5},

		{panel, "4.73", 4.725, 4.735},
		{panel, "0", -inf, 0.005},
		{panel, "-0.02", -inf, 0.005},
		{panel, "0.01", 0.005, 0.015},
		{panel, "30", 29.995, inf},
		{panel, "31.2", 29.995, inf},
		{panel, "<0.5", -inf, 0.5},
		{panel, ">50", 50, inf},
		{panel, "6..15", 6, 15},
		{cell, "0.0714", 0.07135, 0.07145},
		{cell, "-0.003", -0.0035, -0.0025},
		{cell, "12", 11.5, 12.5},
		{cell, "1e-3", 0.0005, 0.0015},
		{cell, "−2", -2.5, -1.5},

		{drops, "7d", 3, 3.5},
		{drops, "7", 3, 3.5},
		{drops, "7 D", 3, 3.5},
		{drops, "1d", 0, 0.5},
		{drops, "0d", -inf, 0},
		{drops, "6d..8d", 2.5, 4},
		{drops, "6..8d", 2.5, 4},
		{drops, "<7d", -inf, 3},
		{drops, ">7d", 3.5, inf},
		{drops, "<0.5", -inf, 0.5},
		{drops, "2..3.5", 2, 3.5},
	} {
		got, err := Understand(c.text, c.m)
		if err != nil {
			t.Errorf("%s %q: %v", c.m.Name, c.text, err)
			continue
		}
		if !near(got.Low, c.low) || !near(got.High, c.high) {
			t.Errorf("%s %q = [%v, %v], want [%v, %v]", c.m.Name, c.text, got.Low, got.High, c.low, c.high)
		}
	}
}

func near(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-15*math.Max(1, math.Abs(b)) }

func TestUnderstandRefuses(t *testing.T) {
	for _, c := range []struct {
		m    knownwater.Method
		text string
		want string
	}{
		{chart, "", `no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{chart, "15..6", `"15..6" runs backwards: the lower end first: 6..15`},
		{chart, "6..6", `"6..6" has two equal ends: one value: 6`},
		{chart, "7", `"7" is no swatch of Violet card: its swatches are 0, 6, 15, 30`},
		{chart, "6..14", `"6..14" is not between swatches of Violet card: its swatches are 0, 6, 15, 30`},
		{chart, "-6", `"-6" is no swatch of Violet card: its swatches are 0, 6, 15, 30`},
		{chart, "<0.5", `"<0.5" is no swatch of Violet card: its swatches are 0, 6, 15, 30`},
		{chart, ">50", `">50" is no swatch of Violet card: its swatches are 0, 6, 15, 30`},
		{chart, "6d", `"6d" counts drops: a number: Violet card is a chart method`},
		{chart, "6...15", `"6...15" has three dots: two dots between the ends of an interval, such as 6..15`},
		{chart, "6-15", `"6-15" is no reading: two dots for an interval: 6..15`},
		{chart, "6 – 15", `"6 – 15" is no reading: two dots for an interval: 6..15`},
		{chart, "6 to 15", `"6 to 15" is no reading: two dots for an interval: 6..15`},
		{chart, "6..", `"6.." lacks a number: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{chart, "<", `"<" lacks a number: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{chart, "6,5", `"6,5" has a comma in a number: a decimal point here: 6.5`},
		{panel, "NaN", `"NaN" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "inf", `"inf" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "1..inf", `"1..inf" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "1e999", `"1e999" is too large a number: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "0x10", `"0x10" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "1_000", `"1_000" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "=1+1", `"=1+1" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{panel, "7d", `"7d" counts drops: a number: Meter is a display method`},
		{drops, "3.5", `"3.5" is no count of drops: a whole number of drops, such as 7d`},
		{drops, "3.5d", `"3.5d" is no count of drops: a whole number of drops, such as 7d`},
		{drops, ".1..1D", `".1..1D" is no count of drops: whole numbers of drops, such as 6..8d`},
		{drops, "1..1.5d", `"1..1.5d" is no count of drops: a whole number of drops, such as 7d`},
		{drops, "-1..2d", `"-1..2d" is no count of drops: whole numbers of drops, such as 6..8d`},
		{drops, "-1", `"-1" is no count of drops: a whole number of drops, such as 7d`},
		{drops, "d", `"d" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{knownwater.Method{Name: "X"}, "1", `method "X" has no kind: chart, display, drops, absorbance or photo`},
	} {
		got, err := Understand(c.text, c.m)
		var f knownwater.Fault
		if !errors.As(err, &f) {
			t.Errorf("%q: got %v, %v, want a fault", c.text, got, err)
			continue
		}
		if err.Error() != c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.text, err, c.want)
		}
	}
}

// Common practice, no source: the middle of the two swatches is written down.
func TestMidpointHabit(t *testing.T) {
	card := knownwater.Method{Name: "Card", Kind: knownwater.Chart, Swatches: []float64{0, 5, 12, 16, 25, 32}}
	for _, c := range []struct {
		m    knownwater.Method
		text string
		want float64
	}{
		{card, "5..12", 8.5},
		{card, "12..25", 18.5},
		{card, "16..32", 24},
		{card, "12", 12},
		{card, "<5", 2.5},
		{card, ">32", 32},
		{drops, "7d", 3.5},
		{drops, "7", 3.5},
		{drops, "6d..8d", 3.5},
		{panel, "4.73", 4.73},
	} {
		got, err := Midpoint(c.text, c.m)
		if err != nil || got != c.want {
			t.Errorf("%s %q = %v, %v, want %v", c.m.Name, c.text, got, err, c.want)
		}
	}
	if v, err := Midpoint("7", card); err == nil || !math.IsNaN(v) {
		t.Errorf("a reading off the chart has the midpoint %v", v)
	}
}

func TestAnotherShare(t *testing.T) {
	m := chart
	m.AtShare = 0.5
	got, err := Understand("6", m)
	if err != nil || got != (interval.Interval{Low: 3, High: 10.5}) {
		t.Errorf("at_share 0.5: %v, %v", got, err)
	}
	if chart.AtShare != 0 {
		t.Error("a share of its own changed the method that it was copied from")
	}
	if n := len(Tiles(m)); n != 5 { // 0, 6, 15, 30, >30
		t.Errorf("%d tiles where nothing lies between swatches", n)
	}
}

func TestCheck(t *testing.T) {
	ok := []knownwater.Method{chart, panel, drops, cell}
	for _, m := range ok {
		if fs := Faults(m); fs != nil {
			t.Errorf("%s: %v", m.Name, fs)
		}
	}
	for want, m := range map[string]knownwater.Method{
		"swatches: 1 swatches: at least two":         {Name: "A", Kind: knownwater.Chart, Swatches: []float64{1}},
		"swatches: 6 after 15: swatches, rising":     {Name: "A", Kind: knownwater.Chart, Swatches: []float64{0, 15, 6}},
		"swatches: 6 after 6: swatches, rising":      {Name: "A", Kind: knownwater.Chart, Swatches: []float64{6, 6}},
		"swatches: NaN: concentrations":              {Name: "A", Kind: knownwater.Chart, Swatches: []float64{0, math.NaN()}},
		"at_share: 0.51: a share":                    {Name: "A", Kind: knownwater.Chart, Swatches: []float64{0, 1}, AtShare: 0.51},
		"at_share: -0.1: a share":                    {Name: "A", Kind: knownwater.Chart, Swatches: []float64{0, 1}, AtShare: -0.1},
		"drop_value: 0: the concentration":           {Name: "A", Kind: knownwater.Drops},
		"kind: \"dial\": chart, display":             {Name: "A", Kind: "dial"},
		"resolution: -1: one step":                   {Name: "A", Kind: knownwater.Display, Resolution: -1},
		"range: [3, 3]: the lower end":               {Name: "A", Kind: knownwater.Display, Range: &interval.Interval{Low: 3, High: 3}},
		"dilution_factor: 0: a factor above 1":       {Name: "A", Kind: knownwater.Display, DilutionOver: 5},
		"pack_price: -1: 0 or more":                  {Name: "A", Kind: knownwater.Display, PackPrice: -1},
		"name: a method without a name: a name that": {Kind: knownwater.Display},
	} {
		fs := Faults(m)
		if len(fs) != 1 || !strings.HasPrefix(fs.Error(), want) {
			t.Errorf("got %v, want %s", fs, want)
		}
	}
}

// A reading typed between a display's own steps is that value ± half a step, as one on a
// step is: what it shows beyond its last digit makes it no narrower, nor does it move.
func TestBetweenTheSteps(t *testing.T) {
	m := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.1}
	for text, want := range map[string][2]float64{"5.25": {5.2, 5.3}, "5.2": {5.15, 5.25}, "-0.03": {-0.08, 0.02}} {
		seen, err := Understand(text, m)
		if err != nil || math.Abs(seen.Low-want[0]) > 1e-12 || math.Abs(seen.High-want[1]) > 1e-12 {
			t.Errorf("%s on steps of 0.1 is %v (%v), want %v", text, seen, err, want)
		}
	}
}
