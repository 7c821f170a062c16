package assess_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// nudged is a trial with all readings moved by some millionths of the largest: the same trial to all
// intents, judged with other random numbers, which take their start from the data.
func nudged(t knownwater.Trial, task int) knownwater.Trial {
	size := map[string]float64{}
	for _, o := range t.Observations {
		for _, end := range []float64{o.Seen.Low, o.Seen.High} {
			if !math.IsInf(end, 0) {
				size[o.Method] = math.Max(size[o.Method], math.Abs(end))
			}
		}
	}
	t.Observations = slices.Clone(t.Observations)
	for i := range t.Observations {
		o := &t.Observations[i]
		o.Seen.Low += 2e-6 * float64(task) * size[o.Method]
		o.Seen.High += 2e-6 * float64(task) * size[o.Method]
	}
	return t
}

// printedLimits collects every pair of limits of findings by its place in their JSON.
func printedLimits(f assess.Findings) map[string][2]float64 {
	text, err := json.Marshal(f)
	if err != nil {
		panic(err)
	}
	var whole any
	if err := json.Unmarshal(text, &whole); err != nil {
		panic(err)
	}
	limits := map[string][2]float64{}
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case []any:
			for i, x := range v {
				walk(fmt.Sprint(at, "/", i), x)
			}
		case map[string]any:
			for k, x := range v {
				low, ok := x.(float64)
				if high, both := v[strings.Replace(k, "low", "high", 1)].(float64); ok && both && strings.Contains(k, "low") {
					limits[at+"/"+k] = [2]float64{low, high}
				}
				walk(at+"/"+k, x)
			}
		}
	}
	walk("", whole)
	return limits
}

// noises are the Monte Carlo standard errors of every limit of a trial's findings, as shares
// of their intervals, from so many streams of random numbers; those of sampled methods
// alone, as the others have none. A limit that is only there in some streams is not counted.
// Errors of answers in steps have no standard error: a limit is one step or the next. Of them, moved is
// the share of streams in which it is another one than in most (by more than 3 % of the interval).
func noises(t knownwater.Trial, streams int) (shares, moved map[string]float64) {
	all := map[string][][2]float64{}
	inSteps := map[string]bool{}
	for s := range streams {
		f := assess.Run(nudged(t, s), assess.Options{})
		for i, m := range f.Methods {
			inSteps[fmt.Sprint("/methods/", i)] = reading.Of(knownwater.Kind(m.Kind)).Coarse
		}
		for i, p := range f.Procedures {
			j := slices.IndexFunc(f.Methods, func(m assess.MethodFinding) bool { return m.Method == p.Method })
			inSteps[fmt.Sprint("/procedures/", i)] = reading.Of(knownwater.Kind(f.Methods[j].Kind)).Coarse
		}
		for at, l := range printedLimits(f) {
			all[at] = append(all[at], l)
		}
	}
	shares, moved = map[string]float64{}, map[string]float64{}
	for at, ls := range all {
		if len(ls) < streams || strings.HasSuffix(at, "error_95_low") { // at the worst place, which may be another one: those along the range are here
			continue
		}
		var low, high []float64
		width := 0.0
		for _, l := range ls {
			low, high = append(low, l[0]), append(high, l[1])
			width += (l[1] - l[0]) / float64(streams)
		}
		if owner, rest, _ := strings.Cut(at[1:], "/needs/"); rest != "" && inSteps["/"+owner] {
			moved[at], moved[strings.Replace(at, "low", "high", 1)] = others(low, 0.03*width), others(high, 0.03*width)
			continue
		}
		_, sdLow := num.MeanSD(low)
		_, sdHigh := num.MeanSD(high)
		if width > 0 && (sdLow > 1e-9*width || sdHigh > 1e-9*width) {
			shares[at], shares[strings.Replace(at, "low", "high", 1)] = sdLow/width, sdHigh/width
		}
	}
	return shares, moved
}

// others is the share of values that lie further than within from the one that has most of them about it.
func others(values []float64, within float64) float64 {
	most := 0
	for _, v := range values {
		near := 0
		for _, w := range values {
			if math.Abs(v-w) <= within {
				near++
			}
		}
		most = max(most, near)
	}
	return 1 - float64(most)/float64(len(values))
}

