package control

import (
	"math"
	"slices"

	"knownwater/science/interval"
)

// Vial is a known that was tested: what was seen of it, and how a reading of it is distributed
// in each draw of the record if the lot reads Ratios[k] of what the record says: At[k][draw].
type Vial struct {
	Seen interval.Interval
	At   [][]Normal
}

// Ratios are those that a lot may read, evenly spaced in their logarithm, one of them 1: from
// 0.37 to 2.7 in steps of 2.5 %. Where a known times a ratio lies beyond all that was tried
// there is no distribution, and such a ratio is left out.
var Ratios = func() (out []float64) {
	for k := -half; k <= half; k++ {
		out = append(out, math.Exp(ratioStep*float64(k)))
	}
	return out
}()

const (
	half      = 40
	ratioStep = 0.025
)

// Ratio is what one lot reads to what another does: the middle, and 95 of 100. Each lot
// reads as the record would read the known times a ratio of its own; every ratio is equally
// likely beforehand in its logarithm, draws are equally likely, and what a draw is off by, and
// the known's own error, are the same for both lots and fall out. Readings that are steps
// count by the chance of the step. NaN without vials of both.
func Ratio(from, to []Vial) (mid, low, high float64) {
	if len(from) == 0 || len(to) == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	n := 2*half + 1
	draws := 0
	for k := range n {
		draws = max(draws, len(from[0].At[k]))
	}
	weight := make([]float64, 2*n-1) // by the difference of places
	top := math.Inf(-1)
	type pair struct{ a, b []float64 }
	var all []pair
	for d := range draws {
		p := pair{likely(from, d), likely(to, d)}
		all = append(all, p)
		top = math.Max(top, slices.Max(p.a)+slices.Max(p.b))
	}
	for _, p := range all {
		ma, mb := slices.Max(p.a), slices.Max(p.b)
		if ma+mb < top-40 { // adds nothing
			continue
		}
		scale := math.Exp(ma + mb - top)
		for i, a := range p.a {
			ea := math.Exp(a-ma) * scale
			if ea == 0 {
				continue
			}
			for j, b := range p.b {
				weight[j-i+n-1] += ea * math.Exp(b-mb)
			}
		}
	}
	total := 0.0
	for _, w := range weight {
		total += w
	}
	at := func(share float64) float64 {
		sum := 0.0
		for i, w := range weight {
			if sum+w >= share*total { // straight within a step
				t := 0.5
				if w > 0 {
					t = (share*total - sum) / w
				}
				return math.Exp(ratioStep * (float64(i-n+1) - 0.5 + t))
			}
			sum += w
		}
		return math.NaN()
	}
	return at(0.5), at(0.025), at(0.975)
}

// likely are the logarithms of what vials make of each ratio in a draw.
func likely(vials []Vial, d int) []float64 {
	out := make([]float64, 2*half+1)
	for k := range out {
		for _, v := range vials {
			if d >= len(v.At[k]) {
				out[k] = math.Inf(-1)
				break
			}
			out[k] += v.At[k][d].logChance(v.Seen)
		}
	}
	return out
}

// CV is the scatter of a vial as a share of what it should read; NaN where nothing was tried.
func (v Vial) CV() float64 {
	var mean, sd float64
	for _, d := range v.At[half] {
		mean += d.Mean
		sd += d.SD
	}
	return sd / mean
}
