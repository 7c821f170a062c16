package reading

import (
	"math"

	"knownwater"
)

// OnScale is a method given on its own scale, on a trial's: every
// concentration of it times factor. Its readings stay as they are typed, so
// that everything that understands a text goes through Factor.
func OnScale(m knownwater.Method, factor float64) knownwater.Method {
	if factor == 1 {
		return m
	}
	m = times(m, func(v float64) float64 { return v * factor })
	m.Factor = Factor(m) * factor
	return m
}

// Own is a method on the scale on which it shows its numbers: what OnScale was
// given, to twelve digits.
func Own(m knownwater.Method) knownwater.Method {
	f := Factor(m)
	m.Factor = 0
	if f == 1 {
		return m
	}
	return times(m, func(v float64) float64 { return Digits(v / f) })
}

// Factor turns what the method shows into the trial's scale.
func Factor(m knownwater.Method) float64 {
	if m.Factor == 0 {
		return 1
	}
	return m.Factor
}

func times(m knownwater.Method, by func(float64) float64) knownwater.Method {
	m.Swatches = append([]float64(nil), m.Swatches...)
	for i := range m.Swatches {
		m.Swatches[i] = by(m.Swatches[i])
	}
	m.Resolution, m.DropValue, m.DilutionOver = by(m.Resolution), by(m.DropValue), by(m.DilutionOver)
	if m.Range != nil {
		r := *m.Range
		r.Low, r.High = by(r.Low), by(r.High)
		m.Range = &r
	}
	return m
}

// Digits takes the noise of a conversion off, to twelve digits, so that
// 161.28 µmol/L and 10 mg/L NO3 are the same level.
func Digits(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) {
		return v
	}
	scale := math.Pow10(11 - int(math.Floor(math.Log10(math.Abs(v)))))
	if math.IsInf(scale, 0) || scale == 0 {
		return v
	}
	return math.Round(v*scale) / scale
}

// Times is the reading in another unit, to twelve digits. Counts of drops have
// no unit and stay.
func (t Typed) Times(f float64) Typed {
	if t.Drops || f == 1 {
		return t
	}
	t.Low, t.High = Digits(t.Low*f), Digits(t.High*f)
	return t
}
