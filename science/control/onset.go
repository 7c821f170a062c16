package control

import (
	"math"

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

// Onset is since when a method reads otherwise, and by how much.
type Onset struct {
	Best, From, To int // of the checks: the first that was read otherwise; From to To hold it in 95 of 100
	// Shift is how far readings moved, in standard deviations of one check: the middle,
	// and 95 of 100.
	Shift, ShiftLow, ShiftHigh float64
}

// sizes of a shift that are as likely beforehand, either way.
var sizes = func() (out []float64) {
	for s := 0.25; s <= 8; s += 0.25 {
		out = append(out, -s, s)
	}
	return out
}()

// onsetDraws of the record are enough for the place of a change.
const onsetDraws = 40

// OnsetOf is where a change that there is began. Before it checks are distributed as in a
// draw of the record, from it on moved by a shift; places among the checks, shifts and
// draws are each equally likely beforehand (D. V. Hinkley 1970, Biometrika 57, 1, for the
// likelihood; its mean over shifts and draws instead of the largest, so that what is not
// known of them widens the interval). Best is the likeliest place; From to To the shortest
// run of places about it that holds 95 in 100.
func OnsetOf(r Row) Onset {
	n := len(r.Checks)
	weight := make([][]float64, n) // [place][size], logarithms
	for i := range weight {
		weight[i] = make([]float64, len(sizes))
		for j := range weight[i] {
			weight[i][j] = math.Inf(-1)
		}
	}
	draws := len(r.Checks[0].Draws)
	wide := make([]float64, n)
	for i, c := range r.Checks {
		wide[i] = c.unit().SD
	}
	for d := range min(draws, onsetDraws) {
		d = (2*d + 1) * draws / (2 * min(draws, onsetDraws))
		still := make([]float64, n+1) // of the checks before each place
		for i, c := range r.Checks {
			still[i+1] = still[i] + c.Draws[d].logChance(c.Seen)
		}
		for j, s := range sizes {
			after := 0.0
			for i := n - 1; i >= 0; i-- {
				c := r.Checks[i]
				after += Normal{c.Draws[d].Mean + s*wide[i], c.Draws[d].SD}.logChance(c.Seen)
				weight[i][j] = logSum(weight[i][j], still[i]+after)
			}
		}
	}
	return onsetFrom(weight)
}

func onsetFrom(weight [][]float64) Onset {
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
	o := Onset{}
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
		for s := -8.0; s <= 8; s += 0.25 {
			for j := range sizes {
				if sizes[j] == s {
					if sum += size[j]; sum >= share*all {
						return s
					}
				}
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
