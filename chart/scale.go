package chart

import (
	"math"
	"strconv"
)

// Scale puts concentrations on an axis with even steps below C0 and equal
// ratios well above it, asinh(c/C0), so that 0 and a hundred times C0 stand on
// one axis.
type Scale struct{ C0, Top float64 }

// ScaleFor is the scale for a set of levels: C0 is the smallest level above 0
// (but not less than a thousandth of the largest), Top the largest.
func ScaleFor(levels ...float64) Scale {
	s := Scale{}
	for _, v := range levels {
		if finite(v) && v > s.Top {
			s.Top = v
		}
	}
	if s.Top == 0 {
		return Scale{C0: 1, Top: 1}
	}
	s.C0 = s.Top
	for _, v := range levels {
		if v > 0 && v < s.C0 {
			s.C0 = math.Max(v, s.Top/1000)
		}
	}
	return s
}

// At is the place of c between 0 (at c = 0) and 1 (at Top).
func (s Scale) At(c float64) float64 { return math.Asinh(c/s.C0) / math.Asinh(s.Top/s.C0) }

// Ticks are round values of the axis at least gap apart in place, 0 first, up to the
// top: a result that stands there must not stand beyond all numbers.
func (s Scale) Ticks(gap float64) []float64 {
	ticks := s.roundTicks(gap)
	last := ticks[len(ticks)-1]
	mag := math.Pow(10, math.Floor(math.Log10(s.Top*(1+1e-9))))
	for _, unit := range []float64{mag, mag / 2, mag / 10} {
		v := math.Floor(s.Top/unit*(1+1e-9)) * unit
		if v > last && s.At(v)-s.At(last) >= gap && 1-s.At(v) < gap {
			return append(ticks, v)
		}
	}
	return ticks
}

func (s Scale) roundTicks(gap float64) []float64 {
	ticks, last := []float64{0}, 0.0
	for e := math.Floor(math.Log10(s.C0)) - 1; e <= math.Ceil(math.Log10(s.Top)); e++ {
		for _, m := range []float64{1, 2, 5} {
			v := m * math.Pow(10, e)
			if v > s.Top*(1+1e-9) {
				return ticks
			}
			if p := s.At(v); p-last >= gap {
				ticks, last = append(ticks, v), p
			}
		}
	}
	return ticks
}

// evenTicks are about n round values on a linear axis.
func evenTicks(low, high float64, n int) []float64 {
	if !finite(low, high) || !(high > low) {
		return nil
	}
	raw := (high - low) / float64(n)
	mag := math.Pow(10, math.Floor(math.Log10(raw)))
	step := 10 * mag
	for _, m := range []float64{1, 2, 5} {
		if m*mag >= raw {
			step = m * mag
			break
		}
	}
	var out []float64
	for i := math.Ceil(low/step - 1e-9); i*step <= high+step*1e-9; i++ {
		out = append(out, i*step+0) // +0 turns −0 into 0
	}
	return out
}

// tickText writes a round tick value.
func tickText(v float64) string {
	if v == 0 {
		return "0" // never −0
	}
	s := strconv.FormatFloat(v, 'g', 6, 64)
	if f, err := strconv.ParseFloat(s, 64); err == nil && math.Abs(f) < 1e7 && math.Abs(f) >= 1e-5 {
		s = strconv.FormatFloat(f, 'f', -1, 64)
	}
	if len(s) > 0 && s[0] == '-' {
		s = "−" + s[1:]
	}
	return s
}
