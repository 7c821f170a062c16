package curve

import (
	"math"
	"slices"
)

// Alike are the curve and those of other shapes that its points do not tell from it: which mean something, are not contradicted, and whose AICc lies
// within 4 of the best. Read at one place they agree; in how they go down to nothing, and how steeply, they need not. Of a shape that was
// asked for, and of a curve without its points, it is the curve alone.
func (d Document) Alike() []Curve {
	out := []Curve{d.Curve}
	if d.Beside != nil {
		out = append(out, *d.Beside)
	}
	if d.Choices.Shape != orAuto("") || len(d.Points) == 0 {
		return out
	}
	var points []Point
	for _, p := range d.Points {
		if !p.Check && p.Cell() <= d.Top && (len(d.Segments) == 0 || p.Dilution == d.Segments[0].Dilution) {
			points = append(points, p.Point)
		}
	}
	o := Options{ThroughZero: d.Choices.ThroughZero, Shared: d.Choices.Shared, Light: d.Conversion.Kind.Light(), Sure: true}
	if d.Choices.Weights != orAuto("") {
		o.Weights = Weights(d.Choices.Weights)
	}
	good := func(a Attempt) bool { return a.Sound && !(a.LackOfFit < adequate) }
	best := math.Inf(1)
	for _, a := range d.Tried {
		if good(a) {
			best = math.Min(best, a.AICc)
		}
	}
	for _, shape := range []Shape{Line, StrayLight, Saturating, Quadratic, DeadZone} {
		if slices.ContainsFunc(out, func(c Curve) bool { return c.Shape == shape }) || shape == StrayLight && !o.Light {
			continue
		}
		o.Shape = shape
		if c, err := fit(points, o, d.Range.Flat); err == nil && c.scattered() && good(c.Tried[0]) && c.Tried[0].AICc <= best+clearly {
			out = append(out, c)
		}
	}
	return out
}
