package control

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// fineTiles stand for numbers where a chain needs steps.
var fineTiles = func() (out []interval.Interval) {
	const step = 0.125
	for z := -10.0; z < 10; z += step {
		out = append(out, interval.Interval{Low: z, High: z + step})
	}
	return out
}()

// Onset is since when a method reads otherwise, by how much, and how likely that is.
type Onset struct {
	Best, From, To int // of the checks: the first that was read otherwise; From to To hold it in 95 of 100
	// Shift is how far readings moved, in standard deviations of one check: the middle,
	// and 95 of 100.
	Shift, ShiftLow, ShiftHigh float64
	Odds                       float64 // that it has moved, to that it has not
}

// Beforehand: odds that a method has moved by its next check, and by the first of a lot that
// was not tried, which is told from others by that alone. Both are conventions.
const (
	eachOdds   = 0.01 // as DefaultBetween
	newLotOdds = 0.25
)

// typical is the scale of shifts beforehand, in standard deviations of one check: Student's
// with three degrees of freedom, since a lot may read otherwise by twenty times the scatter
// of a good meter.
const typical = 1.5

// onsetDraws of the record are enough for the place of a change; of long rows fewer are.
func onsetDraws(r Row) []int {
	all := len(r.Checks[0].Draws)
	n := min(all, max(8, min(40, 20000/len(r.Checks))))
	out := make([]int, n)
	for i := range out {
		out[i] = (2*i + 1) * all / (2 * n)
	}
	return out
}

// OnsetOf is where a change that there is began. Before it checks are distributed as in a
// draw of the record, from it on moved by a shift; draws are equally likely beforehand, and so
// are places among the checks but the first of a new lot (D. V. Hinkley 1970, Biometrika 57,
// 1, for the likelihood; its mean over shifts and draws instead of the largest, so that what is
// not known of them widens the interval). Best is the likeliest place; From to To the shortest
// run of places about it that holds 95 in 100. Odds are those of any place to none: what is
// the same in a record that is off and in a method that has moved counts for neither.
func OnsetOf(r Row) Onset {
	far := 8.0
	for _, c := range r.Checks {
		far = math.Max(far, math.Abs(value(c.unit().in(c.Seen)))+2)
	}
	var sizes []float64
	for k := 1.0; k <= 32; k++ {
		sizes = append(sizes, -k*far/32, k*far/32)
	}
	slices.Sort(sizes)
	o := r.places(sizes)
	// those are too coarse for how far: finer ones over what they leave open, and two of their steps beyond
	low, high := o.ShiftLow-far/16, o.ShiftHigh+far/16
	sizes = sizes[:0]
	for k := 0.0; k <= 64; k++ {
		sizes = append(sizes, low+(high-low)*k/64)
	}
	fine := r.places(sizes)
	o.Shift, o.ShiftLow, o.ShiftHigh = fine.Shift, fine.ShiftLow, fine.ShiftHigh
	return o
}

// places weighs each place and size of a change.
func (r Row) places(sizes []float64) Onset {
	n := len(r.Checks)
	weight := make([][]float64, n) // [place][size], logarithms
	for i := range weight {
		weight[i] = make([]float64, len(sizes))
		for j := range weight[i] {
			weight[i][j] = math.Inf(-1)
		}
	}
	wide := make([]float64, n)
	for i, c := range r.Checks {
		wide[i] = c.unit().SD
	}
	none := math.Inf(-1)
	for _, d := range onsetDraws(r) {
		still := make([]float64, n+1) // of the checks before each place
		for i, c := range r.Checks {
			still[i+1] = still[i] + c.Draws[d].logChance(c.Seen)
		}
		none = logSum(none, still[n])
		for j, s := range sizes {
			after := 0.0
			for i := n - 1; i >= 0; i-- {
				c := r.Checks[i]
				after += Normal{c.Draws[d].Mean + s*wide[i], c.Draws[d].SD}.logChance(c.Seen)
				weight[i][j] = logSum(weight[i][j], still[i]+after)
			}
		}
	}
	before := make([]float64, len(sizes)) // chances of sizes beforehand
	total := 0.0
	for j, s := range sizes {
		before[j] = math.Pow(1+s*s/typical/typical/3, -2)
		total += before[j]
	}
	for i := range weight {
		odds := eachOdds
		if i == 0 && r.New {
			odds = newLotOdds
		}
		for j := range sizes {
			weight[i][j] += math.Log(odds * before[j] / total)
		}
	}
	return onsetFrom(weight, sizes, none)
}

// onsetFrom sums weights up, against that of no change.
func onsetFrom(weight [][]float64, sizes []float64, none float64) Onset {
	top := math.Inf(-1)
	for _, w := range weight {
		for _, v := range w {
			top = math.Max(top, v)
		}
	}
	place, size, all := make([]float64, len(weight)), make([]float64, len(sizes)), 0.0
	for i, w := range weight {
		for j, v := range w {
			p := math.Exp(v - top)
			place[i] += p
			size[j] += p
			all += p
		}
	}
	o := Onset{Odds: math.Exp(math.Min(top+math.Log(all)-none, 700))}
	for i := range place {
		if place[i] > place[o.Best] {
			o.Best = i
		}
	}
	o.From, o.To = o.Best, o.Best
	for held := place[o.Best]; held < 0.95*all; { // the likelier neighbour next
		switch {
		case o.To+1 == len(place), o.From > 0 && place[o.From-1] >= place[o.To+1]:
			o.From--
			held += place[o.From]
		default:
			o.To++
			held += place[o.To]
		}
	}
	at := func(share float64) float64 {
		sum := 0.0
		for j, p := range size {
			if sum += p; sum >= share*all {
				return sizes[j]
			}
		}
		return math.NaN()
	}
	o.Shift, o.ShiftLow, o.ShiftHigh = at(0.5), at(0.025), at(0.975)
	return o
}

func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// FromChecks are draws of what a method's checks are distributed as where only a few of
// its own say it: m numbers with mean x̄ and standard deviation s leave
//
//	σ = s √((m−1)/χ²),  μ = x̄ + σ z/√m
//
// with χ² of m−1 degrees of freedom and z normal (every μ and log σ equally likely
// beforehand), here at evenly spread places of both, in a fixed order. Limits from such
// draws are as wide as few checks make them: those of three standard deviations from ten
// checks would ring wrongly one time in 53 instead of 370. Nothing below FewestSet checks:
// no limit is set yet.
func FromChecks(values []float64) []Normal {
	m := len(values)
	if m < FewestSet {
		return nil
	}
	mean, sd := num.MeanSD(values)
	if !(sd > 0) {
		return nil
	}
	const many = 121
	out := make([]Normal, many)
	for i := range out {
		// places of a lattice: no two draws share a stratum of either
		chi := num.ChiSquareQuantile((float64(i)+0.5)/many, float64(m-1))
		z := num.PhiInv((float64(i*75%many) + 0.5) / many)
		s := sd * math.Sqrt(float64(m-1)/chi)
		out[i] = Normal{mean + s*z/math.Sqrt(float64(m)), s}
	}
	return out
}

// FewestSet is how many checks limits are set from at least, where no record says what a
// check is distributed as.
const FewestSet = 8
