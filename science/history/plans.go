package history

import "math"

// PlannedRatios are what checks are planned for: a third, a fifth and a tenth less.
var PlannedRatios = [...]float64{0.67, 0.8, 0.9}

// Delays are the numbers of checks within which a lot or a method that reads PlannedRatios of what it
// did rings in four of five cases; NaN where no limit is set.
type Delays [len(PlannedRatios)]float64

// Delays of checks by their charts as they stand.
func (c *Checks) Delays() (out Delays) {
	for i, ratio := range PlannedRatios {
		out[i] = c.Delay(ratio)
	}
	return out
}

// Plan is what testing a known every so many weeks would show when.
type Plan struct {
	Weeks, Vials int
	Shows        Delays  // in weeks, rounded up to whole times of testing
	Years        float64 // between two false alarms
	AYear        int     // vials
	Usual        bool    // as is common (common practice, no source)
}

// Plans are those of testing a known every one, two and four weeks, from what its checks so far
// say of delays; nil where no limit is set. Vials that are tested on one evening share whatever
// that evening does to all of them, so two count as two only where the record holds little of that.
func (c *Checks) Plans(d Delays) (out []Plan) {
	if c.Chart.NoLimits || math.IsNaN(d[0]) {
		return nil
	}
	for _, p := range []Plan{{Weeks: 1, Vials: 1}, {Weeks: 2, Vials: 1, Usual: true}, {Weeks: 2, Vials: 2}, {Weeks: 4, Vials: 1}, {Weeks: 4, Vials: 3}} {
		p.AYear = 52 / p.Weeks * p.Vials
		for i, checks := range d {
			p.Shows[i] = math.Ceil(checks/float64(p.Vials)) * float64(p.Weeks)
		}
		p.Years = c.Chart.RunLength / float64(p.Vials) * float64(p.Weeks) / 52
		out = append(out, p)
	}
	return out
}
