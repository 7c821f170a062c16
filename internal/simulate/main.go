// Command simulate measures how often the printed statements are right, on
// made-up trials of the sizes that people really run. It prints the tables of
// docs/accuracy.md. Same -runs, same tables.
//
//	go run ./internal/simulate -runs 2000
package main

import (
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"sync"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
)

func main() {
	runs := flag.Int("runs", 2000, "made-up trials a row of the tables")
	seeds := flag.Int("seeds", 200, "seeds of the demo trial")
	only := flag.String("only", "", "one table: levels, sides, limits, apart, needs, border, reading, demo")
	design := flag.String("design", "", "only rows of the first table whose name holds this")
	flag.Parse()
	simulate(os.Stdout, *runs, *seeds, *only, *design)
}

func simulate(w io.Writer, runs, seeds int, only, name string) {
	want := func(name string) bool { return only == "" || only == name }
	if want("levels") {
		fmt.Fprintf(w, "### Level means and spreads: coverage of 95 %% intervals, %d trials a row\n\n", runs)
		fmt.Fprintln(w, "| design | mean covered, lowest to highest level | spread covered, all levels | mean width, all levels |\n|---|---|---|---|")
		for i, d := range levelDesigns() {
			if strings.Contains(d.name, name) {
				fmt.Fprintln(w, levelsRow(d, i, runs))
			}
		}
		fmt.Fprintln(w, "\nWidth is that of the mean's interval ÷ that of somebody who knew every spread and saw the readings unrounded.")
	}
	if want("sides") {
		sidesTable(w, runs, name)
	}
	if want("limits") {
		fmt.Fprintf(w, "\n### Limits: what a single later reading does, average over %d trials\n\n", runs)
		fmt.Fprintln(w, "| design | false alarms at the blank | missed at the detection limit | trials with a limit |\n|---|---|---|---|")
		for i, d := range limitDesigns() {
			fmt.Fprintln(w, limitsRow(d, i, runs))
		}
	}
	if want("apart") {
		fmt.Fprintf(w, "\n### Told apart: right order at the printed step, average over %d trials\n\n", runs)
		fmt.Fprintln(w, "| design | from | same reader | other reader |\n|---|---|---|---|")
		for i, d := range limitDesigns() {
			for _, row := range apartRows(d, i, runs) {
				fmt.Fprintln(w, row)
			}
		}
	}
	if want("needs") {
		fmt.Fprintf(w, "\n### Needs: verdicts against the truth, %d trials a row\n\n", runs)
		fmt.Fprintln(w, "| design | true error ÷ permitted | fit | not fit | undecided | wrong |\n|---|---|---|---|---|---|")
		for i, d := range needDesigns() {
			fmt.Fprintln(w, needsRow(d, i, runs))
		}
	}
	if want("reading") {
		readingTable(w, runs)
	}
	if want("border") {
		fmt.Fprintf(w, "\n### Verdicts where error ÷ permitted is the same everywhere, %d trials a row\n\n", runs)
		fmt.Fprintln(w, "| spread, readings a level | error ÷ permitted | fit | not fit | undecided | wrong |\n|---|---|---|---|---|---|")
		for i, d := range borderDesigns() {
			if strings.Contains(d.name, name) {
				fmt.Fprintln(w, needsRow(d, 100+i, runs))
			}
		}
	}
	if want("promise") {
		promiseTable(w, runs)
	}
	if want("demo") {
		fmt.Fprintf(w, "\n### The demo's hidden truth, %d seeds\n\n", seeds)
		demoTable(w, seeds)
	}
}

// collect runs trials on two goroutines; each's result goes to its own place.
func collect[T any](runs int, one func(run int) T) []T {
	out := make([]T, runs)
	var wg sync.WaitGroup
	for part := range 2 {
		wg.Go(func() {
			for i := part; i < runs; i += 2 {
				out[i] = one(i)
			}
		})
	}
	wg.Wait()
	return out
}

func assessed(t knownwater.Trial, run int) assess.Findings {
	return assess.Run(t, assess.Options{Seed: uint64(run)})
}

// levelsResult is how a design fared: shares of intervals that held the truth.
type levelsResult struct {
	mean          []float64 // by level
	spread, width float64   // all levels together
}

