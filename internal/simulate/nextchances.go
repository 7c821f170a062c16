package main

import (
	"fmt"
	"math"

	"knownwater/science/assess"
)

// chanceBins are the quarters of the chance that is said.
const chanceBins = 4

// chances is what the first advice says on a bench whose true error is anywhere from an
// eighth of the permitted one to eight times it, and what came of it: undecided, then of the
// quarter that the chance is in: benches, the chance, how often it came true.
func (d nextDesign) chances(table, run int) []float64 {
	out := make([]float64, 1+3*chanceBins)
	d, t, _ := d.bench(span{0.125, 64}, source(table, run))
	f := assess.Run(t, assess.Options{Brief: true})
	if f.Methods[0].Needs[0].Verdict != assess.Undecided {
		return out
	}
	out[0] = 1
	if x, came := d.advice(t, f, advisedAgain, source(table+100, run)); x != nil {
		bin := min(int(chanceBins*x.PSettles), chanceBins-1)
		out[1+3*bin], out[2+3*bin], out[3+3*bin] = 1, x.PSettles, came
	}
	return out
}

func chanceTable() table {
	t := table{name: "nextchance", title: "The next experiment: the chance said, by how large it is",
		head: "| method, spread, readings a level | benches | undecided | advised | chance said | came true | said below 25 %: came true | 25 to 50 | 50 to 75 | above |",
		foot: fmt.Sprintf("As above, but the true error is anywhere from an eighth of the permitted one to eight times it, as what is said takes every size for as likely. Of each quarter the benches and how often it came true. Each advice is carried out %d times.", advisedAgain)}
	ds := nextDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{"nextchance: " + d.name, true, func(run int) []float64 { return d.chances(2900+i, run) }})
	}
	t.lines = func(i int, c counts) []string {
		n, said, came, quarters := 0.0, 0.0, 0.0, ""
		for b := range chanceBins {
			one := c.Sum[1+3*b : 4+3*b]
			n, said, came = n+one[0], said+one[1], came+one[2]
			quarters += fmt.Sprintf(" %.0f %% of %.0f |", 100*one[2]/math.Max(1, one[0]), one[0])
		}
		return []string{fmt.Sprintf("| %s | %d | %.0f | %.0f | %.0f %% | %.0f %% |%s", ds[i].name, c.Runs, c.Sum[0], n, 100*said/math.Max(1, n), 100*came/math.Max(1, n), quarters)}
	}
	return t
}
