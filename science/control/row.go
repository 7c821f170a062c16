package control

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Check is a known that was tested: what was seen of it, and how a reading of it is
// distributed where nothing has moved, in each draw of the record. The draws of all checks
// of a row are the same draws.
type Check struct {
	Seen  interval.Interval
	Draws []Normal
}

// Row is a row of checks of one method, lot and known, in the order in which they were
// done, and how it is to be watched.
type Row struct {
	Checks []Check
	// Tiles are what the method can show where those are steps (a chart, drops), rising;
	// nil: numbers.
	Tiles []interval.Interval
	// Between is how many checks there shall be between two false alarms; 0: DefaultBetween.
	Between float64
	// New says that the checks are of a lot that the record did not try, from its first use on.
	New bool
	// Shift is what the sums are aimed at, in standard deviations of one check, where the
	// record is known well (see Limits.Shift); 0: DefaultShift.
	Shift float64
}

// Where nobody says otherwise.
const (
	DefaultBetween = 100 // with one check every other week a false alarm in four years
	DefaultShift   = 1.5
)

func (r Row) between() float64 {
	if r.Between > 0 {
		return r.Between
	}
	return DefaultBetween
}

func (r Row) shift() float64 {
	if r.Shift > 0 {
		return r.Shift
	}
	return DefaultShift
}

// unit is where a check lies and how wide it is where nothing has moved: the mean of the
// draws' means, and the root of the mean of their squared spreads. What the draws disagree
// about is not in it: it is shared by all checks, so that it is a shift and no scatter.
func (c Check) unit() Normal {
	var mean, square num.Sum
	for _, d := range c.Draws {
		mean.Add(d.Mean)
		square.Add(d.SD * d.SD)
	}
	n := float64(len(c.Draws))
	return Normal{mean.Value() / n, math.Sqrt(square.Value() / n)}
}

// in is an interval or a distribution on the scale of a unit.
func (u Normal) in(i interval.Interval) interval.Interval {
	return interval.Interval{Low: (i.Low - u.Mean) / u.SD, High: (i.High - u.Mean) / u.SD}
}

func (u Normal) of(n Normal) Normal { return Normal{(n.Mean - u.Mean) / u.SD, n.SD / u.SD} }

// StepsUpTo are steps of what a display shows up to a reading, above which nothing is told apart: quarters of the scatter of one
// check, the lowest open from six scatters low.
func (r Row) StepsUpTo(from float64) (out []interval.Interval) {
	u := r.Checks[0].unit()
	low := math.Min(u.Mean, from) - 6*u.SD
	n := math.Ceil((from - low) / (u.SD / 4))
	out = append(out, interval.Below(low))
	for k := range int(n) {
		out = append(out, interval.Interval{Low: out[k].High, High: low + (from-low)*float64(k+1)/n})
	}
	out[len(out)-1].High = from
	return append(out, interval.Above(from))
}

// model is one way in which checks of a row are distributed: those by one reader.
type model struct {
	weight float64
	unit   Normal              // where a check lies and how wide it is
	all    []Normal            // draws on the unit's scale
	draws  []Normal            // these, thinned along their means
	tiles  []interval.Interval // likewise
}

// mostDraws are taken to work out run lengths, evenly along the draws' means: what moves a
// run length is above all how far off the record may be.
const mostDraws = 9

// models are the different distributions among the checks.
func (r Row) models() (out []model) {
	var seen []Check
	for _, c := range r.Checks {
		i := slices.IndexFunc(seen, func(s Check) bool { return slices.Equal(s.Draws, c.Draws) })
		if i >= 0 {
			out[i].weight++
			continue
		}
		u := c.unit()
		m := model{weight: 1, unit: u}
		for _, d := range c.Draws {
			m.all = append(m.all, u.of(d))
		}
		for _, i := range byMean(m.all) {
			m.draws = append(m.draws, m.all[i])
		}
		m.draws = thinned(m.draws, mostDraws)
		for _, t := range r.Tiles {
			m.tiles = append(m.tiles, u.in(t))
		}
		seen, out = append(seen, c), append(out, m)
	}
	for i := range out {
		out[i].weight /= float64(len(r.Checks))
	}
	return out
}

func thinned(draws []Normal, most int) []Normal {
	n := len(draws)
	if n <= most {
		return draws
	}
	out := make([]Normal, most)
	for i := range out {
		out[i] = draws[(2*i+1)*n/(2*most)]
	}
	return out
}

// chance of an interval under a distribution; a density where it is one value.
func (n Normal) chance(i interval.Interval) float64 {
	if i.Low == i.High {
		return n.density(i.Low)
	}
	return math.Exp(num.LogPhiDiff((i.Low-n.Mean)/n.SD, (i.High-n.Mean)/n.SD))
}

// logChance is its logarithm, finite wherever a reading can be.
func (n Normal) logChance(i interval.Interval) float64 {
	if i.Low == i.High {
		return num.LogNormalPDF((i.Low-n.Mean)/n.SD) - math.Log(n.SD)
	}
	return num.LogPhiDiff((i.Low-n.Mean)/n.SD, (i.High-n.Mean)/n.SD)
}

// score is what an interval adds to the sum aimed at a shift (downwards: a negative one):
// the logarithm of its chance where the method has moved so far over that where it has not.
// Of one exact value z it is shift·z − shift²/2.
func score(i interval.Interval, shift float64) float64 {
	return Normal{shift, 1}.logChance(i) - Standard.logChance(i)
}

// value is the one number for what was seen of a display: its middle, or the end where it
// is open.
func value(i interval.Interval) float64 {
	switch {
	case i.OpenBelow():
		return i.High
	case i.OpenAbove():
		return i.Low
	}
	return i.Mid()
}
