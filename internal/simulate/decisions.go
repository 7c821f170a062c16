package main

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/decide"
	"knownwater/science/inverse"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// The need that decisions are made for, and where waters lie: outside it, at its limits and
// inside.
const decideLow, decideHigh = 2.0, 6.0

var decideLevels = []float64{0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 5.5, 6, 6.5, 7, 9, 14}

// even are waters anywhere from 0 to 20, equally likely, as a chance takes them to be.
const evenWaters, evenTop = 8, 20.0

func decideDesigns() []design {
	all := readingDesigns()
	return []design{all[0], all[1], all[3], all[4]}
}

// decideTable is how often one reading by anybody of the trial leaves or acts, by level, and
// how often wrongly over waters that are equally likely, against the risk that was stated.
func decideTable() table {
	levels := make([]string, len(decideLevels))
	for i, c := range decideLevels {
		levels[i] = fmt.Sprint(c)
	}
	t := table{name: "decide", title: fmt.Sprintf("Leave or act on one reading: per cent at each level, the need being %g to %g with 95 in 100", decideLow, decideHigh),
		head: "| trial | runs | said | " + strings.Join(levels, " | ") + " | of those said wrong | stated |",
		foot: "*Leave* is wrong below 2 and above 6, *act* from 2 to 6. The last two columns are over waters equally likely from 0 to 20, which is what a chance takes them to be: the share of what was said that was wrong, and the mean risk stated with it."}
	ds := decideDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{"decide: " + d.name, true, func(run int) []float64 { return d.tryDecide(source(2700+i, run)) }})
	}
	n := len(decideLevels)
	t.lines = func(i int, c counts) (lines []string) {
		for k, said := range []string{"leave", "act"} {
			cells := make([]string, n)
			for j := range cells {
				cells[j] = percent(c.rate(k*n + j))
			}
			sum := c.Sum[2*n+3*k:]
			wrong, stated := "–", "–"
			if sum[0] > 0 {
				wrong, stated = fmt.Sprintf("%.1f %%", 100*sum[1]/sum[0]), fmt.Sprintf("%.1f %%", 100*sum[2]/sum[0])
			}
			lines = append(lines, fmt.Sprintf("| %s | %d | %s | %s | %s | %s |", ds[i].name, c.Runs, said, strings.Join(cells, " | "), wrong, stated))
		}
		return lines
	}
	return t
}

// tryDecide counts leave and act at each level, and over even waters how often each was said,
// was wrong, and at what stated risk.
func (d design) tryDecide(rng *rand.Rand) []float64 {
	people := d.people(rng)
	p, err := assess.PerformanceOf(d.trialBy(people, rng), "", "", assess.Options{})
	if err != nil {
		panic(err)
	}
	n := len(decideLevels)
	out := make([]float64, 2*n+6)
	for i, c := range decideLevels {
		switch d.decideOne(p, c, people, rng).Advice {
		case decide.Leave:
			out[i]++
		case decide.Act:
			out[n+i]++
		}
	}
	for range evenWaters {
		c := evenTop * rng.Float64()
		x := d.decideOne(p, c, people, rng)
		inside := c >= decideLow && c <= decideHigh
		switch x.Advice {
		case decide.Leave:
			out[2*n]++
			out[2*n+1] += b2f(!inside)
			out[2*n+2] += x.Risk
		case decide.Act:
			out[2*n+3]++
			out[2*n+4] += b2f(inside || c < decideLow && x.Side == decide.Above || c > decideHigh && x.Side == decide.Below)
			out[2*n+5] += x.Risk
		}
	}
	return out
}

// decideOne decides on one reading by the first person of the trial.
func (d design) decideOne(p *assess.Performance, c float64, people []float64, rng *rand.Rand) decide.Decision {
	q := result.Question{Needs: []knownwater.Need{{Name: "need", Low: decideLow, High: decideHigh}}}
	own := 0.0
	if d.readers > 0 {
		q.Reader, own = "r0", people[0]
	}
	q.Readings = []string{reading.Show(d.latent(c, own+d.vial*rng.NormFloat64(), rng), d.method)}
	o, err := p.Read(q)
	if err != nil {
		panic(err)
	}
	return decide.On(decide.Result{Chances: decide.Chances(o.Verdicts[0].Chances), OpenBelow: o.Result.Open == inverse.Below, OpenAbove: o.Result.Open == inverse.Above}, decideLow, result.DefaultSure)
}

// lotReadTable is how often a reading's set holds the water where its lot was tried and where it
// was not: lots of a brand differ by 10 %.
func lotReadTable() table {
	levels := lotReadDesign(nil).levels
	t := table{name: "lotread", title: "Later readings with a lot that was tried and one that was not: per cent of 95 % sets that hold the water, by level from the lowest up",
		head: "| lots of the trial | runs | lot of the reading | held |",
		foot: "Display, scatter 0.1 and 4 %, three readings of each lot at every level; lots of the brand differ with a standard deviation of 10 %. With one lot in the trial nothing says how far lots differ: a reading with another one is not covered, and a note says so; with two the set of one is two to three times as wide as that of a lot that was tried."}
	tried := []int{1, 2, 3, 5}
	for _, lots := range tried {
		t.of = append(t.of, experiment{fmt.Sprintf("lotread: %d lots", lots), true, func(run int) []float64 { return tryLotRead(lots, source(2800+lots, run)) }})
	}
	t.lines = func(i int, c counts) (lines []string) {
		for k, which := range []string{"tried", "not tried"} {
			held := ""
			for j := range levels {
				held += " " + percent(c.rate(k*len(levels)+j))
			}
			lines = append(lines, fmt.Sprintf("| %d | %d | %s |%s |", tried[i], c.Runs, which, held))
		}
		return lines
	}
	return t
}

const lotsDiffer = 0.10

func lotReadDesign(lots []float64) design {
	return design{method: display, levels: []float64{0, 1.5, 3, 6, 12, 20}, vials: 3 * len(lots), response: straight, sd0: 0.1, share: 0.04, lots: lots}
}

func tryLotRead(n int, rng *rand.Rand) []float64 {
	lots := make([]float64, n)
	for i := range lots {
		lots[i] = 1 + lotsDiffer*rng.NormFloat64()
	}
	d := lotReadDesign(lots)
	p, err := assess.PerformanceOf(d.trial(rng), "", "", assess.Options{})
	if err != nil {
		panic(err)
	}
	out := make([]float64, 2*len(d.levels))
	for i, c := range d.levels {
		for k, lot := range []struct {
			name string
			by   float64
		}{{"lot 1", lots[0]}, {"another", 1 + lotsDiffer*rng.NormFloat64()}} {
			o, err := p.Read(result.Question{Readings: []string{reading.Show(lot.by*d.latent(c, 0, rng), d.method)}, Lot: lot.name})
			if err != nil {
				panic(err)
			}
			r := o.Result
			out[k*len(d.levels)+i] = b2f(r.Low <= c && (c <= r.High || r.Open == inverse.Above))
		}
	}
	return out
}
