package assess_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// anyTrial draws a trial that a careless person could hand in: few readings,
// odd levels, readings that have nothing to do with them.
func anyTrial(t *rapid.T) knownwater.Trial {
	trial := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea}
	kinds := []knownwater.Method{
		{Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10}},
		{Kind: knownwater.Chart, Swatches: []float64{0.5, 50}, AtShare: 0.5},
		{Kind: knownwater.Display, Resolution: 0.1},
		{Kind: knownwater.Display, Resolution: 1, Range: &interval.Interval{Low: 0, High: 30}},
		{Kind: knownwater.Drops, DropValue: 0.5},
		{Kind: knownwater.Absorbance, Resolution: 0.001},
	}
	texts := map[knownwater.Kind][]string{
		knownwater.Drops: {"0d", "1d", "3d", "40d"}, knownwater.Absorbance: {"0.000", "0.013", "2.5", "-0.001"},
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "methods") {
		m := rapid.SampledFrom(kinds).Draw(t, "method")
		m.Name = fmt.Sprint("M", i)
		trial.Methods = append(trial.Methods, m)
		choices := texts[m.Kind]
		switch {
		case m.Kind == knownwater.Chart:
			for _, tile := range reading.Tiles(m) {
				choices = append(choices, tile.Text)
			}
		case choices == nil:
			choices = []string{"0", "0.1", "7", "29.9", "30", "1000000"}
		}
		for range rapid.IntRange(1, 14).Draw(t, "readings") {
			text := rapid.SampledFrom(choices).Draw(t, "text")
			seen, err := reading.Understand(text, m)
			if err != nil {
				t.Fatal(err)
			}
			level := rapid.SampledFrom([]float64{0, 0, 1e-6, 0.5, 3, 8, 1e6}).Draw(t, "level")
			trial.Observations = append(trial.Observations, knownwater.Observation{
				Method: m.Name, Level: level, ULevel: rapid.SampledFrom([]float64{0, 0.1, 5}).Draw(t, "u"),
				Text: text, Seen: seen, Dilution: rapid.SampledFrom([]float64{1, 1, 1, 8}).Draw(t, "dilution"),
				Technique: rapid.SampledFrom([]string{"", "hasty", "slow"}).Draw(t, "technique"),
				Reader:    rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "reader"),
				Vial:      rapid.SampledFrom([]string{"", "v1", "v2", "v3"}).Draw(t, "vial"),
				Session:   rapid.SampledFrom([]string{"", "s1", "s2"}).Draw(t, "session"),
				Count:     rapid.SampledFrom([]int{1, 1, 1, 1000}).Draw(t, "count"),
			})
		}
	}
	if rapid.Bool().Draw(t, "need") {
		trial.Needs = []knownwater.Need{{Name: "n", Low: 0, High: rapid.SampledFrom([]float64{0.1, 8, 1e5}).Draw(t, "high"),
			Permitted: []knownwater.Permit{{At: 1, Error: rapid.SampledFrom([]float64{1e-3, 1, 100}).Draw(t, "permitted")}}}}
	}
	return trial
}

// Whatever is handed in, nothing panics, every object can be written as JSON,
// limits stand in order and estimates between them. Other trials are drawn every time; each takes a
// third of a second, so few are, where nobody asks for more (-rapid.checks, as make simulate does).
func TestAnyTrial(t *testing.T) {
	if checks := flag.Lookup("rapid.checks"); checks.Value.String() == checks.DefValue {
		checks.Value.Set("15")
		defer checks.Value.Set(checks.DefValue)
	}
	rapid.Check(t, func(t *rapid.T) { holds(t, anyTrial(t)) })
}

