package main

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"knownwater/science/control"
	"knownwater/science/interval"
	"knownwater/science/num"
)

// drifting is a row of checks of a method that holds for eight and then reads otherwise: at once, or by more with each.
type drifting struct {
	step  float64 // how wide the answers are, in scatters of one check; 0: numbers
	name  string
	moved func(k int) float64 // by the k-th check since, in scatters; nil: it holds
}

const driftStill, driftChecks = 8, 36

func driftDesigns() (all []drifting) {
	for _, step := range []float64{0, 1.5, 2.5} {
		all = append(all, drifting{step, "holds", nil})
		for _, by := range []float64{1, 2, 4} {
			all = append(all, drifting{step, fmt.Sprintf("moves by %g at once", by), func(int) float64 { return by }})
		}
		for _, by := range []float64{0.1, 0.2, 0.4} {
			all = append(all, drifting{step, fmt.Sprintf("drifts by %g a check", by), func(k int) float64 { return by * float64(k) }})
		}
		for _, by := range []float64{0.2, 0.4} {
			all = append(all, drifting{step, fmt.Sprintf("drifts by %g a check for ten, then stays", by), func(k int) float64 { return by * float64(min(k, 10)) }})
		}
		for _, by := range []float64{2, 4} {
			all = append(all, drifting{step, fmt.Sprintf("moves by %g at once, and is back after ten", by), func(k int) float64 { return by * b2f(k <= 10) }})
		}
	}
	return all
}

// driftsTable tells what is said of methods that move at once and of such that drift.
func driftsTable() table {
	ds, solved := driftDesigns(), new(control.Solved)
	t := table{name: "drifts", title: "Moved at once, or drifting: what is said of methods that are said to have moved",
		head: "| answers | method | runs | moved | of these: told as a drift | what it reads by the last check held | the first check that read otherwise held |",
		foot: fmt.Sprintf("%d checks, of which the first %d read as in the trial; sizes in scatters of one check, answers as wide as so many. The record leaves a doubt of 0.45 scatters of what the known reads. Meant: 95 held.",
			driftChecks, driftStill)}
	for i, d := range ds {
		t.of = append(t.of, experiment{fmt.Sprintf("drifts: %g %s", d.step, d.name), false, func(run int) []float64 { return d.try(solved, source(3100+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		of := func(k int) string {
			if ds[i].moved == nil || c.Sum[0] == 0 {
				return "–"
			}
			return fmt.Sprintf("%.0f %%", 100*c.Sum[k]/c.Sum[0])
		}
		answers := "numbers"
		if ds[i].step > 0 {
			answers = fmt.Sprintf("%g wide", ds[i].step)
		}
		return []string{fmt.Sprintf("| %s | %s | %d | %.0f %% | %s | %s | %s |", answers, ds[i].name, c.Runs, c.rate(0), of(1), of(2), of(3))}
	}
	return t
}

// try makes one row: whether it is said to have moved, to drift, and whether its intervals hold the truth.
func (d drifting) try(solved *control.Solved, rng *rand.Rand) []float64 {
	const draws, doubt = 40, 0.45
	var record []control.Normal
	for i := range draws {
		record = append(record, control.Normal{Mean: doubt * num.PhiInv((float64(i)+0.5)/draws), SD: 1})
	}
	var tiles []interval.Interval
	if d.step > 0 {
		low := -4.3 * d.step
		for tiles = append(tiles, interval.Below(low)); len(tiles) < 10; low += d.step {
			tiles = append(tiles, interval.Interval{Low: low, High: low + d.step})
		}
		tiles = append(tiles, interval.Above(low))
	}
	row, truth, side := control.Row{Tiles: tiles}, record[rng.IntN(draws)], float64(1-2*rng.IntN(2))
	moved := 0.0
	for i := range driftChecks {
		if i >= driftStill && d.moved != nil {
			moved = side * d.moved(i-driftStill+1)
		}
		y := truth.Mean + moved + rng.NormFloat64()
		seen := interval.Interval{Low: y - 0.01, High: y + 0.01}
		if tiles != nil {
			seen = tiles[slices.IndexFunc(tiles, func(t interval.Interval) bool { return y <= t.High })]
		}
		row.Checks = append(row.Checks, control.Check{Seen: seen, Draws: record})
	}
	c := control.Of(row, solved)
	if c.State != control.Moved {
		return make([]float64, 4)
	}
	o := c.Onset
	return []float64{1, b2f(o.Drifts), b2f(o.ShiftLow <= moved && moved <= o.ShiftHigh), b2f(o.From <= driftStill && driftStill <= o.To)}
}