// anyDesign is a made-up trial of one method read by several readers, as clubs make them.
func anyDesign(task uint64) knownwater.Trial {
	rng := num.Source(78, task)
	m := []knownwater.Method{
		{Kind: knownwater.Chart, Swatches: []float64{0, 1, 2, 5, 10, 20, 50}}, {Kind: knownwater.Display, Resolution: 0.1}, {Kind: knownwater.Drops, DropValue: 1},
		{Kind: knownwater.Chart, Swatches: []float64{0, 2, 4, 6, 8, 10, 15, 20, 30, 40}},
	}[task%4]
	m.Name = "m"
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, WaterStated: true, Methods: []knownwater.Method{m},
		Needs: []knownwater.Need{{Name: "n", Low: 1, High: 20, Permitted: []knownwater.Permit{{At: 1, Error: 1}, {At: 20, Error: 5}}}}}
	readers, vials, lots, sessions := 2+rng.IntN(3), 1+rng.IntN(3), 1+rng.IntN(3), 1+rng.IntN(3)
	person, lot := map[int]float64{}, map[int]float64{}
	for i := range max(readers, lots) {
		person[i], lot[i] = rng.NormFloat64(), rng.NormFloat64()
	}
	for _, c := range []float64{0, 1, 3, 6, 12, 20} {
		for v := range vials {
			vial := rng.NormFloat64()
			for r := range readers {
				sd := 0.2 + 0.05*c
				text := reading.Show(max(0, c+sd*(0.6*person[r]+0.4*lot[v%lots]+0.4*vial+rng.NormFloat64())), m)
				seen, err := reading.Understand(text, m)
				if err != nil {
					panic(err)
				}
				t.Observations = append(t.Observations, knownwater.Observation{Method: "m", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1,
					Reader: fmt.Sprint("R", r), Lot: fmt.Sprint("L", v%lots), Session: fmt.Sprint("S", v%sessions), Vial: fmt.Sprint(c, "-", v), Row: len(t.Observations) + 2})
			}
		}
	}
	return t
}

// numbers in a place of the findings' JSON: which method, level or need.
var numbers = regexp.MustCompile(`(^|/)[0-9]+`)

// BenchmarkMonteCarloError says how much of printed limits is the noise of the sampler, in per cent of
// their intervals: the standard error in the middle and for the worst 5 % and the worst of all
// limits of the demo and of twenty made-up trials, over eight streams of random numbers each.
// At most 3 is meant for each; of limits in steps, in which share of streams they are another step. An error from eight streams is itself within a quarter. -v tells them
// apart by what is limited.
func BenchmarkMonteCarloError(b *testing.B) {
	const streams = 8
	whole, err := demo.Trial(1)
	if err != nil {
		b.Fatal(err)
	}
	made := []knownwater.Trial{}
	for i := range 20 {
		made = append(made, anyDesign(uint64(i)))
	}
	for name, trials := range map[string][]knownwater.Trial{"demo": {whole}, "twenty trials": made} {
		b.Run(name, func(b *testing.B) {
			type noise struct {
				at    string
				share float64
			}
			var all []noise
			stepped, other := 0, 0.0
			for b.Loop() {
				all, stepped, other = nil, 0, 0
				for i, t := range trials {
					shares, moved := noises(t, streams)
					for at, s := range shares {
						all = append(all, noise{fmt.Sprint(i, at), 100 * s})
					}
					for _, m := range moved {
						stepped, other = stepped+1, other+m
					}
				}
			}
			if len(all) == 0 {
				b.Fatal("nothing was sampled")
			}
			slices.SortFunc(all, func(x, y noise) int { return int(math.Copysign(1, x.share-y.share)) })
			over := 0
			for _, n := range all {
				if n.share > 3 {
					over++
				}
			}
			b.ReportMetric(all[len(all)/2].share, "%-middle")
			b.ReportMetric(all[len(all)*95/100].share, "%-95")
			b.ReportMetric(all[len(all)-1].share, "%-worst")
			b.ReportMetric(100*float64(over)/float64(len(all)), "%-above-3")
			b.ReportMetric(100*other/float64(stepped), "%-of-steps-another")
			of := map[string][]float64{} // by what is limited, rising
			for _, n := range all {
				what := numbers.ReplaceAllString(n.at, "")
				of[what] = append(of[what], n.share)
			}
			for _, what := range slices.Sorted(maps.Keys(of)) {
				s := of[what]
				b.Logf("%5d limits, middle %5.1f %%, worst %5.1f %%: %s", len(s), s[len(s)/2], s[len(s)-1], what)
			}
		})
	}
}
