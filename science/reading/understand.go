package reading

import (
	"math"

	"knownwater"
	"knownwater/science/interval"
)

// Understand gives the interval on the method's scale that a reading stands
// for, before any dilution multiplies it. The error is a knownwater.Fault.
//
//   - chart: the tiling of Tiles; `a..b` over swatches that are not neighbours
//     is the interval from a to b; `<s` is what lies below "at s", `>s` what
//     lies above it, and `<` the lowest swatch everything up to that swatch.
//   - display, absorbance, photo: the value ± half the resolution (of the
//     method, else the last digit of this text); at and beyond the ends of the
//     method's range it is open. `a..b`, `<a`, `>a` are as written.
//   - drops: n drops of d each are ((n−1)·d, n·d], no drop is everything up
//     to 0. A bare whole number counts drops. `6d..8d` is "six to eight drops",
//     `<7d` fewer, `>7d` more than seven; without a d, `a..b`, `<a` and `>a`
//     are on the method's scale.
func Understand(text string, m knownwater.Method) (interval.Interval, error) {
	t, err := Parse(text)
	if err != nil {
		return interval.Interval{}, err
	}
	return t.On(m)
}

// On is what the reading means (see Understand): understood on the scale on
// which the method shows its numbers, given on the method's.
func (t Typed) On(m knownwater.Method) (interval.Interval, error) {
	if f := Factor(m); f != 1 {
		seen, err := t.On(Own(m))
		return seen.Scale(f), err
	}
	k := Of(m.Kind)
	switch {
	case k.Kind == "":
		return interval.Interval{}, fault("method %s has no kind", kindNames(), Quote(m.Name))
	case t.Drops && !k.Counts:
		return interval.Interval{}, fault("%s counts drops", "a number: %s is a %s method", Quote(t.String()), m.Name, string(m.Kind))
	}
	return k.on(t, m)
}

func (t Typed) onDisplay(m knownwater.Method) interval.Interval {
	switch t.Form {
	case Range:
		return interval.Interval{Low: t.Low, High: t.High}
	case Under:
		return interval.Below(t.Low)
	case Over:
		return interval.Above(t.Low)
	}
	step := m.Resolution
	if step <= 0 {
		step = math.Pow10(-t.Decimals)
	}
	if r := m.Range; r != nil {
		if t.Low <= r.Low {
			return interval.Below(around(r.Low, step).High)
		}
		if t.Low >= r.High {
			return interval.Above(around(r.High, step).Low)
		}
	}
	return around(t.Low, step)
}

// around is v ± step/2. Where v is a whole number of steps the ends come from
// whole half-steps, so that neighbours meet in the very same number.
func around(v, step float64) interval.Interval {
	k := math.Round(v / step)
	if math.Abs(v/step-k) > 1e-6 || math.Abs(k) > 1e12 {
		return interval.Interval{Low: v - step/2, High: v + step/2}
	}
	return interval.Interval{Low: steps(k-0.5, step), High: steps(k+0.5, step)}
}

// steps is k·step; it divides where 1/step is whole, since 473.5/100 is
// 4.735 and 473.5·0.01 is only nearly so.
func steps(k, step float64) float64 {
	if per := math.Round(1 / step); step < 1 && math.Abs(per*step-1) < 1e-12 {
		return k / per
	}
	return k * step
}

func (t Typed) onDrops(m knownwater.Method) (interval.Interval, error) {
	d := m.DropValue
	if !(d > 0) || math.IsInf(d, 1) {
		return interval.Interval{}, fault("method %s has no drop value", "drop_value above 0", Quote(m.Name))
	}
	if t.Form == Value && !t.Drops && (t.Low < 0 || t.Low != math.Trunc(t.Low)) {
		return interval.Interval{}, fault("%s is no count of drops", "a whole number of drops, such as 7d", Quote(t.String()))
	}
	if t.Form != Value && !t.Drops {
		return t.onDisplay(m), nil
	}
	switch t.Form {
	case Under:
		return interval.Below(math.Max(0, t.Low-1) * d), nil
	case Over:
		return interval.Above(t.Low * d), nil
	}
	seen := interval.Interval{Low: (t.Low - 1) * d, High: t.High * d}
	if t.Low == 0 {
		seen.Low = math.Inf(-1)
	}
	return seen, nil
}

// Midpoint is the bench habit, for comparison only: the value shown, the middle
// of a..b, half of x for <x, x for >x, and n·d for n drops (of d each).
func Midpoint(text string, m knownwater.Method) (float64, error) {
	if f := Factor(m); f != 1 {
		v, err := Midpoint(text, Own(m))
		return v * f, err
	}
	t, err := Parse(text)
	if err != nil {
		return math.NaN(), err
	}
	if _, err := t.On(m); err != nil {
		return math.NaN(), err
	}
	return Of(m.Kind).midpoint(t, m), nil
}

func (t Typed) middle(knownwater.Method) float64 {
	switch t.Form {
	case Range:
		return t.Low + (t.High-t.Low)/2
	case Under:
		return t.Low / 2
	}
	return t.Low
}

func (t Typed) middleDrop(m knownwater.Method) float64 {
	if t.Drops || t.Form == Value {
		return t.middle(m) * m.DropValue
	}
	return t.middle(m)
}
