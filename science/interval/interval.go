// Package interval holds the one type that every reading and every estimate
// carries: two bounds, infinite where open, equal where exact.
package interval

import "math"

// Interval is the set of values from Low to High. An open end is infinite.
// The zero value is the exact value 0.
type Interval struct {
	Low, High float64
}

// Exact is the interval that holds one value.
func Exact(v float64) Interval { return Interval{v, v} }

// Below is everything up to v.
func Below(v float64) Interval { return Interval{math.Inf(-1), v} }

// Above is everything from v up.
func Above(v float64) Interval { return Interval{v, math.Inf(1)} }

// Valid says whether the bounds are in order and are numbers.
func (i Interval) Valid() bool { return i.Low <= i.High }

// OpenBelow and OpenAbove say whether an end is infinite.
func (i Interval) OpenBelow() bool { return math.IsInf(i.Low, -1) }

// OpenAbove says whether the upper end is infinite.
func (i Interval) OpenAbove() bool { return math.IsInf(i.High, 1) }

// Width is High − Low: infinite where an end is open, 0 where exact.
func (i Interval) Width() float64 {
	if i.Low == i.High {
		return 0
	}
	return i.High - i.Low
}

// Mid is the middle of a closed interval; it is not a number where an end is open.
func (i Interval) Mid() float64 {
	if i.OpenBelow() || i.OpenAbove() {
		return math.NaN()
	}
	return i.Low + (i.High-i.Low)/2
}

// Scale multiplies both ends by a factor above 0, as a dilution does.
func (i Interval) Scale(factor float64) Interval {
	return Interval{i.Low * factor, i.High * factor}
}

// Contains says whether v lies in the interval, its ends counted in.
func (i Interval) Contains(v float64) bool { return i.Low <= v && v <= i.High }

// Covers says whether every value of other lies in i.
func (i Interval) Covers(other Interval) bool {
	return i.Low <= other.Low && other.High <= i.High
}

// Mean is the interval of the mean of one value from each interval.
func Mean(list []Interval) Interval {
	m := Interval{}
	for _, i := range list {
		m.Low, m.High = m.Low+i.Low, m.High+i.High
	}
	n := float64(len(list))
	return Interval{m.Low / n, m.High / n}
}
