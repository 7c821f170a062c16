package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/demo"
	"knownwater/science/history"
	"knownwater/science/num"
)

// changing is a water of forty weeks as it truly goes, about which it departs by sd with a correlation of 0.8 from week to week.
type changing struct {
	name  string
	sd    float64
	level func(week float64) float64
	rises float64 // from the first span to the last; 0: it is as it was
}

func stays(at float64) func(float64) float64 { return func(float64) float64 { return at } }

// goesUp is low until week from, high from week to on.
func goesUp(from, to, low, high float64) func(float64) float64 {
	return func(w float64) float64 { return low + (high-low)*math.Min(1, math.Max(0, (w-from)/(to-from))) }
}

var changingWays = []changing{
	{name: "still, at 4", level: stays(4)},
	{name: "departs by 0.4, at 4", sd: 0.4, level: stays(4)},
	{name: "departs by 0.6, at 4", sd: 0.6, level: stays(4)},
	{name: "departs by 0.6, at 6", sd: 0.6, level: stays(6)},
	{name: "departs by 0.4, at 14", sd: 0.4, level: stays(14)},
	{name: "departs by 0.4, 5 more from one day on (week 24)", sd: 0.4, level: goesUp(23.5, 23.6, 4, 9), rises: 5},
	{name: "departs by 0.4, 5 more within weeks 12 to 16", sd: 0.4, level: goesUp(12, 16, 4, 9), rises: 5},
	{name: "departs by 0.4, 3 more from one day on (week 24)", sd: 0.4, level: goesUp(23.5, 23.6, 4, 7), rises: 3},
	{name: "departs by 0.4, 0.1 more every week", sd: 0.4, level: goesUp(1, 40, 3, 6.9), rises: 3.5},
	{name: "departs by 0.4, 4 more in weeks 12 to 25 only", sd: 0.4, level: func(w float64) float64 { return goesUp(11.5, 11.6, 4, 8)(w) - goesUp(25.5, 25.6, 0, 4)(w) }},
}

var changingLogs = []string{"Alder, one lot", "Birch, one lot", "Birch, Alder from week 18, its second lot from 30, linked", "the same, the second lot not linked"}

// changesTable is how often waters are said to have changed, and which changes are seen.
func changesTable() table {
	return table{name: "changes", title: "Did it change? Forty weekly tests of waters that did, and did not",
		head: "| log | water | said to have risen | to have fallen | called from the first span to the last | its interval holds the truth |",
		foot: "Records of the demo’s own trials, each four logs their own; the second lot reads 0.80, and two checks every other week link it. All statements of one water together: of waters that did not change one in twenty may be called. " +
			"From the first span to the last only where both are linked.",
		of: []experiment{{"changes", true, tryChanges}},
		lines: func(_ int, c counts) (lines []string) {
			for row := range len(changingLogs) * len(changingWays) {
				k := row % len(changingWays)
				w, s, name := changingWays[k], c.Sum[5*row:5*row+5], ""
				if k == 0 {
					name = changingLogs[row/len(changingWays)]
				}
				whole, holds := "–", "–"
				if s[2] > 0 {
					whole, holds = fmt.Sprintf("%.1f %%", 100*s[3]/s[2]), fmt.Sprintf("%.1f %%", 100*s[4]/s[2])
				}
				lines = append(lines, fmt.Sprintf("| %s | %s | %.1f %% | %.1f %% | %s | %s |", name, w.name, 100*s[0]/float64(c.Runs), 100*s[1]/float64(c.Runs), whole, holds))
			}
			return lines
		}}
}

// tryChanges are the counts of every log, all read by the same records: these take most of the time.
func tryChanges(run int) (out []float64) {
	m := shedMethods(run+500, "Alder", "Birch")
	for log := range changingLogs {
		out = append(out, tryChangingLog(run, log, m)...)
	}
	return out
}

func tryChangingLog(run, log int, m history.Methods) []float64 {
	out := make([]float64, 5*len(changingWays))
	rng := num.Source(uint64(run), 83, uint64(log))
	index := map[string]int{}
	waters := make([][]float64, len(changingWays))
	for k, w := range changingWays {
		index[w.name] = k
		away := w.sd * rng.NormFloat64()
		for week := range 40 {
			waters[k] = append(waters[k], math.Max(0, w.level(float64(week+1))+away))
			away = 0.8*away + w.sd*0.6*rng.NormFloat64()
		}
	}
	for _, c := range of(changingLog(waters, log, rng), m).Changes {
		k := index[c.Water]
		s := out[5*k : 5*k+5]
		switch c.Verdict {
		case history.Rose:
			s[0] = 1
		case history.Fell:
			s[1] = 1
		}
		if c.Whole && !math.IsNaN(c.Difference) && (log != 3 || c.To.After(demo.Began.AddDate(0, 0, 7*29))) {
			s[2]++
			if c.Verdict == history.Rose || c.Verdict == history.Fell {
				s[3]++
			}
			s[4] += inside(c.Low, changingWays[k].rises, c.High)
		}
	}
	return out
}

// changingLog tests waters weekly, by one method or by two of which the second gets a new lot.
func changingLog(waters [][]float64, log int, rng *rand.Rand) (out []history.Entry) {
	add := func(week int, e history.Entry) {
		e.Row, e.At, e.Reader = len(out)+2, demo.Began.AddDate(0, 0, 7*(week-1)), "Ines"
		out = append(out, e)
	}
	for week := 1; week <= 40; week++ {
		method, lotWeek := "Birch", week
		switch {
		case log == 0:
			method, lotWeek = "Alder", 1
		case log > 1 && week >= 18:
			method = "Alder"
		}
		for k, w := range changingWays {
			e := demo.Once(method, waters[k][week-1], lotWeek, rng, demo.RoutineChoices{})
			e.Water = w.name
			add(week, e)
		}
		if log > 1 && week >= 18 && week%2 == 0 && (log == 2 || week < 30) {
			for range 2 {
				e := demo.Once("Alder", 12.17, week, rng, demo.RoutineChoices{})
				e.Water, e.Check, e.Known, e.UKnown = "known", true, 12.1, 0.1
				add(week, e)
			}
		}
	}
	return slices.Clip(out)
}
