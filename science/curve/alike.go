package curve

import (
	"math"
	"slices"
)

// Alike is Curve.Alike with the document's points and choices, of its first segment.
func (d Document) Alike() []Curve { return d.AlikeOf(0) }

// AlikeOf is Alike of the segment for a dilution; of the first where there is none for it.
func (d Document) AlikeOf(dilution float64) []Curve {
	if len(d.Segments) > 0 && !slices.ContainsFunc(d.Segments, func(s Segment) bool { return s.Dilution == dilution }) {
		dilution = d.Segments[0].Dilution
	}
	o := Options{ThroughZero: d.Choices.ThroughZero, Shared: d.Choices.Shared, Light: d.Conversion.Kind.Light()}
	if d.Choices.Shape != orAuto("") {
		o.Shape = Shape(d.Choices.Shape)
	}
	if d.Choices.Weights != orAuto("") {
		o.Weights = Weights(d.Choices.Weights)
	}
	var points []Point
	for _, p := range d.Points {
		if len(d.Segments) == 0 || p.Dilution == dilution {
			points = append(points, p.Point)
		}
	}
	return d.OfDilution(dilution).Alike(points, o)
}

// Alike are the curve and those of other shapes that its points, fitted with these options, do not tell from it: which mean something, are not
// contradicted, and whose AICc lies within 4 of the best, or is whatever it is where hardly a known above the blank was repeated: of so few points it
// goes by their number. Read at one place they agree; in how they go down to nothing, and how steeply, they need not. Of a shape that was asked for, and of a curve without the points of its fit (after a slope update), it is the curve alone.
func (c Curve) Alike(points []Point, o Options) []Curve {
	out := []Curve{c}
	if c.Beside != nil {
		out = append(out, *c.Beside)
	}
	fitted := slices.DeleteFunc(slices.Clone(points), func(p Point) bool { return p.Check || p.Cell() > c.Top })
	if o.Shape != "" || len(fitted) != c.Points || c.Why.Code == "slope-of-earlier" {
		return out
	}
	o.Sure = true
	best := math.Inf(1)
	good := func(a Attempt) bool {
		return a.Sound && !(a.LackOfFit < adequate) && (c.once() || a.AICc <= best+clearly)
	}
	for _, a := range c.Tried {
		if good(a) {
			best = math.Min(best, a.AICc)
		}
	}
	for _, shape := range []Shape{Line, StrayLight, Saturating, Quadratic, DeadZone} {
		if slices.ContainsFunc(out, func(c Curve) bool { return c.Shape == shape }) || shape == StrayLight && !o.Light {
			continue
		}
		if slices.ContainsFunc(c.Tried, func(a Attempt) bool { return a.Shape == shape && !good(a) }) {
			continue
		}
		o.Shape = shape
		if a, err := fit(fitted, o, c.Range.Flat); err == nil && a.scattered() && good(a.Tried[0]) {
			out = append(out, a)
		}
	}
	return out
}
