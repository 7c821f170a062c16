package assess

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// byLme4 is one line of testdata/crossed.csv.
type byLme4 struct{ value, se, low, high float64 }

func crossedTable(t *testing.T, name string, row func(r []string)) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		row(r)
	}
}

func crossedTrials(t *testing.T) map[string]knownwater.Trial {
	m := knownwater.Method{Name: "m", Kind: knownwater.Display, Resolution: 0.001}
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	trials := map[string]knownwater.Trial{}
	crossedTable(t, "crossed_readings.csv", func(r []string) {
		tr := trials[r[0]]
		tr.Scale, tr.Water, tr.WaterStated, tr.Methods = scale, unit.StandardSea, true, []knownwater.Method{m}
		level, _ := strconv.ParseFloat(r[1], 64)
		seen, err := reading.Understand(r[5], m)
		if err != nil {
			t.Fatal(err)
		}
		tr.Observations = append(tr.Observations, knownwater.Observation{Method: "m", Level: level, Text: r[5], Seen: seen, Dilution: 1, Count: 1,
			Reader: r[2], Lot: r[3], Session: r[4], Vial: fmt.Sprint(len(tr.Observations)), Row: len(tr.Observations) + 2})
		trials[r[0]] = tr
	})
	return trials
}

// Means, parts of the spread, and offsets of readers and lots that the findings print,
// against lme4 (REML) where readers, lots and sessions are crossed and rounding is nothing
// beside the scatter. Two things differ by intent, and the tolerances are theirs:
//
//   - lme4 has one spread for all levels, and effects that are added; here each level has its own
//     spread, and effects are told in it. So repeatability, told at the middle level, leans on
//     a half or a third of the readings: its interval may be √2 or √3 as wide, and it may lie off
//     by half of that interval; an offset may lie off by half its standard error.
//   - few readers, lots or sessions say little of how others would differ: there a half-t prior takes
//     part, and an estimate lies off REML's by as much as a quarter of the profile's interval (of
//     log standard deviation). With twelve, eight and ten of them it is a tenth.
func TestCrossedSourcesAgainstLme4(t *testing.T) {
	want := map[string]byLme4{}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return math.NaN() // lme4 says nothing of it
		}
		return v
	}
	crossedTable(t, "crossed.csv", func(r []string) {
		want[r[0]+" "+r[1]] = byLme4{number(r[2]), number(r[3]), number(r[4]), number(r[5])}
	})
	for name, tr := range crossedTrials(t) {
		many := name == "many"
		if many && testing.Short() {
			continue
		}
		// One walk through a posterior is off by a few in a hundred of an interval; three, named by
		// readings that differ in the sixth digit, are held to lme4 by their averages.
		type compared struct{ got, low, high float64 }
		held := map[string]compared{}
		between := func(what string, got, low, high float64) {
			c := held[what]
			held[what] = compared{c.got + got/walks, low, high}
		}
		within := func(what string, got, want, tolerance float64) {
			between(what, got, want-tolerance, want+tolerance)
		}
		for walk := range walks {
			compareWithLme4(t, name, many, Run(nudged(tr, walk), Options{Brief: true}).Methods[0], want, within, between)
		}
		for what, c := range held {
			if !(c.got >= c.low && c.got <= c.high) {
				t.Errorf("%s, %s: %.4f, not %.4f to %.4f", name, what, c.got, c.low, c.high)
			}
		}
	}
}

const walks = 3

// nudged are readings some hundred thousandths higher: the same to anybody but the chain, which they name anew.
func nudged(tr knownwater.Trial, by int) knownwater.Trial {
	tr.Observations = slices.Clone(tr.Observations)
	for i := range tr.Observations {
		o := &tr.Observations[i]
		o.Seen.Low, o.Seen.High = o.Seen.Low+3e-5*float64(by), o.Seen.High+3e-5*float64(by)
	}
	return tr
}

func compareWithLme4(t *testing.T, name string, many bool, f MethodFinding, want map[string]byLme4, within func(what string, got, want, tolerance float64), between func(what string, got, low, high float64)) {
	mean := map[float64]float64{}
	for _, l := range f.Levels {
		w := want[fmt.Sprintf("%s mean %g", name, l.Level)]
		mean[l.Level] = w.value
		within(fmt.Sprint("mean at ", l.Level), float64(l.Mean), w.value, 0.15*w.se)
		between(fmt.Sprint("width of the mean at ", l.Level), float64(l.MeanHigh-l.MeanLow)/(w.high-w.low), 0.8, 1.25)
	}
	s := f.Spread
	w := want[name+" sd Residual"]
	wider := math.Sqrt(float64(len(f.Levels)))
	within("log of repeatability", math.Log(float64(s.RepeatabilitySD)), math.Log(w.value), 0.5*math.Log(w.high/w.low))
	between("width of repeatability", math.Log(float64(s.RepeatabilityHigh/s.RepeatabilityLow))/math.Log(w.high/w.low), 1, 1.1*wider)
	for _, part := range []struct {
		name          string
		sd, low, high num.Number
	}{
		{"reader", s.ReaderSD, s.ReaderLow, s.ReaderHigh}, {"lot", s.LotSD, s.LotLow, s.LotHigh}, {"session", s.SessionSD, s.SessionLow, s.SessionHigh},
	} {
		w := want[name+" sd "+part.name]
		width := math.Log(w.high / w.low)
		share := 0.25
		if many {
			share = 0.1
		}
		within("log of the part of a "+part.name, math.Log(float64(part.sd)), math.Log(w.value), share*width)
		wide := math.Log(float64(part.high/part.low)) / width
		if w.low < 0.05*w.high { // 0.005 beside 0.24 has no width on the scale of logarithms
			wide = float64(part.high-part.low) / (w.high - w.low)
		}
		between("width of the part of a "+part.name, wide, 0.75, 1.3)
	}
	if many == (len(f.Readers) > 0) {
		t.Errorf("%s: offsets of %d readers", name, len(f.Readers))
	}
	for _, r := range f.Readers {
		own, drawn := want[name+" reader "+r.Reader+" own"], want[name+" reader "+r.Reader+" drawn"]
		within("reader "+r.Reader, float64(r.Offset), drawn.value, 0.5*own.se)
		between("width of reader "+r.Reader, float64(r.High-r.Low)/(2*1.96*own.se), 0.8, 1.25)
	}
	// A lot's ratio is told by its own means, level by level, readers and sessions shared by all lots:
	// what lme4 says of lots that are not drawn together. Levels are weighted as means of alike doubt are
	// on the scale of logarithms; each level's own spread and weights make the interval up to a quarter wider.
	for _, l := range f.Lots {
		own := want[name+" lot "+l.Lot+" own"]
		ratio, total := 0.0, 0.0
		for _, m := range mean {
			ratio += m * m * math.Log1p(own.value/m)
			total += m * m
		}
		ratio /= total
		within("lot "+l.Lot, math.Log(float64(l.Ratio)), ratio, own.se*math.Sqrt(float64(len(mean))/total))
		between("width of lot "+l.Lot, math.Log(float64(l.High/l.Low))/(2*1.96*own.se*math.Sqrt(float64(len(mean))/total)), 0.8, 1.5)
	}
}
