package assess_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"knownwater/report"
	"knownwater/science/assess"
)

// said are the notes of the first method, as they are told.
func said(f assess.Findings) string { return strings.Join(report.SayAll(f.Methods[0].Notes), "\n") }

// TestProgramForOtherWater: a photometer program that was made for other water
// (common practice, no source): 0, 1, 5, 10, 25, 50 read 4, 3.4, 4.78, 8.23, 16.65,
// 28, each once. Nearly straight with a slope of about a half, 0 and 1 not told
// apart, correctable above the dead zone at most, and low from 10 up in words.
func TestProgramForOtherWater(t *testing.T) {
	f := assessed(t, table("method,level,reading", []any{"Meter", 0, "4.00"}, []any{"Meter", 1, "3.40"}, []any{"Meter", 5, "4.78"},
		[]any{"Meter", 10, "8.23"}, []any{"Meter", 25, "16.65"}, []any{"Meter", 50, "28.00"}), "", "")
	if s := f.Methods[0].Line.Slope; s < 0.45 || s > 0.55 {
		t.Errorf("slope %v", s)
	}
	words := said(f)
	for _, want := range []string{
		"reads high near zero, up to 1", "reads right at 5, within 5 %", "reads low from 10 up, by about 18 % to 44 %",
		"does not tell 0 from 1", "From 0 to 1 the readings hardly follow the water: correctable only above that dead zone",
		"From 5 up every single reading lay below its known", "Up to 1 every single reading lay above its known",
	} {
		if !strings.Contains(words, want) {
			t.Errorf("nothing says %q:\n%s", want, words)
		}
	}
	for _, q := range besidesWater(f) {
		t.Errorf("asked about a slope of a half: %+v", q)
	}
}

// TestBiasInWords: the words follow the response.
func TestBiasInWords(t *testing.T) {
	levels := []float64{0, 1, 2.5, 6, 12, 25}
	for _, c := range []struct {
		name      string
		response  func(c float64) float64
		want, not []string
	}{
		{"15 % low", func(c float64) float64 { return 0.85 * c }, []string{"reads low from 1 up, by about 15 %"}, []string{"reads high", "dead zone"}},
		{"right", straight, nil, []string{"reads low", "reads high", "dead zone"}},
		{"a blank of 0.7", func(c float64) float64 { return 0.7 + c }, []string{"reads high"}, []string{"reads low", "dead zone"}},
		{"dead up to 2.5", func(c float64) float64 { return 1 + max(0, 0.9*(c-2.5)) },
			[]string{"reads high near zero", "reads low from 2.5 up", "from 0 to 2.5 the readings hardly follow", "correctable only above that dead zone"}, nil},
		{"dead up to 4, which no known tells from 2.5", func(c float64) float64 { return max(0, c-4) },
			[]string{"from 0 to 2.5 the readings hardly follow"}, []string{"from 0 to 6 the readings"}},
	} {
		f := assessed(t, made(levels, 4, c.response, 0.02, func(level float64, _ int, y float64) float64 {
			if level == 0 { // made reads hardly anything there
				return y + c.response(0)
			}
			return y
		}), meterFile, "")
		words := said(f)
		for _, w := range c.want {
			if !strings.Contains(strings.ToLower(words), w) {
				t.Errorf("%s: nothing says %q:\n%s", c.name, w, words)
			}
		}
		for _, w := range c.not {
			if strings.Contains(strings.ToLower(words), w) {
				t.Errorf("%s: something says %q:\n%s", c.name, w, words)
			}
		}
	}
}

// TestSidesOfNone: what is said of a method's sides is one sentence, so that a method without bias is told to read
// high or low somewhere in at most 5 of 100 trials, not at each of seven knowns (in 10 to 21 of 100 at the time).
func TestSidesOfNone(t *testing.T) {
	const trials = 40
	rng := rand.New(rand.NewPCG(24, 7))
	told := 0
	for range trials {
		var rows [][]any
		for _, c := range []float64{0, 1, 2.5, 5, 10, 20, 40} {
			for range 3 {
				rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.2f", c+rng.NormFloat64()*math.Hypot(0.1, 0.05*c))})
			}
		}
		words := said(assessed(t, table("method,level,reading", rows...), meterFile, ""))
		if strings.Contains(words, "reads high") || strings.Contains(words, "reads low") {
			told++
		}
	}
	if told > 4 { // at 3 % that happens in one of a hundred
		t.Errorf("a method that reads right is told to read high or low in %d of %d trials", told, trials)
	}
}

