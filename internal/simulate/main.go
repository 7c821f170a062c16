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
	"sync"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
)

func main() {
	runs := flag.Int("runs", 2000, "made-up trials a row of the tables")
	seeds := flag.Int("seeds", 200, "seeds of the demo trial")
	only := flag.String("only", "", "one table: levels, limits, apart, needs, demo")
	flag.Parse()
	simulate(os.Stdout, *runs, *seeds, *only)
}

func simulate(w io.Writer, runs, seeds int, only string) {
	want := func(name string) bool { return only == "" || only == name }
	if want("levels") {
		fmt.Fprintf(w, "### Level means and spreads: coverage of 95 %% intervals, %d trials a row\n\n", runs)
		fmt.Fprintln(w, "| design | mean covered, lowest to highest level | spread covered, all levels | mean width, all levels |\n|---|---|---|---|")
		for i, d := range levelDesigns() {
			fmt.Fprintln(w, levelsRow(d, i, runs))
		}
		fmt.Fprintln(w, "\nWidth is that of the mean's interval ÷ that of somebody who knew every spread and saw the readings unrounded.")
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

type levelsOut struct {
	mean, spread []float64
	width        []float64
}

func levelsRow(d design, table, runs int) string {
	outs := collect(runs, func(run int) levelsOut {
		f := assessed(d.trial(source(table, run)), run).Methods[0]
		var o levelsOut
		for _, l := range f.Levels {
			y := d.response(l.Level)
			o.mean = append(o.mean, within(y, l.MeanLow, l.MeanHigh))
			o.spread = append(o.spread, within(d.whole(y), l.SDLow, l.SDHigh))
			o.width = append(o.width, float64(l.MeanHigh-l.MeanLow)/(2*1.959964*d.meanSE(l.N, y)))
		}
		return o
	})
	var cover string
	spread, width, n, nw := 0.0, 0.0, 0.0, 0.0
	for i := range d.levels {
		c := 0.0
		for _, o := range outs {
			c += o.mean[i] / float64(runs)
			spread += o.spread[i]
			n++
			if !math.IsNaN(o.width[i]) {
				width += o.width[i]
				nw++
			}
		}
		cover += fmt.Sprintf(" %.1f", 100*c)
	}
	return fmt.Sprintf("| %s |%s | %.1f | %.2f |", d.name, cover, 100*spread/n, width/nw)
}

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
	type tally struct{ in, all float64 }
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
	fmt.Fprintln(w, "| printed interval | of | truth inside |\n|---|---|---|")
	var in, all float64
	for _, kind := range []string{"mean", "bias", "recovery", "spread", "technique, mean", "technique, spread"} {
		var x tally
		for _, m := range outs {
			x = tally{x.in + m[kind].in, x.all + m[kind].all}
		}
		fmt.Fprintf(w, "| %s | %.0f | %.1f %% |\n", kind, x.all, 100*x.in/x.all)
		in, all = in+x.in, all+x.all
	}
	fmt.Fprintf(w, "| all | %.0f | %.1f %% |\n", all, 100*in/all)
}
