package assess

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Way is how single readings of one reader, with a lot that reads as the trial's, become
// concentrations of the sample, taken apart: the best response, the scatter that every
// reading has by itself (repeatability, vial, session), and what all such readings share (the
// doubt about the response, a reader's own way), as draws. The draws of all ways of a
// method are the same draws, so that what two results share cancels in their difference.
type Way struct {
	grid   []float64   // concentrations of the sample, rising
	seen   []float64   // the mean reading there, on the scale of Outcome.Seen, never falling
	own    []float64   // standard deviation of one reading, as a concentration
	off    [][]float64 // [grid][draw]: grid less where the draw would put the sample whose mean reading is seen
	step   []float64   // how wide answers are there, as concentrations; none where they are not steps
	spread []float64   // [draw]: by how much own standard deviations differ
}

// WayDraws are taken of the record, evenly.
const WayDraws = 128

// Way of a reader's readings at a dilution. A lot whose effect the trial told apart is
// taken as it is; any other as the mean of those tried.
func (p *Performance) Way(reader, lot string, dilution float64) *Way {
	if dilution == 0 {
		dilution = 1
	}
	st, tried := p.branch(dilution)
	st = st.ofTriedLot(lot)
	factor := 1.0
	if !tried {
		factor = dilution / st.dilution
	}
	s := sampled{study: st, lot: lot}
	draws := make([]int, WayDraws)
	for i, k := range drawOrder(fmt.Sprint(p.Method.Name, st.dilution)) {
		draws[i] = (2*k + 1) * st.rec.Draws() / (2 * WayDraws)
	}
	untried := evenly(reader)
	w := &Way{spread: make([]float64, len(draws))}
	table := make([][]float64, len(draws))
	spread := make([][]float64, len(draws))
	grid := st.rec.Grid
	for k, d := range draws {
		table[k], spread[k] = make([]float64, len(grid)), make([]float64, len(grid))
		effect, known := s.effect("reader", reader, d)
		if !known {
			effect = s.newReaders.newcomer.quantile(untried[k])
		}
		lotEffect, _ := s.effect("lot", lot, d)
		for g, c := range grid {
			sd := s.repeatability(d, c)
			shift := effect*s.over("reader", d, c) + lotEffect*s.over("lot", d, c)
			table[k][g], spread[k][g] = st.rec.At(d, c)+shift*sd, math.Sqrt(1+s.tauAt("vial", d, c)+s.tauAt("session", d, c))*sd
		}
	}
	w.fill(grid, table, spread, factor)
	for g, y := range w.seen {
		w.step = append(w.step, st.rec.Shown.StepAt(y)/w.slope(g))
	}
	return w
}

func (w *Way) slope(g int) float64 {
	a, b := max(g-2, 0), min(g+2, len(w.grid)-1)
	return (w.seen[b] - w.seen[a]) / (w.grid[b] - w.grid[a])
}

func (w *Way) fill(grid []float64, table, spread [][]float64, factor float64) {
	n, draws := len(grid), len(table)
	sd := make([]float64, n)
	for g, c := range grid {
		mean, square := 0.0, 0.0
		for k := range table {
			mean += table[k][g] / float64(draws)
			square += spread[k][g] * spread[k][g] / float64(draws)
		}
		w.grid, w.seen, sd[g] = append(w.grid, c*factor), append(w.seen, mean), math.Sqrt(square)
		if g > 0 {
			w.seen[g] = math.Max(w.seen[g], w.seen[g-1])
		}
	}
	top := w.grid[n-1] - w.grid[0]
	for g := range grid {
		w.own = append(w.own, math.Min(top, sd[g]/w.slope(g)))
		w.off = append(w.off, w.offsAt(g, table, factor, top))
	}
	for k := range spread {
		for g := range grid {
			w.spread[k] += spread[k][g] / sd[g] / float64(n)
		}
	}
}

// offsAt are the errors of the best response where each draw is true, about their
// mean: what the draws have in common is no doubt.
func (w *Way) offsAt(g int, table [][]float64, factor, top float64) []float64 {
	off := make([]float64, len(table))
	mean := 0.0
	for k, row := range table {
		c := levelOn(w.grid, row, w.seen[g])
		off[k] = math.Max(-top, math.Min(top, w.grid[g]-c))
		mean += off[k] / float64(len(table))
	}
	for k := range off {
		off[k] -= mean
	}
	return off
}