func levelsRow(d design, table, runs int) string {
	r := tryLevels(d, table, runs)
	cover := ""
	for _, c := range r.mean {
		cover += fmt.Sprintf(" %.1f", 100*c)
	}
	return fmt.Sprintf("| %s |%s | %.1f | %.2f |", d.name, cover, 100*r.spread, r.width)
}

func tryLevels(d design, table, runs int) levelsResult {
	outs := collect(runs, func(run int) []levelFate {
		var fates []levelFate
		for _, l := range assessed(d.trial(source(table, run)), run).Methods[0].Levels {
			y := d.response(l.Level)
			fates = append(fates, levelFate{
				within(y, l.MeanLow, l.MeanHigh), within(d.whole(y), l.SDLow, l.SDHigh),
				float64(l.MeanHigh-l.MeanLow) / (2 * 1.959964 * d.meanSE(l.N, y)),
			})
		}
		return fates
	})
	r := levelsResult{mean: make([]float64, len(d.levels))}
	widths := 0.0
	for _, fates := range outs {
		for i, f := range fates {
			r.mean[i] += f.mean / float64(runs)
			r.spread += f.spread / float64(runs*len(d.levels))
			if !math.IsNaN(f.width) {
				r.width += f.width
				widths++
			}
		}
	}
	r.width /= widths
	return r
}

// levelFate is what became of one level in one trial.
type levelFate struct{ mean, spread, width float64 }

// meanSE is the standard error of a level's mean for who knew every spread.
func (d design) meanSE(n int, y float64) float64 {
	r, vials := float64(max(1, d.readers)), float64(n)/float64(max(1, d.readers))
	reader := 0.0
	if d.readers > 0 {
		reader = d.reader * d.reader / r
	}
	return d.repeatability(y) * math.Sqrt(1/float64(n)+d.vial*d.vial/vials+reader)
}

// within counts a truth inside its limits as 1; a missing limit is open.
func within(truth float64, low, high assess.Number) float64 {
	if low.OK() && truth < float64(low) || high.OK() && truth > float64(high) {
		return 0
	}
	return 1
}

func demoTable(w io.Writer, seeds int) {
	tally := tryDemo(seeds)
	fmt.Fprintln(w, "| printed interval | of | truth inside |\n|---|---|---|")
	for _, k := range demoKinds {
		x := tally[k]
		fmt.Fprintf(w, "| %s | %.0f | %.1f %% |\n", k, x.all, 100*x.in/x.all)
	}
}

// demoKinds are the printed intervals held against the demo's truth.
var demoKinds = []string{"mean", "bias", "recovery", "spread", "technique, mean", "technique, spread", "all"}

type tally struct{ in, all float64 }

func tryDemo(seeds int) map[string]tally {
	truth := demo.TruthOf(0)
	outs := collect(seeds, func(run int) map[string]tally {
		t, err := demo.Trial(uint64(run))
		if err != nil {
			panic(err)
		}
		m := map[string]tally{}
		add := func(kind string, v float64, low, high assess.Number) {
			if !low.OK() && !high.OK() {
				return
			}
			x := m[kind]
			m[kind] = tally{x.in + within(v, low, high), x.all + 1}
		}
		f := assessed(t, run)
		for _, got := range f.Methods {
			for _, tm := range truth.Methods {
				if tm.Method != got.Method || tm.Dilution != got.Dilution {
					continue
				}
				for i, l := range got.Levels {
					tl := tm.Levels[i]
					add("mean", tl.Mean, l.MeanLow, l.MeanHigh)
					add("bias", tl.Bias, l.BiasLow, l.BiasHigh)
					add("recovery", tl.Recovery, l.RecoveryLow, l.RecoveryHigh)
					add("spread", tl.SD, l.SDLow, l.SDHigh)
				}
			}
			for _, tc := range got.Techniques {
				for _, s := range truth.Sides {
					if s.Method == got.Method && s.To == tc.To {
						add("technique, mean", s.Difference, tc.Low, tc.High)
						add("technique, spread", s.SDRatio, tc.SDRatioLow, tc.SDRatioHi)
					}
				}
			}
		}
		return m
	})
	sum := map[string]tally{}
	for _, m := range outs {
		for k, x := range m {
			sum[k] = tally{sum[k].in + x.in, sum[k].all + x.all}
			sum["all"] = tally{sum["all"].in + x.in, sum["all"].all + x.all}
		}
	}
	return sum
}
