package main

import (
	"fmt"
	"math"

	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/history"
)

// checksTable is the demo's check of forty weeks: two vials of a known every other week, a lot
// that reads as the trial's, then one that reads 0.80 of it, six times each.
func checksTable() table {
	return table{name: "checks", title: "Checks: a second lot that reads 0.80, and one that reads alike",
		head: "| second lot reads | runs | said to have moved | checks until it rang | its first day in the onset | ratio held | first lot wrongly moved |",
		foot: "The demo’s check of 12 mg/L on a chart, twelve vials a lot, records of the demo’s own trials. 0.80 is 1.6 times the scatter of one check.",
		of: []experiment{{"checks: 0.80", true, func(run int) []float64 { return tryChecks(run, demo.RoutineChoices{}) }},
			{"checks: alike", true, func(run int) []float64 { return tryChecks(run, demo.RoutineChoices{SameLot: true}) }}},
		lines: func(i int, c counts) []string {
			share := func(k int) string {
				if c.Sum[1] == 0 {
					return "–"
				}
				return fmt.Sprintf("%.0f %%", 100*c.Sum[k]/c.Sum[1])
			}
			delay := "–"
			if c.Sum[1] > 0 {
				delay = fmt.Sprintf("%.1f", c.Sum[2]/c.Sum[1])
			}
			if i == 1 { // a lot that did not move has no onset to hold
				return []string{fmt.Sprintf("| alike | %d | %.1f %% | – | – | – | %.1f %% |", c.Runs, c.rate(0), c.rate(5))}
			}
			return []string{fmt.Sprintf("| 0.80 of it | %d | %.0f %% | %s | %s | %s | %.1f %% |", c.Runs, c.rate(0), delay, share(3), share(4), c.rate(5))}
		}}
}

// tryChecks: said to have moved; moved with an onset; checks until it rang; the onset holds
// the lot's first day; the ratio holds the truth; the first lot said to have moved.
func tryChecks(run int, c demo.RoutineChoices) []float64 {
	out := make([]float64, 6)
	t, err := demo.Trial(uint64(run + 1))
	if err != nil {
		panic(err)
	}
	p, err := assess.PerformanceOf(t, "Alder", "", assess.Options{Seed: uint64(run + 1)})
	if err != nil {
		panic(err)
	}
	var checks []history.Entry
	for _, e := range demo.Routine(uint64(run+1), c) {
		if e.Check {
			checks = append(checks, e)
		}
	}
	h, err := history.Of(checks, history.Methods{Records: map[string][]history.Source{"Alder": {p}}})
	if err != nil {
		panic(err)
	}
	for _, k := range h.Checks {
		moved := k.Chart.State == control.Moved
		switch {
		case moved && k.Lot == "A1":
			out[5]++
		case moved:
			out[0]++
			out[1]++
			out[2] += float64(k.Chart.Signal + 1)
			if first := k.Entries[0].At; !k.Onset.From.After(first) && !k.Onset.To.Before(first.Truncate(24*60*60*1e9)) {
				out[3]++
			}
			if !math.IsNaN(k.Onset.Ratio) && k.Onset.Low <= 0.8 && 0.8 <= k.Onset.High {
				out[4]++
			}
		}
	}
	return out
}
