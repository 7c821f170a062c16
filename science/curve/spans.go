package curve

import "math"

// Span is, at one level, how far off one test may be with 95 % and how far the curve
// itself and its knowns alone may put it off, which more tests of a water do not make
// smaller. All are in the level's unit, less the level.
type Span struct{ Level, Low, High, OwnLow, OwnHigh float64 }

// spanSteps is how finely spans follow the range.
const spanSteps = 24

// Spans are the 95 % intervals of one test along the range. The curve's own share is the
// root of the sum of squares of its parts "curve" and "knowns" over that of all parts.
func (c Curve) Spans() []Span {
	var out []Span
	for k := range spanSteps + 1 {
		x := c.Range.LevelLow + (c.Range.LevelHigh-c.Range.LevelLow)*float64(k)/spanSteps
		back := c.ReadOn(Sample{Signals: []float64{c.At(x)}})
		share := 0.0
		for _, part := range back.Parts {
			if part.Name == "curve" || part.Name == "knowns" {
				share = math.Hypot(share, part.U/back.U)
			}
		}
		out = append(out, Span{x, back.Low - x, back.High - x, share * (back.Low - x), share * (back.High - x)})
	}
	return out
}
