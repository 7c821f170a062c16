package result

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// Chances are those that the concentration lies below a need, inside, or above.
type Chances struct{ Below, Inside, Above float64 }

// density is how likely each concentration is by what was seen, every one from 0 up
// equally likely beforehand; on Simpson's points.
type density struct {
	c, p []float64 // ends and middles in turn
	top  float64   // beyond it nobody has looked
}

// points of a density: about the set, and along all that was tried.
type fineness struct{ set, tried, beyond int }

var (
	fine  = fineness{48, 30, 16}
	quick = fineness{20, 12, 6}
)

// newDensity takes the response beyond what was tried where that could still give what
// was seen, as far again: a flat response would do so for ever. at are places that
// chances will be asked for.
func newDensity(r Response, seen interval.Interval, a inverse.Answer, f fineness, at ...float64) density {
	bottom, top := r.Range()
	low, high := a.Low, a.High
	if math.IsNaN(high) {
		high = top
	}
	wide := high - low
	if !(wide > 0) {
		wide = (top - bottom) / 10
	}
	ends := []float64{0, top}
	ends = append(ends, steps(math.Max(0, low-0.75*wide), high+0.75*wide, f.set)...)
	ends = append(ends, steps(0, top, f.tried)...)
	ends = append(ends, steps(top, 2*top, f.beyond)...)
	ends = append(ends, at...)
	slices.Sort(ends)
	ends = slices.Compact(slices.DeleteFunc(ends, func(c float64) bool { return !(c >= 0 && c <= 2*top) }))
	d := density{top: top}
	for i, c := range ends {
		if i > 0 {
			d.c = append(d.c, (ends[i-1]+c)/2)
		}
		d.c = append(d.c, c)
	}
	for _, c := range d.c {
		d.p = append(d.p, r.Chance(c, seen))
	}
	return d
}

func steps(a, b float64, n int) []float64 {
	out := make([]float64, n+1)
	for i := range out {
		out[i] = a + (b-a)*float64(i)/float64(n)
	}
	return out
}

// mass is the integral from point to point, by Simpson's rule, up to end i.
func (d density) mass() []float64 {
	sum := make([]float64, 1, len(d.c)/2+1)
	for i := 2; i < len(d.c); i += 2 {
		sum = append(sum, sum[len(sum)-1]+(d.c[i]-d.c[i-2])*(d.p[i-2]+4*d.p[i-1]+d.p[i])/6)
	}
	return sum
}

// below is the share of the density below one of its ends.
func (d density) below(mass []float64, c float64) float64 {
	i := 0
	for 2*i+2 < len(d.c) && d.c[2*i+2] <= c {
		i++
	}
	return mass[i] / mass[len(mass)-1]
}

// quantile is where a share of the density lies below.
func (d density) quantile(mass []float64, share float64) float64 {
	want := share * mass[len(mass)-1]
	i := 1
	for i < len(mass)-1 && mass[i] < want {
		i++
	}
	t := 0.5
	if mass[i] > mass[i-1] {
		t = (want - mass[i-1]) / (mass[i] - mass[i-1])
	}
	return d.c[2*i-2] + t*(d.c[2*i]-d.c[2*i-2])
}

// chances of a need from low to high. What lies beyond all that was tried counts as
// above: nobody knows how far up it is.
func (d density) chances(seen interval.Interval, low, high float64) Chances {
	mass := d.mass()
	switch {
	case seen.OpenAbove() || !(mass[len(mass)-1] > 0): // goes on without end, or lies beyond all that is known
		return Chances{Above: 1}
	}
	k := Chances{Below: d.below(mass, low), Above: 1 - d.below(mass, math.Min(high, d.top))}
	k.Inside = math.Max(0, 1-k.Below-k.Above)
	return k
}

// What one side of a 95 % set leaves out, and both.
const (
	outer = 0.025
	both  = 0.05
)

// within are chances that do not contradict the set: near nothing and beyond what was tried
// a set by two one-sided tests and a density from 0 up part. A set that reaches past a
// limit has at least 2.5 % there, one that does not at most what it leaves out: 5 %, or 2.5 where it
// is open and has but one end; one that lies wholly on one side of a limit, the rest there.
func (k Chances) within(a inverse.Answer, low, high float64) Chances {
	top, out := a.High, both
	if a.Open == inverse.Above {
		top = math.Inf(1)
	}
	if a.Open != inverse.Closed {
		out = outer
	}
	switch {
	case a.Low > high:
		k.Above = math.Max(k.Above, 1-out)
		k.Below = math.Min(k.Below, (1-k.Above)/2)
	case top < low:
		k.Below = math.Max(k.Below, 1-out)
		k.Above = math.Min(k.Above, (1-k.Below)/2)
	default:
		k.Below = side(k.Below, a.Low < low, out)
		k.Above = side(k.Above, top > high, out)
		if sum := k.Below + k.Above; a.Low >= low && top <= high && sum > out {
			k.Below, k.Above = k.Below*out/sum, k.Above*out/sum
		}
		if k.Below+k.Above > 1 { // the smaller one stays as it is
			k.Below, k.Above = math.Min(k.Below, math.Max(0.5, 1-k.Above)), math.Min(k.Above, math.Max(0.5, 1-k.Below))
		}
	}
	k.Inside = math.Max(0, 1-k.Below-k.Above)
	return k
}

func side(chance float64, reaches bool, out float64) float64 {
	if reaches {
		return math.Max(chance, outer)
	}
	return math.Min(chance, out)
}
