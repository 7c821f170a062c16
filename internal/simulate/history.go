package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/num"
)

// historyTable is the demo's log of forty weeks after its trial: what is said of a tank that
// never changes, of one whose level doubles, of one that rises slowly, of a lot that reads
// 0.80, and what is refused where nothing links.
func historyTable() table {
	share := func(c counts, k, of int) string {
		if c.Sum[of] == 0 {
			return "–"
		}
		return fmt.Sprintf("%.1f %%", 100*c.Sum[k]/c.Sum[of])
	}
	return table{name: "history", title: "A log of forty weeks: the water or the method?",
		head: "| | share or mean | of |",
		foot: "Records of the demo’s own trials; Birch, from week 18 on Alder, from week 30 on its second lot, which reads 0.80; eight pairs at the change of method, two vials of a known every other week. " +
			"Marram stays at 14 and wanders about it by 0.4. Segments are the results of one method and lot, re-expressed.",
		of: []experiment{{"history: linked", true, tryHistory}, {"history: withheld", true, tryWithheld}},
		lines: func(i int, c counts) []string {
			line := func(what, value string, of float64) string { return fmt.Sprintf("| %s | %s | %.0f |", what, value, of) }
			mean := func(k int) float64 { return c.Sum[k] / float64(c.Runs) }
			sd := func(k int) float64 { return math.Sqrt(math.Max(0, c.Sum[k+3]/float64(c.Runs)-mean(k)*mean(k))) }
			if i == 1 {
				return []string{line("no checks of the second lot: the step there “cannot be told”", share(c, 0, 1), c.Sum[1]),
					line("no record of Birch and no pairs: the step there “cannot be told”", share(c, 2, 3), c.Sum[3]),
					line("a level, slope or change runs across either", share(c, 4, 5), c.Sum[5])}
			}
			return []string{
				line("Marram, as read: means of the three segments", fmt.Sprintf("%.1f, %.1f, %.1f", mean(20), mean(21), mean(22)), float64(c.Runs)),
				line("Marram, re-expressed (standard deviation over logs)", fmt.Sprintf("%.1f (%.1f), %.1f (%.1f), %.1f (%.1f)", mean(0), sd(0), mean(1), sd(1), mean(2), sd(2)), float64(c.Runs)),
				line("intervals of Marram’s steps hold 0", share(c, 6, 7), c.Sum[7]),
				line("logs in which Marram is said to have risen or fallen", fmt.Sprintf("%.1f %%", c.rate(8)), float64(c.Runs)),
				line("interval of the lot’s ratio holds 0.80", share(c, 9, 10), c.Sum[10]),
				line("interval of the method’s ratio holds 1", share(c, 11, 12), c.Sum[12]),
				line("Kelpie’s rise of 5: interval holds it", share(c, 13, 14), c.Sum[14]),
				line("Kelpie’s rise is called, from the first span to the last", share(c, 15, 14), c.Sum[14]),
				line("… by any comparison", share(c, 19, 14), c.Sum[14]),
				line("… by normal theory from the first span to the last, had its scatter over logs been known: half of 5 % to it (nine comparisons alike, by Šidák)", normalTheory(c.Sum[23], c.Sum[24], c.Sum[14]), c.Sum[14]),
				line("Samphire’s slope of 0.375 a week (weeks 20 to 28): interval holds it", share(c, 16, 17), c.Sum[17]),
				line("Samphire’s slope: mean", fmt.Sprintf("%.3f", c.Sum[18]/math.Max(1, c.Sum[17])), c.Sum[17]),
			}
		}}
}

// shed are the records of a demo trial's charts and the log after it.
func shed(run int, c demo.RoutineChoices) ([]history.Entry, history.Methods) {
	seed := uint64(run + 1)
	return demo.Routine(seed, c), shedMethods(run, "Alder", "Birch")
}

// shedMethods are records of the demo's trial.
func shedMethods(run int, names ...string) history.Methods {
	seed := uint64(run + 1)
	t, err := demo.Trial(seed)
	if err != nil {
		panic(err)
	}
	m := history.Methods{Records: map[string][]history.Source{}}
	for _, method := range names {
		p, err := assess.PerformanceOf(t, method, "", assess.Options{Seed: seed})
		if err != nil {
			panic(err)
		}
		m.Records[method] = []history.Source{p}
	}
	return m
}

func of(log []history.Entry, m history.Methods) history.History {
	h, err := history.Of(log, m)
	if err != nil {
		panic(err)
	}
	return h
}

func inside(low, v, high float64) float64 {
	if low <= v && v <= high {
		return 1
	}
	return 0
}

// normalTheory is how often a normal difference of known scatter would be called: n of them have sum and square.
func normalTheory(sum, square, n float64) string {
	mean := sum / n
	sd := math.Sqrt(square/n - mean*mean)
	power := func(outside float64) float64 { return 100 * num.Phi(mean/sd-num.PhiInv(1-outside/2)) }
	return fmt.Sprintf("%.1f %% (%.1f %%)", power(0.025), power(1-math.Pow(0.95, 1.0/9)))
}

