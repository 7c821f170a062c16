package calibrations

import (
	"math"

	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/render"
	"knownwater/wording"
)

// resultWords are a level read back with its interval, or where it lies outside.
func resultWords(l *wording.Language, r curve.Result) string {
	est, span := resultParts(l, r)
	if span == "" {
		return est
	}
	return est + " (" + span + ")"
}

// setWords are the levels that a signal leaves open where none is better than the
// others.
func setWords(l *wording.Language, low, high float64) string {
	switch {
	case math.IsNaN(low) && math.IsNaN(high):
		return l.Say("cannot be said")
	case math.IsNaN(high):
		return l.Say("at least {1}", render.TwoDigits(low))
	case math.IsNaN(low):
		return l.Say("at most {1}", render.TwoDigits(high))
	}
	return l.Say("{1} to {2}", render.TwoDigits(low), render.TwoDigits(high))
}

// resultParts are the level, or where it lies, and its interval if there is one.
func resultParts(l *wording.Language, r curve.Result) (est, span string) {
	switch {
	case r.Outside == curve.Above:
		return l.Say("above {1}", render.Number(r.Low)), ""
	case r.Outside == curve.Below && r.High == 0: // a signal that no water gives
		return l.Say("less than nothing"), ""
	case r.Outside == curve.Below:
		return l.Say("below {1}", render.Number(r.High)), ""
	case math.IsNaN(r.Level):
		return setWords(l, r.Low, r.High), ""
	case math.IsNaN(r.Low) || math.IsNaN(r.High) || !(r.High > r.Low):
		return render.Number(r.Level), ""
	}
	u := (r.High - r.Low) / 4
	return unit.TrueMinus(unit.Round(r.Level, u)), render.Interval(r.Low, r.High, u)
}
