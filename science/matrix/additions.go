package matrix

import (
	"math"

	"knownwater/science/curve"
	"knownwater/science/interval"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Added is what standard additions say about a water.
type Added struct {
	known.Background
	SlopeRatio, SlopeRatioLow, SlopeRatioHigh float64 // against a curve's slope; NaN without one
	BentP                                     float64 // of the additions' misfit to what they were read by: a straight line, or the curve
	Straight                                  bool    // read by a straight line, which nothing but the additions themselves bears out

	fitted func(added float64) float64
}

// Zero is the signal of pure water with the reagent and its standard uncertainty.
type Zero struct{ Signal, U float64 }

// Additions estimates what a water holds from its signals after known additions. Beside curves of the method, the first of
// them the one in use and the others what its points do not tell from it (curve.Document.Alike), signals are read back
// through their shapes (readThrough). Without one, or where it can be of no use, the method is taken to answer in a straight line
// down to nothing (package known does the estimate). No zero told: it is the curve's, else none.
func Additions(points []curve.Point, zero *Zero, alike []curve.Curve) (Added, error) {
	if faults := curve.Impossible(points); faults != nil {
		return Added{}, faults
	}
	var fitted []curve.Point
	for _, p := range points {
		if !p.Check {
			fitted = append(fitted, p)
		}
	}
	if len(alike) > 0 && usable(alike[0]) {
		return readThrough(fitted, zero, alike), nil
	}
	a := straight(fitted, zero)
	if len(alike) > 0 {
		a.Notes = append(a.Notes, note.New("additions-curve-unfit"))
	}
	return a, nil
}

// usable says whether a curve knows how signals scatter. One that its points speak against says more of how a method bends than a line.
func usable(c curve.Curve) bool { return c.DF > 0 && c.ResidualSD > 0 }

// straight reads additions by a straight line.
func straight(points []curve.Point, zero *Zero) Added {
	var readings []known.Addition
	scale := rise(points) // package known expects readings that are concentrations, slope about 1
	for _, p := range points {
		readings = append(readings, known.Addition{Added: p.Level, Reading: interval.Exact(p.Signal / scale)})
	}
	z := Zero{}
	if zero != nil {
		z = *zero
	}
	a := none()
	a.Background = known.Additions(readings, z.Signal/scale, z.U/scale)
	a.Slope, a.USlope = a.Slope*scale, a.USlope*scale
	a.BentP, a.Straight = a.Background.BentP, true
	a.fitted = func(added float64) float64 { return z.Signal + a.Slope*(added+a.Value) }
	return a
}

// none is an answer in which nothing is said yet.
func none() Added {
	nan := math.NaN()
	return Added{Background: known.Background{Value: nan, U: nan, Low: nan, High: nan, Slope: nan, USlope: nan, BentP: nan},
		SlopeRatio: nan, SlopeRatioLow: nan, SlopeRatioHigh: nan, BentP: nan}
}

// At is the mean signal after an addition, by what the additions were read by.
func (a Added) At(added float64) float64 { return a.fitted(added) }

// rise is the size of the plain slope of points; 1 where they have none.
func rise(points []curve.Point) float64 {
	var x, y []float64
	for _, p := range points {
		x, y = append(x, p.Level), append(y, p.Signal)
	}
	if fit, err := num.Polynomial(x, y, nil, 1); err == nil && fit.Coef[1] != 0 {
		return math.Abs(fit.Coef[1])
	}
	return 1
}
