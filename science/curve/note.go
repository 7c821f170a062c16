package curve

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/num"
)

func (c *Curve) say(n note.Note) { c.Notes = append(c.Notes, n) }

// note collects the doubts about a curve.
func (c *Curve) note(pr problem, points []Point) {
	c.noteFit(pr)
	c.noteBlank()
	c.noteSpread(pr)
	switch {
	case c.Range.Why == nil:
	case c.Range.Flat != nil && c.Top <= c.Range.Flat.From:
		c.say(note.New("range-ends-unfitted").Number("end", c.Range.LevelHigh).Number("fitted", c.Top).Since(c.Range.Why...))
	default:
		c.say(note.New("range-ends").Number("end", c.Range.LevelHigh).Since(c.Range.Why...))
	}
	for _, a := range standApart(points) {
		c.say(note.New("point-apart").Number("row", float64(a.Row)).Number("signal", a.Signal).Number("level", a.Level).Number("others", a.others))
	}
	c.noteCopies(points)
	c.noteSessions(points)
	c.say(note.New("r2-proves-nothing"))
}

func (c *Curve) noteFit(pr problem) {
	switch {
	case c.LackOfFit < adequate:
		c.say(note.New("curve-does-not-fit").Number("p", c.LackOfFit))
	case pr.replicates() == 0:
		c.say(note.New("no-level-twice"))
	case math.IsNaN(c.LackOfFit) && pr.free(c.form) >= pr.count():
		c.say(note.New("through-every-mean"))
	}
	if c.ThroughZero {
		c.say(note.New("forced-through-zero"))
		if pr.c[0] == 0 {
			if w := c.heaviest(); w.Size > 0 {
				t := pr.mean[0] / math.Sqrt(pr.scatter(w, 0)/pr.n[0])
				if p := 2 * num.TCDF(-math.Abs(t), w.DF); p < adequate {
					c.say(note.New("blanks-against-zero").Number("mean", pr.mean[0]).Number("p", p))
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
		c.say(note.New("no-blank-among-knowns").Number("level", c.Bottom))
	case c.Blanks < fewBlanks:
		c.say(note.New("few-blanks").Number("blanks", float64(c.Blanks)))
	}
}

func (c *Curve) noteSpread(pr problem) {
	switch {
	case !(c.DF > 0):
		c.say(note.New("no-point-left-over"))
	case !c.scattered():
		c.say(note.New("points-on-the-curve"))
	case pr.replicates() > 0 && pr.pure(ones(pr.count())) == 0:
		c.say(note.New("replicates-agree"))
	case c.DF < 4:
		c.say(note.New("scatter-of-few").Number("df", c.DF))
	}
	if c.scattered() && c.spreadUnknown() {
		c.say(note.New("no-detection-of-growth").Number("df", float64(pr.replicates())).Number("wanted", wantedForDetection))
	}
	if c.Weights == Equal && pr.replicates() < leastReplicates && pr.replicates() > 0 {
		c.say(note.New("scatter-taken-as-even"))
	}
}

// pairsNamed is how many pairs of rows that are alike are named.
const pairsNamed = 3

// noteCopies points at rows without a replicate's name that are alike.
func (c *Curve) noteCopies(points []Point) {
	type what struct {
		level, signal float64
		session       string
		check         bool
	}
	seen := map[what]int{}
	pairs := 0
	var rows []float64 // of the first pairs
	for _, p := range points {
		key := what{p.Level, p.Signal, p.Session, p.Check}
		if p.Replicate == "" {
			if old, ok := seen[key]; ok {
				if pairs++; pairs <= pairsNamed {
					rows = append(rows, float64(old), float64(p.Row))
				}
			}
		}
		seen[key] = p.Row
	}
	if pairs > 0 {
		c.say(note.New("rows-alike").Number("row", rows...).Number("pairs", float64(pairs)))
	}
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
		c.say(note.New("sessions-differ").Number("p", p))
	}
}
