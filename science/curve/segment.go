package curve

import (
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
)

// Segment is the curve of the points of one dilution. Its levels are those in
// the cell, so that segments can be laid over each other.
type Segment struct {
	Dilution float64
	Curve
}

// Join compares two segments where their cells overlap: knowns measured direct
// and diluted should lie on one curve, if the dilution is what it is said to be.
type Join struct {
	Low, High float64 // the dilutions of the two segments
	From, To  float64 // overlap, as concentrations of the sample; From > To: none
	// Ratio is what the diluted segment reads ÷ what the direct one reads, at the
	// middle of the overlap, with 95 % limits. 1 if the factor is right.
	At, Ratio, RatioLow, RatioHigh float64
	Says                           note.Note
}

// Fits fits a curve for every dilution among the points, the least diluted first.
func Fits(points []Point, o Options) ([]Segment, error) {
	var out []Segment
	for _, d := range dilutions(points) {
		var own []Point
		for _, p := range points {
			if p.Dilution == d {
				own = append(own, p)
			}
		}
		c, err := Fit(own, o)
		if err != nil {
			return nil, at(d, len(dilutions(points)), err)
		}
		out = append(out, Segment{d, c})
	}
	if len(out) == 0 {
		return nil, knownwater.Faults(fault("no points", "points of role fit"))
	}
	return out, nil
}

// at names the segment in its faults.
func at(d float64, segments int, err error) error {
	faults, ok := err.(knownwater.Faults)
	if !ok || segments < 2 {
		return err
	}
	for i := range faults {
		faults[i].Found = fmt.Sprintf("at dilution %.4g, %s", d, faults[i].Found)
	}
	return faults
}

// dilutions among points, rising.
func dilutions(points []Point) (out []float64) {
	for _, p := range points {
		i := 0
		for i < len(out) && out[i] < p.Dilution {
			i++
		}
		if i == len(out) || out[i] != p.Dilution {
			out = append(out[:i], append([]float64{p.Dilution}, out[i:]...)...)
		}
	}
	return out
}

// Joins examines neighbouring segments, with limits that hold for all shapes that the points of either do not tell apart (Alike).
func Joins(segments []Segment, points []Point, o Options) (out []Join) {
	var before []Curve
	for i, s := range segments {
		now := s.Alike(slices.DeleteFunc(slices.Clone(points), func(p Point) bool { return p.Dilution != s.Dilution }), o)
		if i > 0 {
			j := join(segments[i-1], s)
			for _, a := range before {
				for _, b := range now {
					j.cover(join(Segment{j.Low, a}, Segment{j.High, b}))
				}
			}
			j.Says = j.verdict()
			out = append(out, j)
		}
		before = now
	}
	return out
}

// cover widens the limits of a ratio to those by other curves through the same points.
func (j *Join) cover(other Join) {
	if !math.IsNaN(other.RatioLow) {
		j.RatioLow, j.RatioHigh = math.Min(j.RatioLow, other.RatioLow), math.Max(j.RatioHigh, other.RatioHigh)
	}
}

// join asks what the direct curve makes of the diluted curve's signal at one
// concentration of the cell: if the factor is right, the same. The blanks' signals
// are taken off, as a shift of the blank is no matter of the factor. The interval
// is that of both curves, by first order with the fewer degrees of freedom.
func join(a, b Segment) Join {
	j := Join{Low: a.Dilution, High: b.Dilution, Ratio: math.NaN(), RatioLow: math.NaN(), RatioHigh: math.NaN()}
	j.From = math.Max(a.Range.LevelLow*a.Dilution, b.Range.LevelLow*b.Dilution)
	j.To = math.Min(a.Range.LevelHigh*a.Dilution, b.Range.LevelHigh*b.Dilution)
	if j.From >= j.To {
		j.Says = note.New("dilutions-share-no-level").Number("dilution", a.Dilution, b.Dilution)
		return j
	}
	cell := math.Min(a.Range.LevelHigh, b.Range.LevelHigh)
	low := math.Max(a.Range.LevelLow, b.Range.LevelLow)
	if low >= cell {
		j.Says = note.New("cells-share-no-level").Number("dilution", a.Dilution, b.Dilution)
		return j
	}
	x := low + 0.75*(cell-low)
	y := b.At(x) - b.At(0) + a.At(0)
	seen := a.LevelOf(y)
	u := math.Hypot(a.bandU(seen)/seen, b.bandU(x)/x)
	t := studentT(math.Min(a.DF, b.DF))
	j.At = x * b.Dilution
	j.Ratio, j.RatioLow, j.RatioHigh = seen/x, seen/x*(1-t*u), seen/x*(1+t*u)
	return j
}

func (j Join) verdict() note.Note {
	switch {
	case j.Says.Code != "": // they share no level
		return j.Says
	case math.IsNaN(j.RatioLow):
		return note.New("join-not-known")
	case j.RatioLow > 1 || j.RatioHigh < 1:
		return note.New("join-is-off").Number("dilution", j.Low, j.High).Number("ratio", j.Ratio, j.RatioLow, j.RatioHigh)
	}
	return note.New("dilutions-join").Number("dilution", j.Low, j.High).Number("ratio", j.Ratio, j.RatioLow, j.RatioHigh)
}

// bandU is the standard uncertainty of the curve's rise from nothing to x, as a
// concentration.
func (c Curve) bandU(x float64) float64 {
	g, g0 := make([]float64, c.form.Params), make([]float64, c.form.Params)
	c.form.Gradient(c.Coef, x, g)
	c.form.Gradient(c.Coef, 0, g0)
	for i := range g {
		g[i] -= g0[i]
	}
	return c.leastSure(g) / math.Abs(c.Slope(x))
}
