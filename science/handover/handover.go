// Package handover turns a curve into what an instrument takes: pairs or coefficients in its
// digits, with a check sheet, and says what that costs.
package handover

import (
	"math"
	"strconv"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Digits are what an instrument takes and shows: decimals of its levels and
// signals, significant digits of its coefficients.
type Digits struct{ Level, Signal, Coefficient int }

// Pair is one point of a table.
type Pair struct{ Level, Signal float64 }

// Table is a curve as an instrument takes it, and what that costs.
type Table struct {
	Pairs        []Pair    // joined by straight lines; or
	Coefficients []float64 // level = k0 + k1·signal + k2·signal² + …
	Worst        float64   // largest error added to the level, within the range
	WorstAt      float64
	Unrounded    float64 // the same if every digit could be typed
	Expected     []Pair  // check sheet: what the instrument should show for a signal
	Notes        []note.Note
}

// between points of the curve on which the error is looked for.
const tableGrid = 400

// trace is the curve on a grid of its range: rising levels and their signals.
func trace(c curve.Curve) (level, signal []float64) {
	a, b := c.Range.LevelLow, c.Range.LevelHigh
	for i := range tableGrid + 1 {
		x := a + (b-a)*float64(i)/tableGrid
		level, signal = append(level, x), append(signal, c.At(x))
	}
	return level, signal
}

func round(v float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(v*p) / p
}

// Pairs chooses n pairs so that straight lines between them, with signals
// rounded as the instrument takes them, add the smallest largest error of level.
// Levels are taken from the instrument's own (at most 200 of them, evenly
// spread); the choice is exact among those: dynamic programming over the last
// pair and the number of pairs (R. Bellman 1961, Comm. ACM 4, 284).
func Pairs(c curve.Curve, n int, d Digits) (Table, error) {
	knots := knotsOf(c, d)
	if n < 2 || len(knots) < 2 {
		return Table{}, fault("no table with fewer than two pairs", "two pairs or more, and levels with enough decimals")
	}
	n = min(n, len(knots))
	level, signal := trace(c)
	for i := range knots {
		knots[i].Signal = round(knots[i].Signal, d.Signal)
	}
	if knots[0].Signal == knots[len(knots)-1].Signal {
		return Table{}, fault("with %d decimals the signal is the same at both ends of the range", "more decimals of the signal", d.Signal)
	}
	chosen := cheapest(knots, n, func(i, j int) float64 { return worstBetween(knots[i], knots[j], level, signal) })
	t := Table{}
	for _, k := range chosen {
		t.Pairs = append(t.Pairs, knots[k])
	}
	t.Worst, t.WorstAt = t.added(level, signal)
	exact := Table{}
	for _, p := range t.Pairs {
		exact.Pairs = append(exact.Pairs, Pair{p.Level, c.At(p.Level)})
	}
	t.Unrounded, _ = exact.added(level, signal)
	for i := 1; i < len(t.Pairs); i++ {
		a, b := t.Pairs[i-1], t.Pairs[i]
		if a.Signal == b.Signal {
			t.Notes = append(t.Notes, note.New("levels-get-one-signal").Number("level", a.Level, b.Level))
			continue
		}
		s := round((a.Signal+b.Signal)/2, d.Signal)
		t.Expected = append(t.Expected, Pair{t.level(s), s})
	}
	return t, nil
}

// knots are the levels at which a pair may stand.
func knotsOf(c curve.Curve, d Digits) []Pair {
	a, b := c.Range.LevelLow, c.Range.LevelHigh
	step := math.Max(math.Pow(10, -float64(d.Level)), (b-a)/200)
	step = math.Ceil(step*math.Pow(10, float64(d.Level))-1e-9) / math.Pow(10, float64(d.Level))
	var out []Pair
	last := math.Inf(-1)
	for i := 0; ; i++ {
		x := round(a+float64(i)*step, d.Level)
		if x > b || i > 1000 {
			break
		}
		if x >= a && x > last {
			out = append(out, Pair{x, c.At(x)})
			last = x
		}
	}
	if end := math.Floor(b*math.Pow(10, float64(d.Level))+1e-9) / math.Pow(10, float64(d.Level)); end > last && end >= a {
		out = append(out, Pair{end, c.At(end)})
	}
	return out
}

// worstBetween is the largest error of the straight line from p to q.
func worstBetween(p, q Pair, level, signal []float64) float64 {
	if p.Signal == q.Signal {
		return math.Inf(1)
	}
	worst := 0.0
	step := (level[len(level)-1] - level[0]) / tableGrid
	from := max(0, int((p.Level-level[0])/step))
	for i := from; i < len(level) && level[i] <= q.Level; i++ {
		if level[i] < p.Level {
			continue
		}
		x := p.Level + (signal[i]-p.Signal)/(q.Signal-p.Signal)*(q.Level-p.Level)
		worst = math.Max(worst, math.Abs(x-level[i]))
	}
	return worst
}

// cheapest finds the path of n of the knots, the first and last among them, whose
// largest cost between neighbours is smallest.
func cheapest(knots []Pair, n int, cost func(i, j int) float64) []int {
	last := len(knots) - 1
	best := make([][]float64, n)
	from := make([][]int, n)
	for k := range best {
		best[k], from[k] = make([]float64, last+1), make([]int, last+1)
		for j := range best[k] {
			best[k][j] = math.Inf(1)
		}
	}
	best[0][0] = 0
	costs := make([][]float64, last+1)
	for i := range costs {
		costs[i] = make([]float64, last+1)
		for j := i + 1; j <= last; j++ {
			costs[i][j] = cost(i, j)
		}
	}
	for k := 1; k < n; k++ {
		for j := k; j <= last; j++ {
			for i := k - 1; i < j; i++ {
				if v := math.Max(best[k-1][i], costs[i][j]); v < best[k][j] {
					best[k][j], from[k][j] = v, i
				}
			}
		}
	}
	k := 0
	for i := range best { // fewer pairs where more gain nothing
		if best[i][last] < best[k][last] {
			k = i
		}
	}
	path := []int{last}
	for ; k > 0; k-- {
		path = append(path, from[k][path[len(path)-1]])
	}
	for i, j := 0, len(path)-1; i < j; i, j = i+1, j-1 {
		path[i], path[j] = path[j], path[i]
	}
	return path
}

// level is what the instrument shows for a signal.
func (t Table) level(signal float64) float64 {
	if t.Coefficients != nil {
		x := 0.0
		for j := len(t.Coefficients) - 1; j >= 0; j-- {
			x = x*signal + t.Coefficients[j]
		}
		return x
	}
	n := len(t.Pairs)
	up := t.Pairs[n-1].Signal > t.Pairs[0].Signal
	i := 1
	for i < n-1 && (signal > t.Pairs[i].Signal) == up {
		i++
	}
	a, b := t.Pairs[i-1], t.Pairs[i]
	return a.Level + (signal-a.Signal)/(b.Signal-a.Signal)*(b.Level-a.Level)
}

// added is the largest difference between the instrument and the curve, where
// the instrument's table reaches.
func (t Table) added(level, signal []float64) (worst, at float64) {
	for i, x := range level {
		if t.Pairs != nil && (x < t.Pairs[0].Level || x > t.Pairs[len(t.Pairs)-1].Level) {
			continue
		}
		if e := math.Abs(t.level(signal[i]) - x); e > worst {
			worst, at = e, x
		}
	}
	return worst, at
}

// Polynomial is the curve as level = k0 + k1·signal + …, for instruments that
// take coefficients: fitted to the curve at Chebyshev's points of the signal, which
// comes within a few percent of the smallest largest error, then rounded from
// the highest power down, each time fitting the rest again to what is left.
func Polynomial(c curve.Curve, order int, d Digits) (Table, error) {
	if order < 1 || order > 6 {
		return Table{}, fault("order %d", "an order from 1 to 6", order)
	}
	var s, x []float64
	const points = 64
	for i := range points {
		y := (c.Range.SignalLow+c.Range.SignalHigh)/2 + (c.Range.SignalHigh-c.Range.SignalLow)/2*math.Cos(math.Pi*(float64(i)+0.5)/points)
		if l := c.LevelOf(y); !math.IsNaN(l) {
			s, x = append(s, y), append(x, l)
		}
	}
	level, signal := trace(c)
	fit, err := num.Polynomial(s, x, nil, order)
	if err != nil {
		return Table{}, fault("no polynomial of this order can be fitted", "a lower order")
	}
	exact := Table{Coefficients: fit.Coef}
	t := Table{Coefficients: make([]float64, order+1)}
	t.Unrounded, _ = exact.added(level, signal)
	rest := append([]float64(nil), x...)
	for k := order; k >= 0; k-- {
		fit, err := num.Polynomial(s, rest, nil, k)
		if err != nil {
			return Table{}, fault("no polynomial of this order can be fitted", "a lower order")
		}
		t.Coefficients[k] = significant(fit.Coef[k], d.Coefficient)
		if adds := math.Abs(t.Coefficients[k]) * math.Pow(largest(s), float64(k)); adds < nothing*largest(x) {
			t.Coefficients[k] = 0 // what arithmetic leaves of nothing is not typed into an instrument
		}
		for i := range rest {
			rest[i] -= t.Coefficients[k] * math.Pow(s[i], float64(k))
		}
	}
	t.Worst, t.WorstAt = t.added(level, signal)
	for _, share := range []float64{0, 0.25, 0.5, 0.75, 1} {
		y := round(c.Range.SignalLow+share*(c.Range.SignalHigh-c.Range.SignalLow), d.Signal)
		t.Expected = append(t.Expected, Pair{t.level(y), y})
	}
	return t, nil
}

// significant rounds to a number of significant digits.
func significant(v float64, digits int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', max(0, digits-1), 64), 64)
	if err != nil {
		return v
	}
	return out
}

// Show is what the instrument should show for a known: 95 % of single tests,
// with the error that the table adds at the most.
func Show(c curve.Curve, level float64, t Table) (low, high float64) {
	u := c.Uncertainty(level)
	k := num.TQuantile(0.975, c.DF)
	return level - k*u - t.Worst, level + k*u + t.Worst
}

func fault(found, want string, values ...any) knownwater.Faults {
	return knownwater.Faults{knownwater.Fault{Found: found, Want: want}.Of(values...)}
}

// nothing is the share of the highest level below which a coefficient's part is
// rounding: nobody makes water to nine digits.
const nothing = 1e-9

func largest(vs []float64) float64 {
	most := 0.0
	for _, v := range vs {
		most = math.Max(most, math.Abs(v))
	}
	return most
}
