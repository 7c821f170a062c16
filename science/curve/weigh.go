package curve

import "math"

// Weighting is the curve under one way in which signals may scatter.
type Weighting struct {
	Mass     float64 // its probability
	Steady   float64 // … to whoever expects the same scatter everywhere
	Growing  float64 // … to whoever expects it to grow with the signal
	Variance variance
	Coef     []float64
	Noise    [][]float64 // covariance of the coefficients from the scatter of signals
	Known    [][]float64 // … and from the knowns' errors; nil if they are exact
	Size     float64     // S, the standard deviation where v = 1
	DF       float64
}

// leastReplicates are the degrees of freedom inside levels from which on they tell how signals scatter; below that, the
// residuals of the fit do.
const leastReplicates = 3

// once says whether knowns above the blank were measured once, or hardly oftener: what their signals scatter by, and which shape they follow, is
// then told by what is left over of the fit.
func (c Curve) once() bool { return c.Points-c.Levels-max(0, c.Blanks-1) < leastReplicates }

// firstVariances are the relative variances under which shapes are compared: alike where no level was repeated.
func (pr *problem) firstVariances(o Options) ([]float64, Weights) {
	weights := o.Weights
	if weights == "" {
		weights = BySpread
		if pr.replicates() > 0 && pr.pure(ones(pr.count())) == 0 {
			weights = Equal
		}
	}
	if weights != BySpread {
		return variance{Weights: weights, Floor: pr.floor()}.of(pr.c), weights
	}
	net, coef, err := pr.net()
	switch {
	case err != nil:
		return ones(pr.count()), Equal
	case pr.replicates() == 0:
		return ones(pr.count()), BySpread
	}
	vs := spreads(net, coef, pr.top())
	mass := fromReplicates(pr.levels, vs)
	for k, p := range mass {
		if max(p.steady, p.growing) >= negligible {
			pr.ways = append(pr.ways, way{vs[k].of(pr.c), p})
		}
	}
	return expected(pr.levels, vs, mass), BySpread
}

// floor is the lowest level above 0.
func (lv levels) floor() float64 {
	for _, c := range lv.c {
		if c > 0 {
			return c
		}
	}
	return 1
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// weigh fits the chosen shape under every weighting that is possible, and sums
// the curve up over them.
func (c *Curve) weigh(pr problem, chosen candidate, v []float64) error {
	if c.Weights != BySpread {
		w := Weighting{Mass: 1, Steady: 1, Growing: 1, Variance: variance{Weights: c.Weights}}
		if c.Weights != Equal {
			w.Variance.Floor = pr.floor()
		}
		w.take(chosen.solution)
		c.Weightings = []Weighting{w}
	} else if err := c.weighSpreads(pr, chosen); err != nil {
		return err
	}
	c.sumUp()
	return nil
}

func (c *Curve) weighSpreads(pr problem, chosen candidate) error {
	var logs []float64
	var at []int
	var last error
	for k, s := range spreads(c.form, chosen.coef, pr.top()) {
		sol, err := pr.solve(c.form, s.of(pr.c), chosen.coef)
		if err != nil || math.IsNaN(sol.logML) {
			last = err
			continue
		}
		w := Weighting{Variance: s}
		w.take(sol)
		c.Weightings = append(c.Weightings, w)
		logs, at = append(logs, sol.logML), append(at, k)
	}
	if len(logs) == 0 {
		return last
	}
	growing := odds.growing
	if c.once() {
		growing = odds.once
	}
	for i, p := range weighed(logs, at, growing) {
		w := &c.Weightings[i]
		w.Mass, w.Steady, w.Growing = p.even, p.steady, p.growing
	}
	if pr.known != nil && pr.replicates() == 0 {
		c.asIfExact(pr)
	}
	c.drop()
	return nil
}

// asIfExact splits every weighting in two where knowns have errors that may be all of what is left over, or none of it, and no level was measured
// twice: half of it has all of it for scatter of signals, as if the knowns had none; their errors count all the same.
func (c *Curve) asIfExact(pr problem) {
	pr.known = nil
	for i := range c.Weightings {
		w := &c.Weightings[i]
		exact, err := pr.solveExact(c.form, w.Variance.of(pr.c), w.Coef)
		if err != nil || !(exact.size > w.Size) {
			continue
		}
		w.Mass, w.Steady, w.Growing = w.Mass/2, w.Steady/2, w.Growing/2
		twin := *w
		twin.Size, twin.Noise = exact.size, times(w.Noise, exact.size*exact.size/(w.Size*w.Size))
		c.Weightings = append(c.Weightings, twin)
	}
}

// negligible is a probability below which a weighting is left out, if it is so to
// everybody.
const negligible = 2e-3

func (c *Curve) drop() {
	var kept []Weighting
	var sum chances
	for _, w := range c.Weightings {
		if max(w.Mass, w.Steady, w.Growing) >= negligible {
			kept = append(kept, w)
			sum.even, sum.steady, sum.growing = sum.even+w.Mass, sum.steady+w.Steady, sum.growing+w.Growing
		}
	}
	for i := range kept {
		w := &kept[i]
		w.Mass, w.Steady, w.Growing = w.Mass/sum.even, w.Steady/sum.steady, w.Growing/sum.growing
	}
	c.Weightings = kept
}

func (w *Weighting) take(s solution) {
	w.Coef, w.Noise, w.Known, w.Size, w.DF = s.coef, s.noise, s.known, s.size, s.df
}

// heaviest is the most probable weighting.
func (c Curve) heaviest() Weighting {
	best := c.Weightings[0]
	for _, w := range c.Weightings {
		if w.Mass > best.Mass {
			best = w
		}
	}
	return best
}