func tryHistory(run int) []float64 {
	out := make([]float64, 25)
	log, m := shed(run, demo.RoutineChoices{})
	h := of(log, m)
	segments(h, out)
	for _, c := range h.Changes {
		if c.Water == "Kelpie" && c.Verdict == history.Rose {
			out[19] = 1
		}
		switch {
		case c.Water == "Marram" && !math.IsNaN(c.Difference):
			if !c.Whole {
				out[6] += inside(c.Low, 0, c.High)
				out[7]++
			}
			if c.Verdict == history.Rose || c.Verdict == history.Fell {
				out[8] = 1
			}
		case c.Water == "Kelpie" && c.Whole && !math.IsNaN(c.Difference):
			out[13] += inside(c.Low, 5, c.High)
			out[14]++
			out[23] += c.Difference
			out[24] += c.Difference * c.Difference
			if c.Verdict == history.Rose {
				out[15]++
			}
		}
	}
	for _, b := range h.Bridges {
		if math.IsNaN(b.Ratio) {
			continue
		}
		switch b.Kind {
		case history.OfLot:
			out[9] += inside(b.Low, 0.8, b.High)
			out[10]++
		case history.OfMethod:
			out[11] += inside(b.Low, 1, b.High)
			out[12]++
		}
	}
	began := log[0].At
	ramp := slices.DeleteFunc(slices.Clone(log), func(e history.Entry) bool {
		week := int(e.At.Sub(began).Hours()/24/7) + 1
		return !e.Check && (e.Water != "Samphire" || week < 20 || week > 28)
	})
	for _, s := range of(ramp, m).Slopes {
		if s.Water == "Samphire" && !math.IsNaN(s.PerWeek) {
			out[16] += inside(s.Low, 0.375, s.High)
			out[17]++
			out[18] += s.PerWeek
		}
	}
	return out
}

// segments are the means of Marram's results by method and lot, re-expressed (0 to 2, their
// squares 3 to 5) and as read (20 to 22).
func segments(h history.History, out []float64) {
	var sum, raw, n [3]float64
	for _, r := range h.Results {
		if r.Water != "Marram" {
			continue
		}
		k := map[string]int{"B1": 0, "A1": 1, "A2": 2}[r.Lot]
		o := r.Outcome
		if r.Again != nil {
			o = r.Again
		}
		seen := r.Outcome.Seen[0]
		if v := o.Result.Estimate; !math.IsNaN(v) && !seen.OpenAbove() {
			sum[k], raw[k], n[k] = sum[k]+v, raw[k]+seen.Mid(), n[k]+1
		}
	}
	for k := range n {
		mean := sum[k] / math.Max(1, n[k])
		out[k], out[k+3], out[20+k] = mean, mean*mean, raw[k]/math.Max(1, n[k])
	}
}

// tryWithheld takes away what links the second lot, then what links the two methods.
func tryWithheld(run int) []float64 {
	out := make([]float64, 6)
	log, m := shed(run, demo.RoutineChoices{NoBridge: true})
	noChecks := slices.DeleteFunc(slices.Clone(log), func(e history.Entry) bool { return e.Check && e.Lot == "A2" })
	tell(of(noChecks, m), "A2", out[0:2], out[4:6])
	birch := map[string][]history.Source{"Alder": m.Records["Alder"]}
	kinds := map[string][]history.Source{"Birch": m.Records["Birch"]}
	m.Records = birch
	m.Kinds = methodsOf(kinds)
	tell(of(log, m), "Alder", out[2:4], out[4:6])
	return out
}

// tell counts changes across something that is not linked, and what runs across all the same.
func tell(h history.History, across string, refused, ran []float64) {
	for _, c := range h.Changes {
		if c.Across != across {
			continue
		}
		refused[1]++
		if c.Verdict == history.CannotBeTold && math.IsNaN(c.Difference) {
			refused[0]++
		}
	}
	for _, c := range h.Changes {
		if c.Whole {
			ran[1]++
			if c.From.Before(began(h, across)) && !c.To.Before(began(h, across)) && !math.IsNaN(c.Difference) {
				ran[0]++
			}
		}
	}
	for _, s := range h.Slopes {
		ran[1]++
		if s.From.Before(began(h, across)) && !s.To.Before(began(h, across)) {
			ran[0]++
		}
	}
}

// began is when a lot or method came into use.
func began(h history.History, name string) (at time.Time) {
	for _, r := range h.Results {
		if (r.Lot == name || r.Method == name) && (at.IsZero() || r.At.Before(at)) {
			at = r.At
		}
	}
	return at
}

func methodsOf(records map[string][]history.Source) map[string]knownwater.Method {
	out := map[string]knownwater.Method{}
	for name, r := range records {
		out[name] = r[0].(*assess.Performance).Method
	}
	return out
}
