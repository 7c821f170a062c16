package assess_test

// What the program promises, as somebody outside sees it: files in, findings
// out, nothing of the inside looked at. "Common practice, no source" marks the
// facts of the trade.

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/num"
)

// assessed runs the files through the engine.
func assessed(t *testing.T, readings, methods, needs string) assess.Findings {
	t.Helper()
	trial, err := intake.Trial(file("readings.csv", readings), file("methods.toml", methods), file("need.toml", needs))
	if err != nil {
		t.Fatalf("the files are refused: %v", err)
	}
	return assess.Run(trial, assess.Options{Seed: 1})
}

func file(name, text string) intake.Source {
	if text == "" {
		return intake.Source{}
	}
	return intake.Source{Name: name, Data: []byte(text)}
}

// table writes readings.csv from a header and rows of anything.
func table(header string, rows ...[]any) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for _, r := range rows {
		for i, v := range r {
			if i > 0 {
				b.WriteByte(',')
			}
			fmt.Fprint(&b, v)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

const nitrate = "analyte = \"nitrate\"\nunit = \"mg/L\"\nbasis = \"NO3\"\n"

func chartFile(swatches string) string {
	return nitrate + "[[method]]\nname = \"Card\"\nkind = \"chart\"\nswatches = " + swatches + "\n"
}

func needFile(low, high, error float64) string {
	return fmt.Sprintf("[[need]]\nname = \"keep it\"\nlow = %v\nhigh = %v\npermitted = [ { at = %v, error = %v } ]\n", low, high, low, error)
}

func about(t *testing.T, what string, got num.Number, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= tolerance) {
		t.Errorf("%s is %v, want %v ± %v", what, got, want, tolerance)
	}
}

func notes(m assess.MethodFinding) string { return strings.Join(report.SayAll(m.Notes), "\n") }

// Common practice, no source: what the bench makes of a reading between two
// swatches, and the factor of a dilution.
func TestTheBenchHabit(t *testing.T) {
	for _, c := range []struct {
		swatches, seen string
		want           float64
	}{
		{"[0, 5, 12, 25]", "5..12", 8.5},
		{"[0, 5, 12, 25]", "12..25", 18.5},
		{"[0, 16, 32]", "16..32", 24},
	} {
		f := assessed(t, table("method,level,reading", []any{"Card", 10, c.seen}, []any{"Card", 10, c.seen}), chartFile(c.swatches), "")
		about(t, "the midpoint of "+c.seen, f.Methods[0].Levels[0].MidpointMean, c.want, 1e-12)
	}
	// 15 parts of pure water and 1 of the sample.
	f := assessed(t, table("method,level,reading,dilution", []any{"Meter", 10, 0.5, 16}, []any{"Meter", 10, 0.75, 16}), nitrate+"[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.25\n", "")
	about(t, "the mean of what was diluted", f.Methods[0].Levels[0].MidpointMean, 10, 1e-12)
}

var freshWater = table("method,level,reading,unit,basis",
	[]any{"Photometer", 0, "4", "mg/L", "NO3"}, []any{"Photometer", 1, "3.4", "mg/L", "NO3"}, []any{"Photometer", 5, "4.78", "mg/L", "NO3"},
	[]any{"Photometer", 10, "8.23", "mg/L", "NO3"}, []any{"Photometer", 25, "16.65", "mg/L", "NO3"}, []any{"Photometer", 50, "28", "mg/L", "NO3"})

// Common practice, no source: a photometer program made for fresh water, used
// in salt water, one reading at each known.
func TestFreshWaterProgramInSaltWater(t *testing.T) {
	f := assessed(t, freshWater, "", "[[need]]\nname = \"keep it\"\nlow = 1\nhigh = 25\npermitted = [ { at = 1, error = 0.5 }, { at = 25, error = 3 } ]\n")
	m := f.Methods[0]
	// The least-squares slope of the six points, in R: coef(lm(y ~ x)) = 3.225, 0.5001.
	about(t, "the slope", m.Line.Slope, 0.5001, 0.005)
	about(t, "the intercept", m.Line.Intercept, 3.225, 0.05)
	if s := m.Steps[0]; s.At != 0 || s.SmallestStep <= 1 {
		t.Errorf("a rise of %v from %v is told apart; 0 and 1 are not", s.SmallestStep, s.At)
	}
	if p := m.Pairs[0]; p.High != 1 || p.RightOrder >= 0.9 {
		t.Errorf("0 and %v come in the right order with probability %v", p.High, p.RightOrder)
	}
	for _, l := range m.Levels {
		if l.SD.OK() || l.SDLow.OK() || l.SDHigh.OK() || l.MeanLow.OK() || l.MeanHigh.OK() {
			t.Errorf("at %v a spread or a mean's interval is stated from one reading: %+v", l.Level, l)
		}
	}
	if s := m.Spread; s.Sigma0.OK() || s.Kappa.OK() || s.RepeatabilitySD.OK() || s.RepeatabilityHigh.OK() {
		t.Errorf("a spread is stated from single readings: %+v", s)
	}
	if !strings.Contains(notes(m), "no spread can be stated") {
		t.Errorf("nothing says that no spread can be stated: %s", notes(m))
	}
	n := m.Needs[0]
	if n.Verdict != assess.Undecided || n.Raw.Verdict != assess.NotFit || n.Corrected.Verdict != assess.Undecided {
		t.Errorf("verdicts %q, as read %q, corrected %q", n.Verdict, n.Raw.Verdict, n.Corrected.Verdict)
	}
	if l := m.Limits; l.Critical.OK() || l.Detection.OK() || l.Quantification.OK() {
		t.Errorf("limits from single readings: %+v", l)
	}
	// Correctable at most above the dead zone: what was read at 0 and 1 comes
	// back open below, what was read at 10 and 25 does not.
	for _, rb := range m.ReadBack {
		open := rb.Open != nil && *rb.Open == "below"
		if want := rb.Reading == "4" || rb.Reading == "3.4"; want && !open {
			t.Errorf("%q comes back as %v to %v, not open below", rb.Reading, rb.Low, rb.High)
		}
		if want := rb.Reading == "8.23" || rb.Reading == "16.65"; want && rb.Open != nil {
			t.Errorf("%q comes back open %s", rb.Reading, *rb.Open)
		}
	}
}

// Common practice, no source: the same photometer with a reagent made for salt
// water. With its dilution, here 1 + 7, the higher knowns gave 5.53, 10.73,
// 27.23 and 52.9.
func TestTwoBranchesThatDisagree(t *testing.T) {
	rows := [][]any{{"Photometer", 0, "0", ""}, {"Photometer", 1, "0.93", ""}, {"Photometer", 5, "4.3", ""}}
	for _, r := range [][2]float64{{5, 5.53}, {10, 10.73}, {25, 27.23}, {50, 52.9}} {
		rows = append(rows, []any{"Photometer", r[0], r[1] / 8, 8})
	}
	f := assessed(t, table("method,level,reading,dilution", rows...), nitrate+"[[method]]\nname = \"Photometer\"\nkind = \"display\"\n", "")
	if len(f.Methods) != 2 || f.Methods[0].Dilution != 1 || f.Methods[1].Dilution != 8 {
		t.Fatalf("a dilution is a method of its own; got %d", len(f.Methods))
	}
	recoveries := [][]float64{{math.NaN(), 93, 86}, {110.6, 107.3, 108.92, 105.8}}
	for i, m := range f.Methods {
		for j, l := range m.Levels {
			if want := recoveries[i][j]; !math.IsNaN(want) {
				about(t, fmt.Sprintf("the recovery at %v", l.Level), 100*l.MidpointMean/num.Number(l.Level), want, 0.05)
			}
		}
		if !strings.Contains(notes(m), "the branches disagree") || !strings.Contains(notes(m), "at 5,") {
			t.Errorf("nothing says that the branches disagree at 5: %s", notes(m))
		}
	}
}

// Common practice, no source: careless, timed and painstaking work gave three
// readings in one and the same step each. That shows no difference and proves
// no equality.
func TestOneStepIsNoEquivalence(t *testing.T) {
	var rows [][]any
	for _, technique := range []string{"careless", "timed", "painstaking"} {
		for range 3 {
			rows = append(rows, []any{"Card", 8, "5..12", technique})
		}
	}
	others := [][]any{{"Card", 0, "0", "timed"}, {"Card", 0, "0", "timed"}, {"Card", 3, "0..5", "timed"}, {"Card", 3, "5", "timed"},
		{"Card", 20, "12..25", "timed"}, {"Card", 20, "25", "timed"}, {"Card", 20, "12..25", "timed"}}
	for _, data := range [][][]any{rows, append(slices.Clone(rows), others...)} {
		for _, margin := range []float64{0.5, 1, 2} {
			f := assessed(t, table("method,level,reading,technique", data...), chartFile("[0, 5, 12, 25, 50]"), needFile(2, 20, margin))
			if n := len(f.Methods[0].Techniques); n != 2 {
				t.Fatalf("%d comparisons, want 2", n)
			}
			for _, c := range f.Methods[0].Techniques {
				if c.Verdict != assess.Undecided {
					t.Errorf("permitted ±%v: %s and %s are %q (%v to %v)", margin, c.From, c.To, c.Verdict, c.Low, c.High)
				}
				if c.Difference.OK() {
					t.Errorf("a difference of %v is named where every reading fell in one step", c.Difference)
				}
			}
		}
	}
}

// "5..12" reaches from 6.75 to 10.25: with hands steady enough two means 3.4
// apart give these nine readings every time, so a permitted error of 3 must not
// make them "same for the need" either.
func TestOneStepIsNoEquivalenceUpToTheStep(t *testing.T) {
	var rows [][]any
	for _, technique := range []string{"careless", "timed", "painstaking"} {
		for range 3 {
			rows = append(rows, []any{"Card", 8, "5..12", technique})
		}
	}
	for _, c := range assessed(t, table("method,level,reading,technique", rows...), chartFile("[0, 5, 12, 25, 50]"), needFile(2, 20, 3)).Methods[0].Techniques {
		if c.Verdict != assess.Undecided {
			t.Errorf("%s and %s are %q (%v to %v)", c.From, c.To, c.Verdict, c.Low, c.High)
		}
	}
}

// onOneSwatch is what nine readings "at 5" say; that is, from 3.75 to 6.75.
func onOneSwatch(t *testing.T) assess.LevelFinding {
	t.Helper()
	var rows [][]any
	for range 9 {
		rows = append(rows, []any{"Card", 4.2, "5"})
	}
	return assessed(t, table("method,level,reading", rows...), chartFile("[0, 5, 12, 25]"), "").Methods[0].Levels[0]
}

// With steady hands the mean may lie anywhere on the swatch.
func TestOneSwatchMeansAllOfIt(t *testing.T) {
	if l := onOneSwatch(t); !(l.MeanLow < 3.9) || !(l.MeanHigh > 6.6) {
		t.Errorf("the mean lies between %v and %v", l.MeanLow, l.MeanHigh)
	}
}

func TestAllReadingsOnOneSwatch(t *testing.T) {
	l := onOneSwatch(t)
	if l.Mean.OK() || l.Bias.OK() || l.Recovery.OK() || l.SD.OK() {
		t.Errorf("a value is named where none is better than its neighbours: %+v", l)
	}
	if !(l.MeanHigh-l.MeanLow > 1.5) || !(l.MeanLow > 0) || !(l.MeanHigh < 12) {
		t.Errorf("the mean lies between %v and %v; the swatch is 3 wide", l.MeanLow, l.MeanHigh)
	}
	if !(l.SDHigh > 0.5) || l.SDLow != 0 {
		t.Errorf("the spread lies between %v and %v", l.SDLow, l.SDHigh)
	}
	if !(l.BiasLow < 0) || !(l.BiasHigh > 0) {
		t.Errorf("the bias lies between %v and %v", l.BiasLow, l.BiasHigh)
	}
}

func TestThreeBlanksAloneGiveNoLimits(t *testing.T) {
	m := assessed(t, table("method,level,reading", []any{"Meter", 0, "0.12"}, []any{"Meter", 0, "0.20"}, []any{"Meter", 0, "0.15"}), "", "").Methods[0]
	if l := m.Limits; l.Critical.OK() || l.Detection.OK() || l.Quantification.OK() {
		t.Errorf("limits from three blanks: %+v", l)
	}
	if !strings.Contains(notes(m), "limit") {
		t.Errorf("nothing says why: %s", notes(m))
	}
}

// made is one display's readings of each known: vials of one reading each.
func made(levels []float64, vials int, response func(c float64) float64, relative float64, change func(level float64, vial int, y float64) float64) string {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows [][]any
	for _, c := range levels {
		for v := range vials {
			y := response(c) * (1 + relative*rng.NormFloat64())
			if c == 0 {
				y = math.Abs(0.02 * rng.NormFloat64())
			}
			if change != nil {
				y = change(c, v, y)
			}
			rows = append(rows, []any{"Meter", c, fmt.Sprintf("%.2f", y), fmt.Sprintf("v%v-%d", c, v)})
		}
	}
	return table("method,level,reading,vial", rows...)
}

func straight(c float64) float64 { return c }

const meterFile = nitrate + "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.01\ndilution_over = 30\ndilution_factor = 8\n"

// A method whose procedure dilutes, every vial of it read at an eighth and no
// dilution in the column.
func TestEveryDilutionForgotten(t *testing.T) {
	text := made([]float64{0, 1, 2.5, 6, 12, 25}, 4, straight, 0.03, func(_ float64, _ int, y float64) float64 { return y / 8 })
	if qs := besidesWater(assessed(t, text, meterFile, "")); len(qs) != 1 || qs[0].Kind != doubt.OfDilution || len(qs[0].At) != 5*4 {
		t.Errorf("not asked about; %+v", qs)
	}
}

func TestSlipsAreAskedAbout(t *testing.T) {
	levels := []float64{0, 1, 2.5, 6, 12, 25}
	asN := 14.006747 / (14.006747 + 3*15.9994) // molar masses, CIAAW conventional values from memory; 0.2259
	for _, c := range []struct {
		name, kind string
		change     func(level float64, vial int, y float64) float64
		dilution   bool
	}{
		{"all as N", "basis", func(_ float64, _ int, y float64) float64 { return y * asN }, false},
		{"one level as N", "basis", func(l float64, _ int, y float64) float64 {
			if l == 6 {
				return y * asN
			}
			return y
		}, false},
		{"one level as if not diluted", "dilution", func(l float64, _ int, y float64) float64 {
			if l == 12 {
				return y / 8
			}
			return y
		}, false},
		{"the factor applied already", "dilution", func(_ float64, _ int, y float64) float64 { return y }, true},
		{"two vials swapped", "swap", func(l float64, v int, y float64) float64 {
			if v == 1 && l == 2.5 {
				return 12.1
			}
			if v == 1 && l == 12 {
				return 2.47
			}
			return y
		}, false},
		{"nothing wrong", "", nil, false},
	} {
		text := made(levels, 4, straight, 0.03, c.change)
		if c.dilution { // the person multiplied, and the column multiplies again
			header, rows, _ := strings.Cut(strings.TrimSpace(text), "\n")
			text = header + ",dilution\n" + strings.ReplaceAll(rows, "\n", ",8\n") + ",8\n"
		}
		f := assessed(t, text, meterFile, "")
		qs := besidesWater(f)
		if c.kind != "" && (len(qs) != 1 || qs[0].Kind != c.kind || !strings.Contains(report.Say(qs[0].Says), "?")) {
			t.Errorf("%s: not asked about, or not only; %+v", c.name, qs)
		}
		if c.kind == "" && len(qs) > 0 {
			t.Errorf("%s: asked about %+v", c.name, qs)
		}
		if n := len(f.Methods[0].Levels); n != len(levels) || f.Methods[0].N != 4*len(levels) {
			t.Errorf("%s: %d levels and %d readings: something was corrected or dropped", c.name, n, f.Methods[0].N)
		}
	}
}

// besidesWater are the questions without the one about the water, which these
// trials leave at its defaults.
func besidesWater(f assess.Findings) []doubt.Question {
	return slices.DeleteFunc(slices.Clone(f.Questions), func(q doubt.Question) bool { return q.Kind == doubt.OfWater })
}
