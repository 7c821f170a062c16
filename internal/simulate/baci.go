package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater/science/num"
	"knownwater/science/series"
)

// tankWays are how waters truly go in experiments, in units of the scatter of one test: departures
// that come back within about five weeks, a walk's step in a week, a step of its own at the day of treatment.
var tankWays = []struct {
	name          string
	sd, walk, own float64
}{
	{"stay where they are", 0, 0, 0},
	{"depart by half of what a test scatters", 0.5, 0, 0},
	{"depart by as much as a test scatters", 1, 0, 0},
	{"depart by three times as much", 3, 0, 0},
	{"walk half a scatter a week", 0, 0.5, 0},
	{"depart by as much, and each takes a step of its own as large", 1, 0, 1},
}

// effectTable is how often the interval of an experiment's effect holds it, and how often something is
// said to have worked that did nothing.
func effectTable() table {
	var of []experiment
	for _, d := range [][3]int{{1, 1, 3}, {1, 1, 6}, {2, 1, 4}, {2, 2, 3}, {2, 2, 6}, {3, 3, 3}, {3, 3, 6}} {
		of = append(of, experiment{fmt.Sprintf("effect: %d treated, %d control, %d tests before and after", d[0], d[1], d[2]), false, func(run int) []float64 { return tryEffect(run, d) }})
	}
	return table{name: "effect", title: "An experiment on waters: the effect’s interval, and “it worked” of nothing",
		head: "| waters, tests of each | waters truly | interval holds the effect | nothing was done: said to have worked | mean half-width, in scatters of a test |",
		foot: "A test a week; the effect is 0 in what is counted as said to have worked, which means raised or lowered. Everything is in units of one test’s own scatter, which is known. With one water a side nothing tells " +
			"a step of its own from the effect: the last row of each block says what comes of that.",
		of: of,
		lines: func(i int, c counts) (lines []string) {
			for k, w := range tankWays {
				s := c.Sum[3*k:]
				name := ""
				if k == 0 {
					name = of[i].name[len("effect: "):]
				}
				n := float64(c.Runs)
				lines = append(lines, fmt.Sprintf("| %s | %s | %.1f %% | %.1f %% | %.2f |", name, w.name, 100*s[0]/n, 100*s[1]/n, s[2]/n))
			}
			return lines
		}}
}

func tryEffect(run int, d [3]int) []float64 {
	out := make([]float64, 3*len(tankWays))
	rng := num.Source(uint64(run), 81, uint64(d[0]), uint64(d[1]), uint64(d[2]))
	for k, way := range tankWays {
		effect := 2 * rng.NormFloat64()
		var waters []series.Tried
		for i := range d[0] + d[1] {
			waters = append(waters, tankOf(rng, d[2], i < d[0], effect, way.sd, way.walk, way.own))
		}
		e, _ := series.EffectOf(waters)
		// what is left open does not depend on the effect: taken off, it is an experiment in which nothing was done
		out[3*k] = inside(e.Low, effect, e.High)
		out[3*k+1] = 1 - inside(e.Low-effect, 0, e.High-effect)
		out[3*k+2] = (e.High - e.Low) / 2
	}
	return out
}

func tankOf(rng *rand.Rand, tests int, treated bool, effect, sd, walk, own float64) series.Tried {
	w := series.Tried{Treated: treated}
	back := math.Exp(-7.0 / 35)
	away, walked, step := sd*rng.NormFloat64(), 0.0, own*rng.NormFloat64()
	if treated {
		step += effect
	}
	errors := make([]float64, 2*tests)
	for i := range 2 * tests {
		after := i >= tests
		v := 10 + away + walked + rng.NormFloat64()
		if after {
			v += step
		}
		w.Days, w.Value, w.Var, w.After = append(w.Days, 7*float64(i)), append(w.Value, v), append(w.Var, 1), append(w.After, after)
		away = back*away + sd*math.Sqrt(1-back*back)*rng.NormFloat64()
		walked += walk * rng.NormFloat64()
	}
	w.Spread, w.Shared = []float64{1}, [][]float64{errors}
	return w
}
