package curve

import (
	"math"

	"knownwater/science/interval"
)

// ReadBack is one signal of a known, turned round by a curve that was not told the known's
// level.
type ReadBack struct {
	Point
	Seen interval.Interval // concentration in the cell; open where the curve ends before it
}

// Untold are signals of knowns read back, each by itself, by curves that knew nothing of
// them: held are the knowns that were kept out of the fit, read by the curve itself; left
// those of the fit but the highest, each read by the curve of the others, in the same shape
// and weights. Left errs a little more than the curve does, which has a known more; and it
// had its part in choosing the shape. Of a curve whose points are not those of its fit
// (after a slope update) there is neither.
func (d Document) Untold() (held, left []ReadBack) {
	segments := d.Segments
	if len(segments) == 0 {
		dilution := 1.0
		if len(d.Points) > 0 {
			dilution = d.Points[0].Dilution
		}
		segments = []Segment{{dilution, d.Curve}}
	}
	for _, seg := range segments {
		var own []Point
		for _, p := range d.Points {
			if p.Dilution != seg.Dilution {
				continue
			}
			if p.Check {
				held = append(held, seg.back(p.Point))
			} else if p.Cell() <= seg.Top {
				own = append(own, p.Point)
			}
		}
		if reduce(own).count() != seg.Levels {
			continue
		}
		o := Options{Shape: seg.Shape, ThroughZero: seg.ThroughZero, Shared: d.Choices.Shared}
		if seg.Weights != BySpread {
			o.Weights = seg.Weights
		}
		eachLeftOut(own, o, 0, func(c Curve, without []Point) {
			for _, p := range without {
				if p.Check {
					left = append(left, c.back(p))
				}
			}
		})
	}
	return held, left
}

// back reads one point as a single signal.
func (c Curve) back(p Point) ReadBack {
	r := c.ReadOn(Sample{Signals: []float64{p.Signal}, Dilution: 1})
	seen := interval.Exact(r.Level)
	if math.IsNaN(r.Level) {
		seen = interval.Interval{Low: math.Inf(-1), High: c.Range.LevelLow}
		if r.Outside == Above || r.Open == Above {
			seen = interval.Interval{Low: c.Range.LevelHigh, High: math.Inf(1)}
		}
	}
	return ReadBack{p, seen}
}
