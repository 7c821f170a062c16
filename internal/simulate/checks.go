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
		head: "| second lot reads | runs | moved | rang | by the 4th check | by the 8th | its first day in the onset | ratio held | first lot: moved | rang |",
		foot: "The demo’s check of 12 mg/L on a chart, two vials every other week and twelve a lot, records of the demo’s own trials; 0.80 is 1.6 times the scatter of one check. " +
			"With one false alarm in 100 checks 11 % of the rows of twelve may ring; of those that rang, moved are those where all checks together make it likelier than not.",
		of: []experiment{{"checks of a lot: 0.80", true, func(run int) []float64 { return tryChecks(run, demo.RoutineChoices{}) }},
			{"checks of a lot: alike", true, func(run int) []float64 { return tryChecks(run, demo.RoutineChoices{SameLot: true}) }}},
		lines: func(i int, c counts) []string {
			of := func(k int) string {
				if i == 1 || c.Sum[chMoved] == 0 { // a lot that did not move has no onset to hold
					return "–"
				}
				return fmt.Sprintf("%.0f %%", 100*c.Sum[k]/c.Sum[chMoved])
			}
			return []string{fmt.Sprintf("| %s | %d | %.1f %% | %.1f %% | %.0f %% | %.0f %% | %s | %s | %.1f %% | %.1f %% |", []string{"0.80 of it", "alike"}[i], c.Runs,
				c.rate(chMoved), c.rate(chRang), c.rate(chBy4), c.rate(chBy8), of(chOnset), of(chRatio), c.rate(chFirstMoved), c.rate(chFirstRang))}
		}}
}

// What a run of checks counts.
const (
	chMoved = iota
	chRang
	chBy4
	chBy8
	chOnset // holds the lot's first day
	chRatio // holds the truth
	chFirstMoved
	chFirstRang
	chCounts
)

func tryChecks(run int, c demo.RoutineChoices) []float64 {
	out := make([]float64, chCounts)
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
		count := func(at int, is bool) {
			if is {
				out[at]++
			}
		}
		moved, rang := k.Chart.State == control.Moved, k.Chart.Signal >= 0
		if k.Lot == "A1" {
			count(chFirstMoved, moved)
			count(chFirstRang, rang)
			continue
		}
		count(chMoved, moved)
		count(chRang, rang)
		count(chBy4, rang && k.Chart.Signal < 4)
		count(chBy8, rang && k.Chart.Signal < 8)
		if moved {
			first := k.Entries[0].At
			count(chOnset, !k.Onset.From.After(first) && !k.Onset.To.Before(first.Truncate(24*60*60*1e9)))
			count(chRatio, !math.IsNaN(k.Onset.Ratio) && k.Onset.Low <= 0.8 && 0.8 <= k.Onset.High)
		}
	}
	return out
}
