package main

import (
	"fmt"

	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// demoKinds are the printed intervals held against the demo's truth.
var demoKinds = []string{"mean", "bias", "recovery", "spread", "technique, mean", "technique, spread"}

func demoTable() table {
	return table{name: "demo", title: "The demo’s hidden truth", head: "| printed interval | of | truth inside |",
		foot: "Spreads are missed most often: two swapped vials and the glare of one meter are in the readings and not in the truth, and the findings ask about the swap instead of leaving it out.",
		of:   []experiment{{"demo", true, tryDemo}},
		lines: func(_ int, c counts) (lines []string) {
			in, all := 0.0, 0.0
			for i, k := range demoKinds {
				in, all = in+c.Sum[2*i], all+c.Sum[2*i+1]
				lines = append(lines, fmt.Sprintf("| %s | %.0f | %.1f %% |", k, c.Sum[2*i+1], 100*c.Sum[2*i]/c.Sum[2*i+1]))
			}
			return append(lines, fmt.Sprintf("| all, %d seeds | %.0f | %.1f %% |", c.Runs, all, 100*in/all))
		}}
}

// tryDemo counts, for every kind, the intervals that hold the truth, and all.
func tryDemo(run int) []float64 {
	truth := demo.TruthOf(0)
	t, err := demo.Trial(uint64(run))
	if err != nil {
		panic(err)
	}
	out := make([]float64, 2*len(demoKinds))
	add := func(kind int, v float64, low, high num.Number) {
		if low.OK() || high.OK() {
			out[2*kind] += 1 - max(above(low, v), below(high, v))
			out[2*kind+1]++
		}
	}
	for _, got := range assess.Run(t, assess.Options{Brief: true}).Methods {
		for _, tm := range truth.Methods {
			if tm.Method != got.Method || tm.Dilution != got.Dilution {
				continue
			}
			for i, l := range got.Levels {
				tl := tm.Levels[i]
				add(0, tl.Mean, l.MeanLow, l.MeanHigh)
				add(1, tl.Bias, l.BiasLow, l.BiasHigh)
				add(2, tl.Recovery, l.RecoveryLow, l.RecoveryHigh)
				add(3, tl.SD, l.SDLow, l.SDHigh)
			}
		}
		for _, tc := range got.Techniques {
			for _, s := range truth.Sides {
				if s.Method == got.Method && s.To == tc.To {
					add(4, s.Difference, tc.Low, tc.High)
					add(5, s.SDRatio, tc.SDRatioLow, tc.SDRatioHi)
				}
			}
		}
	}
	return out
}