// TestKnownsCountOnce: a bias four times the knowns' uncertainty is told; their doubt is in the draws already.
func TestKnownsCountOnce(t *testing.T) {
	var rows [][]any
	for _, c := range []float64{0, 1, 2.5, 5, 10, 20} {
		for _, z := range []float64{-1, -0.3, 0, 0.4, 0.9} {
			rows = append(rows, []any{"Meter", c, 0.03 * c, 0.03 * c, fmt.Sprintf("%.2f", 1.12*c+z*(0.03+0.015*c))})
		}
	}
	if words := said(assessed(t, table("method,level,u_level,u_shared,reading", rows...), meterFile, "")); !strings.Contains(words, "reads high from 1 up, by about 12 %") {
		t.Errorf("12 %% high against knowns of 3 %%:\n%s", words)
	}
}

// TestHalfADrop: a count of drops that is right in its intervals is half a drop
// high as people count; one that needs a drop more than it should is not put
// right by that.
func TestHalfADrop(t *testing.T) {
	file := nitrate + "[[method]]\nname = \"Count\"\nkind = \"drops\"\ndrop_value = 0.5\n"
	for _, c := range []struct {
		extra int
		want  bool
	}{{0, true}, {2, false}} {
		rng := rand.New(rand.NewPCG(21, 1))
		var rows [][]any
		for _, level := range []float64{1.1, 2.4, 3.9, 5.2, 6.7} {
			for range 4 {
				drops := int((level+0.08*rng.NormFloat64())/0.5) + 1 + c.extra
				rows = append(rows, []any{"Count", level, drops})
			}
		}
		if got := strings.Contains(said(assessed(t, table("method,level,reading", rows...), file, "")), "subtract half a drop"); got != c.want {
			t.Errorf("%d drops too many: said %v, want %v", c.extra, got, c.want)
		}
	}
}

// TestStraightThrough: knowns 2, 6 and 12 read 0..4, 4..8 and 8..12 on a card (at
// a share of 0.25: 1..3, 5..7, 9..11; by hand the flattest line goes from (2, 3) to
// (12, 9), slope 0.6, the steepest from (2, 1) to (12, 11), slope 1; both pass 6 between
// 5 and 7).
func TestStraightThrough(t *testing.T) {
	file := nitrate + "[[method]]\nname = \"Card\"\nkind = \"chart\"\nswatches = [0, 4, 8, 12]\n"
	text := table("method,level,reading", []any{"Card", 2, "0..4"}, []any{"Card", 6, "4..8"}, []any{"Card", 12, "8..12"})
	if words := said(assessed(t, text, file, "")); !strings.Contains(words, "their slopes go from 0.6 to 1") {
		t.Errorf("%s", words)
	} else if strings.Contains(words, "single reading lay below its known") && !strings.Contains(words, "At 12 every single reading lay below") {
		t.Errorf("2 and 6 lie within what was read of them:\n%s", words)
	}
	// One that no line meets: 12 read as 0..4 after 6 as 8..12.
	text = table("method,level,reading", []any{"Card", 2, "0..4"}, []any{"Card", 6, "8..12"}, []any{"Card", 12, "0..4"})
	if words := said(assessed(t, text, file, "")); strings.Contains(words, "without any scatter") {
		t.Errorf("%s", words)
	}
}

// A method 15 % low, on a line: at 2 the line is too near the known for a side, the readings there lie lower by themselves,
// and the table prints an interval that leaves the known out. The sentence said "neither high nor low is shown" and nothing else.
func TestKnownThatLooksLowByItself(t *testing.T) {
	scatter := []float64{-1.3, -0.6, 0, 0.6, 1.3}
	said := func(off float64) string {
		var rows [][]any
		for i, c := range []float64{0, 2, 6, 12, 25, 50} {
			mean := 0.85 * c
			if c == 2 {
				mean = c + off
			}
			for k := range scatter {
				rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.2f", mean+scatter[(k+i)%len(scatter)])})
			}
		}
		m := assessed(t, table("method,level,reading", rows...), "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.01\n", "").Methods[0]
		l := m.Levels[1]
		if off < -1 != (l.BiasHigh < 0) || off > 0.8 != (l.BiasLow > 0) {
			t.Errorf("%g off: the table prints %v to %v", off, l.BiasLow, l.BiasHigh)
		}
		return notes(m)
	}
	const low, high = "by themselves look low, which at one known of several may be chance", "by themselves look high"
	for off, want := range map[float64]string{-1.2: "the readings at 2 " + low, -0.3: ""} {
		got := said(off)
		if !strings.Contains(got, "reads low from") || !strings.Contains(got, "neither high nor low is shown") {
			t.Errorf("%g off: %s", off, got)
		}
		if !strings.Contains(got, want) || want == "" && strings.Contains(got, "by themselves look") || strings.Contains(got, high) {
			t.Errorf("%g off, want %q: %s", off, want, got)
		}
	}
}