// A trial that drawing once found: the mean of readings that are all "0" came out
// above its own upper limit.
func TestTrialThatOnceWasOutOfOrder(t *testing.T) {
	card := knownwater.Method{Name: "M0", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10}}
	trial := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, Methods: []knownwater.Method{card},
		Needs: []knownwater.Need{{Name: "n", Low: 0, High: 8, Permitted: []knownwater.Permit{{At: 1, Error: 100}}}}}
	for _, r := range []struct {
		text                             string
		level, u, dilution               float64
		technique, reader, vial, session string
		count                            int
	}{
		{"0..1", 3, 0.1, 1, "", "A", "v1", "s1", 1}, {"1", 8, 0, 8, "", "A", "v2", "", 1000}, {"0", 0, 0, 1, "slow", "B", "v1", "s2", 1},
		{"0..1", 0, 0, 1, "slow", "", "v1", "s2", 1}, {"1..2.5", 0, 0.1, 1, "hasty", "", "", "s2", 1}, {"1..2.5", 8, 0.1, 1, "", "B", "v2", "", 1},
		{"1..2.5", 0.5, 0.1, 1, "hasty", "B", "v1", "s2", 1000}, {"1", 0.5, 0.1, 8, "slow", "A", "v2", "", 1}, {"1..2.5", 1e-06, 0, 1, "", "A", "v2", "s1", 1},
		{"0", 8, 5, 1, "hasty", "B", "", "s1", 1000}, {"0", 0, 0, 1, "hasty", "", "v3", "", 1000}, {"0..1", 1e-06, 0, 1, "slow", "", "v1", "s2", 1},
	} {
		seen, err := reading.Understand(r.text, card)
		if err != nil {
			t.Fatal(err)
		}
		trial.Observations = append(trial.Observations, knownwater.Observation{Method: "M0", Level: r.level, ULevel: r.u, Text: r.text, Seen: seen, Dilution: r.dilution,
			Technique: r.technique, Reader: r.reader, Vial: r.vial, Session: r.session, Count: r.count})
	}
	holds(t, trial)
}

// failer is a test, of tables or of what is drawn.
type failer interface {
	Fatalf(format string, args ...any)
}

func holds(t failer, trial knownwater.Trial) {
	f := assess.Run(trial, assess.Options{Seed: 1})
	if _, err := json.Marshal(f); err != nil {
		t.Fatalf("JSON: %v", err)
	}
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			ordered(t, "mean", l.MeanLow, l.Mean, l.MeanHigh)
			ordered(t, "sd", l.SDLow, l.SD, l.SDHigh)
			ordered(t, "bias", l.BiasLow, l.Bias, l.BiasHigh)
		}
		for _, r := range m.ReadBack {
			ordered(t, "read back", r.Low, r.Level, r.High)
			for _, o := range trial.Observations {
				if o.Method == m.Method && o.Dilution == m.Dilution && o.Matrix == m.Matrix && o.Text == r.Reading && !admits(r, o.Level) {
					t.Fatalf("%q was seen at %v, which %+v excludes", o.Text, o.Level, r)
				}
			}
		}
		for _, n := range m.Needs {
			if n.Verdict == "" || n.Raw.Verdict == "" || n.Corrected.Verdict == "" {
				t.Fatalf("a need without a verdict: %+v", n)
			}
			ordered(t, "error", n.Raw.Low, n.Raw.Error95, n.Raw.High)
		}
	}
}

// admits says whether a set holds a concentration.
func admits(r assess.ReadBack, c float64) bool {
	if r.Parts == nil {
		return !(float64(r.Low) > c) && !(float64(r.High) < c) // an open end is no number
	}
	return slices.ContainsFunc(r.Parts, func(p [2]num.Number) bool { return !(float64(p[0]) > c) && !(float64(p[1]) < c) })
}

func ordered(t failer, what string, v ...num.Number) {
	last := math.Inf(-1)
	for _, n := range v {
		if !n.OK() {
			continue
		}
		if float64(n) < last-1e-9*math.Abs(last) {
			t.Fatalf("%s out of order: %v", what, v)
		}
		last = float64(n)
	}
}
