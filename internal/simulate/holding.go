package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"knownwater/demo"
	"knownwater/science/history"
	"knownwater/science/num"
)

// goes is how a water truly goes: about a level from which it departs and to which it comes
// back within about five weeks, or walking off, or rising.
type goes struct {
	name             string
	from             float64
	sd, walk, weekly float64
}

var waterWays = []goes{
	{name: "stays, departs by 0.3", from: 4, sd: 0.3},
	{name: "stays, departs by 1", from: 5, sd: 1},
	{name: "walks, 0.4 a week", from: 5, walk: 0.4},
	{name: "rises by 0.15 a week, departs by 0.3", from: 3, sd: 0.3, weekly: 0.15},
	{name: "stays at 11, departs by 0.3", from: 11, sd: 0.3},
}

// days of a water, one level a day.
func (g goes) days(n int, rng *rand.Rand) []float64 {
	const back = 0.971834 // exp(−1/35)
	out := make([]float64, n)
	away, walked := g.sd*rng.NormFloat64(), 0.0
	for i := range out {
		out[i] = math.Max(0, g.from+g.weekly*float64(i)/7+away+walked)
		away = back*away + g.sd*math.Sqrt(1-back*back)*rng.NormFloat64()
		walked += g.walk / math.Sqrt(7) * rng.NormFloat64()
	}
	return out
}

const holdAhead = 183

var heldBins = []float64{0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0001}

// holdTable is how often what is said of ranges is right: the share of the time inside, the chances
// on the next day of testing, and the day to test by.
func holdTable() table {
	var of []experiment
	for _, method := range []string{"Alder", "Birch"} {
		of = append(of, experiment{"hold: " + method, true, func(run int) []float64 { return tryHold(run, method) }})
	}
	return table{name: "hold", title: "Holding a range: the share of the time, the next test",
		head: "| tested weekly by | water | share told | held | mean width | inside at the next test: said, was | Brier (always the mean) | inside on the day to test by |",
		foot: "Records of the demo’s own trials; each log has its own. Ranges from 0.2 to 2 times the water’s own size to both sides of where it is as a rule (of what rises: anywhere between half way and a little beyond the end), three for each water. Told: of the ranges, those wide enough for a share to be told. “said, was”: statements by what was said, below 5 %, to 25, 50, 75, 95, 100: " +
			"mean chance said → share that was inside. Brier: mean (said − was)², smaller is better; in brackets that of always saying the mean share. The day to test by is the last on which 95 in 100 are still inside.",
		of: of,
		lines: func(i int, c counts) (lines []string) {
			kinds := append(slices.Clone(waterWays), goes{name: "all"})
			for j := range len(heldWeeks) * len(kinds) {
				k := j % len(kinds)
				g, s := kinds[k], c.Sum[heldSize*j:heldSize*(j+1)]
				name := ""
				if k == 0 {
					name = fmt.Sprintf("%s, %d weeks", of[i].name[len("hold: "):], heldWeeks[j/len(kinds)])
				}
				lines = append(lines, fmt.Sprintf("| %s | %s | %.0f %% | %s | %.2f | %s | %s | %s |", name, g.name, 100*s[1]/math.Max(1, s[5]), ratio(s[0], s[1]), s[2]/math.Max(1, s[1]), binned(s[8:]), brier(s), ratio(s[6], s[7])))
			}
			return lines
		}}
}

const heldSize = 8 + 3*6

var heldWeeks = []int{10, 26}

func ratio(k, n float64) string {
	if n == 0 {
		return "–"
	}
	return fmt.Sprintf("%.1f %% of %.0f", 100*k/n, n)
}

func binned(s []float64) (out string) {
	for b := 0; 3*b+2 < len(s); b++ {
		if n := s[3*b]; n > 0 {
			out += fmt.Sprintf("%.0f → %.0f (%.0f); ", 100*s[3*b+1]/n, 100*s[3*b+2]/n, n)
		}
	}
	return strings.TrimSuffix(out, "; ")
}

// brier of sums: s[3] of (said − was)², s[4] of was, s[5] their number.
func brier(s []float64) string {
	n := math.Max(1, s[5])
	mean := s[4] / n
	return fmt.Sprintf("%.3f (%.3f)", s[3]/n, mean*(1-mean))
}

func tryHold(run int, method string) (out []float64) {
	m := shedMethods(run, method)
	for _, weeks := range heldWeeks {
		out = append(out, tryHoldFor(run, m, method, weeks)...)
	}
	return out
}

func tryHoldFor(run int, m history.Methods, method string, weeks int) []float64 {
	out := make([]float64, heldSize*(len(waterWays)+1))
	rng := num.Source(uint64(run), 71, uint64(weeks))
	for k, g := range waterWays {
		n := 7*(weeks-1) + 1
		level := g.days(n+holdAhead, rng)
		var log []history.Entry
		for week := range weeks {
			e := demo.Once(method, level[7*week], 1, rng, demo.RoutineChoices{}) // all with its first lot
			e.Row, e.At, e.Water, e.Reader = week+2, demo.Began.AddDate(0, 0, 7*week), "tank", "Ines"
			log = append(log, e)
		}
		size := math.Max(math.Hypot(g.sd, g.walk*math.Sqrt(float64(weeks)/3)), 0.5)
		middle := g.from + g.weekly*float64(weeks)*(0.5+0.6*rng.Float64())
		m.Hold = nil
		for range 3 {
			m.Hold = append(m.Hold, history.Range{Low: math.Max(0, middle-size*(0.2+1.8*rng.Float64())), High: middle + size*(0.2+1.8*rng.Float64())})
		}
		for _, h := range of(log, m).Holds {
			tally := make([]float64, heldSize)
			held(h, level[:n], level[n-1:], tally)
			for i, v := range tally {
				out[heldSize*k+i] += v
				out[heldSize*len(waterWays)+i] += v
			}
		}
	}
	return out
}

// held counts what came true of one range.
func held(h history.Hold, was, ahead, out []float64) {
	if math.IsNaN(h.Inside) {
		return
	}
	in := func(x float64) float64 { return inside(h.Range.Low, x, h.Range.High) }
	share := 0.0
	for i, x := range was {
		w := 1.0
		if i == 0 || i == len(was)-1 {
			w = 0.5
		}
		share += w * in(x) / float64(len(was)-1)
	}
	const tiny = 1e-9
	if !math.IsNaN(h.Share) {
		out[0], out[1], out[2] = inside(h.Low-tiny, share, h.High+tiny), 1, h.High-h.Low
	}
	next := in(ahead[int(h.Next.Sub(h.To).Hours()/24+0.5)])
	out[3], out[4], out[5] = (h.Inside-next)*(h.Inside-next), next, 1
	if d := int(h.TestBy.Sub(h.To).Hours()/24 + 0.5); d > 0 && !h.Beyond {
		out[6], out[7] = in(ahead[d]), 1
	}
	for b := 0; b+1 < len(heldBins); b++ {
		if h.Inside >= heldBins[b] && h.Inside < heldBins[b+1] {
			out[8+3*b], out[9+3*b], out[10+3*b] = 1, h.Inside, next
		}
	}
}
