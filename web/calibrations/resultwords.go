package calibrations

import (
	"math"

	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// resultWords are a level read back with its interval, or where it lies outside.
func resultWords(r curve.Result) string {
	est, span := resultParts(r)
	if span == "" {
		return est
	}
	return est + " (" + span + ")"
}

// setWords are the levels that a signal leaves open where none is better than the
// others.
func setWords(low, high float64) string {
	switch {
	case math.IsNaN(low) && math.IsNaN(high):
		return "cannot be said"
	case math.IsNaN(high):
		return "at least " + render.TwoDigits(low)
	case math.IsNaN(low):
		return "at most " + render.TwoDigits(high)
	}
	return render.TwoDigits(low) + " to " + render.TwoDigits(high)
}

// resultParts are the level, or where it lies, and its interval if there is one.
func resultParts(r curve.Result) (est, span string) {
	switch {
	case r.Outside == curve.Above:
		return "above " + render.Number(r.Low), ""
	case r.Outside == curve.Below && r.High == 0: // a signal that no water gives
		return "less than nothing", ""
	case r.Outside == curve.Below:
		return "below " + render.Number(r.High), ""
	case math.IsNaN(r.Level):
		return setWords(r.Low, r.High), ""
	case math.IsNaN(r.Low) || math.IsNaN(r.High) || !(r.High > r.Low):
		return render.Number(r.Level), ""
	}
	u := (r.High - r.Low) / 4
	return unit.TrueMinus(unit.Round(r.Level, u)), render.Interval(r.Low, r.High, u)
}