// levelOn is the concentration at which a nearly rising row first reaches y; beyond its ends
// the end pieces go on.
func levelOn(grid, row []float64, y float64) float64 {
	n := len(row)
	i := sort.Search(n, func(i int) bool { return row[i] >= y })
	i = min(max(i, 1), n-1)
	a := i - 1
	if i == n-1 && y > row[i] || i == 1 && y < row[0] { // a longer piece carries better beyond an end
		a, i = max(0, i-4), min(n-1, a+4)
		if y < row[0] {
			a = 0
		} else {
			i = n - 1
		}
	}
	rise := row[i] - row[a]
	if !(rise > 0) {
		return (grid[a] + grid[i]) / 2
	}
	return grid[a] + (y-row[a])/rise*(grid[i]-grid[a])
}

// Level is the concentration whose mean reading is y.
func (w *Way) Level(y float64) float64 { return levelOn(w.grid, w.seen, y) }

// Range is what was tried.
func (w *Way) Range() (bottom, top float64) { return w.grid[0], w.grid[len(w.grid)-1] }

func (w *Way) place(c float64) (i int, t float64) {
	i = min(max(sort.SearchFloat64s(w.grid, c), 1), len(w.grid)-1)
	t = (c - w.grid[i-1]) / (w.grid[i] - w.grid[i-1])
	return i, math.Max(0, math.Min(1, t))
}

// Own is the standard deviation of one reading of a sample of c, as a concentration. Beyond
// the range it is that of the end.
func (w *Way) Own(c float64) float64 {
	i, t := w.place(c)
	return w.own[i-1] + t*(w.own[i]-w.own[i-1])
}

// Step is how wide the answer to a sample of c is, as a concentration, at most what was tried; 0 where nobody knows.
func (w *Way) Step(c float64) float64 {
	if w.step == nil {
		return 0
	}
	i, t := w.place(c)
	return math.Min(w.grid[len(w.grid)-1], w.step[i-1]+t*(w.step[i]-w.step[i-1]))
}

// Shared adds k times the error that readings of a sample of c share, in each draw.
func (w *Way) Shared(c, k float64, into []float64) {
	i, t := w.place(c)
	a, b := w.off[i-1], w.off[i]
	for d := range into {
		into[d] += k * (a[d] + t*(b[d]-a[d]))
	}
}

// TriedReaders are the readers that the trial names.
func (p *Performance) TriedReaders() []string { return p.Readers }

// TriedLots are the lots that the trial names.
func (p *Performance) TriedLots() []string { return p.Lots }

// evenly are chances that lie evenly, in an order of the name's own.
func evenly(name string) []float64 {
	out := make([]float64, WayDraws)
	for i, k := range drawOrder(name) {
		out[i] = (float64(k) + 0.5) / WayDraws
	}
	return out
}

// drawOrder is an order of the draws that a name gives: draws of different methods, each in
// its own, have nothing to do with one another.
func drawOrder(name string) []int { return num.Named(name, 14).Perm(WayDraws) }

// Spreads are by how much own standard deviations differ from Own in each draw.
func (w *Way) Spreads() []float64 { return w.spread }

// ToldReaders are those of the trial whom it told apart.
func (p *Performance) ToldReaders() []string { return sampled{study: p.first()}.Readers() }

// Unit is the scale of its concentrations.
func (p *Performance) Unit() unit.Scale { return p.Scale }

// DilutesFrom is the least reading, as seen, from which the method's sheet has a sample diluted and read
// again: the lower end of the first answer that a person takes for more (a count of drops for all of them, a colour at a swatch for that swatch); 0: it never does.
// Least is the lower end of a colour between two swatches in which the sheet's reading lies, which one person takes for more and another not; from, where there is none.
func (p *Performance) DilutesFrom() (from, least float64) {
	m := p.Method
	if !(m.DilutionOver > 0) {
		return 0, 0
	}
	for _, a := range reading.Answers(m, 2*m.DilutionOver) {
		at := slices.ContainsFunc(m.Swatches, func(s float64) bool { return math.Abs(s*reading.Factor(m)-a.Value) < 1e-9*a.Value })
		if len(m.Swatches) > 0 && !at && a.Seen.Low < m.DilutionOver && m.DilutionOver < a.Seen.High {
			least = a.Seen.Low
		}
		if a.Seen.OpenAbove() || a.Value > m.DilutionOver {
			if least == 0 {
				least = a.Seen.Low
			}
			return a.Seen.Low, least
		}
	}
	from = m.DilutionOver
	if m.Resolution > 0 {
		from = (math.Floor(m.DilutionOver/m.Resolution+1e-9) + 0.5) * m.Resolution
	}
	return from, from
}

// WayOf is a way known by its draws: at each concentration of a rising grid the mean reading and how single ones
// scatter, [draw][grid], WayDraws of them.
func WayOf(grid []float64, means, sds [][]float64) *Way {
	w := &Way{spread: make([]float64, len(means))}
	w.fill(grid, means, sds, 1)
	return w
}
