package curve

import (
	"fmt"
	"math"

	"knownwater/science/num"
)

func (c *Curve) say(format string, a ...any) { c.Notes = append(c.Notes, fmt.Sprintf(format, a...)) }

// note collects the doubts about a curve.
func (c *Curve) note(pr problem, points []Point) {
	c.noteFit(pr)
	c.noteBlank()
	c.noteSpread(pr)
	switch {
	case c.Range.Why == "":
	case c.Range.Flat != nil && c.Top <= c.Range.Flat.From:
		c.say("%s: the range ends at %.4g; the knowns above %.4g are not fitted, and nothing is read off above the range", c.Range.Why, c.Range.LevelHigh, c.Top)
	default:
		c.say("%s: the range ends at %.4g, and nothing above is read off the curve", c.Range.Why, c.Range.LevelHigh)
	}
	for _, a := range standApart(points) {
		c.say("row %d: the signal %.4g of level %.4g disagrees with the others there, %.4g on average: look for a slip; it is fitted all the same", a.Row, a.Signal, a.Level, a.others)
	}
	c.noteCopies(points)
	c.noteSessions(points)
	c.say("R² says how far the signals spread along the curve, not that the curve is right; it proves nothing")
}

func (c *Curve) noteFit(pr problem) {
	switch {
	case c.LackOfFit < adequate:
		c.say("the curve does not fit: its levels lie further from it than replicates from each other (lack of fit %s), so it is wrong by more than its intervals say", shortP(c.LackOfFit))
	case pr.replicates() == 0:
		c.say("no level was measured twice: nothing judges how well the shape fits; residuals stand in for the scatter")
	case math.IsNaN(c.LackOfFit) && pr.free(c.form) >= pr.count():
		c.say("as many coefficients as levels: the curve goes through every mean, and nothing judges its shape")
	}
	if c.ThroughZero {
		c.say("the curve was forced through zero as asked: a blank that is not zero then makes every low level wrong")
		if pr.c[0] == 0 {
			if w := c.heaviest(); w.Size > 0 {
				t := pr.mean[0] / math.Sqrt(pr.scatter(w, 0)/pr.n[0])
				if p := 2 * num.TCDF(-math.Abs(t), w.DF); p < adequate {
					c.say("the blanks speak against a forced zero: their mean is %.4g (%s)", pr.mean[0], shortP(p))
				}
			}
		}
	}
}

// fewBlanks is the number of blanks below which limits stand on the curve's
// scatter more than on the blanks'.
const fewBlanks = 6

func (c *Curve) noteBlank() {
	switch {
	case c.Blanks == 0:
		c.say("no blank among the knowns: the limits rest on the curve going on below %.4g as it goes above", c.Bottom)
	case c.Blanks < fewBlanks:
		c.say("%d blanks: the limits rest on the scatter of the other levels too; six blanks or more would show that at zero itself", c.Blanks)
	}
}

func (c *Curve) noteSpread(pr problem) {
	switch {
	case !(c.DF > 0):
		c.say("no point is left over to show the scatter: no standard errors, no limits, no intervals")
	case !c.scattered():
		c.say("every point lies on the curve to the last digit: the scatter is not known, so no limits and no intervals; give the signals with more digits")
	case pr.replicates() > 0 && pr.pure(ones(pr.count())) == 0:
		c.say("all replicates agree to the last digit: their scatter is smaller than a digit, which is not none; lack of fit cannot be judged and the scatter is that about the curve")
	case c.DF < 4:
		c.say("the scatter is known from %.3g degrees of freedom only: intervals are wide because of that", c.DF)
	}
	if c.scattered() && c.spreadUnknown() {
		c.say("no detection limit: %d degrees of freedom inside levels do not tell how the scatter grows, so not either what is missed; %d are wanted (or --weights none, if you know that it does not grow)", pr.replicates(), wantedForDetection)
	}
	if c.Weights == Equal && pr.replicates() < leastReplicates && pr.replicates() > 0 {
		c.say("too few replicates to see whether the scatter grows with the level: taken as the same everywhere")
	}
}

// noteCopies points at rows without a replicate's name that are alike.
func (c *Curve) noteCopies(points []Point) {
	type what struct {
		level, signal float64
		session       string
		check         bool
	}
	seen := map[what]int{}
	pairs, rows := 0, ""
	for _, p := range points {
		key := what{p.Level, p.Signal, p.Session, p.Check}
		if p.Replicate == "" {
			if old, ok := seen[key]; ok {
				if pairs++; pairs <= 3 {
					rows += fmt.Sprintf(", %d and %d", old, p.Row)
				}
			}
		}
		seen[key] = p.Row
	}
	if pairs > 0 {
		c.say("rows%s%s hold the same level and signal: counted as separate readings; take copies out", rows[1:], more(pairs-3))
	}
}

func more(n int) string {
	if n > 0 {
		return fmt.Sprintf(" and %d more pairs", n)
	}
	return ""
}

// noteSessions compares sessions by their residuals.
func (c *Curve) noteSessions(points []Point) {
	groups := map[string][]float64{}
	var order []string
	for _, p := range points {
		if p.Check {
			continue
		}
		if groups[p.Session] == nil {
			order = append(order, p.Session)
		}
		r := (p.Signal - c.At(p.Cell())) / math.Sqrt(c.heaviest().Variance.at(p.Cell()))
		groups[p.Session] = append(groups[p.Session], r)
	}
	if len(order) < 2 {
		return
	}
	var all [][]float64
	for _, s := range order {
		all = append(all, groups[s])
	}
	a := num.NewOneWay(all...)
	if p := num.FSurvival(a.F, float64(a.BetweenDF), float64(a.WithinDF)); p < 0.01 {
		c.say("sessions differ (%s): a reading of another session is less sure than the intervals say; run a known in each session", shortP(p))
	}
}
