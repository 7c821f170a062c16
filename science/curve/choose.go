package curve

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/response"
)

// Attempt is one shape that was tried.
type Attempt struct {
	Shape     Shape
	LackOfFit float64 // p-value; NaN where nothing judges it
	AICc      float64 // information criterion, smaller is better
	LeftOut   float64 // root mean square error, as a concentration, of reading a level that was left out
	Sound     bool    // its coefficients mean something, and it does not turn back
}

// candidate is a shape with its fit.
type candidate struct {
	form *response.Shape
	solution
	Attempt
}

const (
	adequate = 0.05 // p-value of lack of fit below which a shape does not fit
	clearly  = 4    // AICc by which a less preferred shape must be better: "considerably less support" from 4 on (K. P. Burnham and D. R. Anderson 2002, 2.6)
)

// choose fits the shape that was asked for, or finds one: of the shapes that
// replicates do not contradict, the most preferred whose information criterion
//
//	AICc = N·ln(RSS/N) + 2k + 2k(k + 1)/(N − k − 1)
//
// is within 4 of the best, k counting S too. A bent shape must also read levels that
// were left out better than a straight line that is not contradicted.
func (pr problem) choose(o Options, v []float64) (candidate, []Attempt, note.Note, error) {
	if o.Shape != "" {
		f := response.Of(o.Shape)
		c, err := pr.try(f, v)
		if err != nil {
			return c, nil, note.Note{}, knownwater.Faults{knownwater.Fault{Found: "no %s curve fits these points", Want: "another shape, or auto"}.Of(o.Shape)}
		}
		return c, []Attempt{c.Attempt}, pr.whyAsked(c), nil
	}
	var all []candidate
	for _, f := range response.All {
		if !pr.worthTrying(f, o, all) {
			continue
		}
		if c, err := pr.try(f, v); err == nil {
			all = append(all, c)
		}
	}
	if len(all) == 0 {
		return candidate{}, nil, note.Note{}, knownwater.Faults{{Found: "no shape fits these points", Want: "signals that change with the level"}}
	}
	best, contradicted := pick(all)
	var tried []Attempt
	for _, c := range all {
		tried = append(tried, c.Attempt)
	}
	return best, tried, pr.why(best, all[0], contradicted), nil
}

// worthTrying says whether the levels carry a shape with one level to spare, and
// whether it can be the cause at all.
func (pr problem) worthTrying(f *response.Shape, o Options, before []candidate) bool {
	switch {
	case f.Name == Line:
		return true
	case pr.free(f) > pr.count()-1:
		return false
	case f.Light:
		return o.Light && pr.mean[pr.count()-1] > pr.mean[0]
	case f.Name == DeadZone:
		rejected := func(c candidate) bool { return c.LackOfFit < adequate }
		return len(before) > 0 && rejected(before[0]) && !pr.zero && pr.startsFlat() &&
			(pr.count() >= 5 || !slices.ContainsFunc(before, func(c candidate) bool { return !rejected(c) })) // four carry it where nothing else fits
	}
	return true
}

// startsFlat says whether the lowest levels rise by less than half of what the
// whole does.
func (pr problem) startsFlat() bool {
	last := pr.count() - 1
	first := (pr.mean[1] - pr.mean[0]) / (pr.c[1] - pr.c[0])
	return first/((pr.mean[last]-pr.mean[0])/(pr.c[last]-pr.c[0])) < 0.5
}

// beside is a dead zone that follows the knowns as well as the polynomial that was chosen, or nil: one that starts flat
// may be either, and between the lowest knowns the two read otherwise.
func (pr problem) beside(points []Point, o Options, above *Flat, chosen candidate) *Curve {
	if o.Shape != "" || chosen.Shape != Quadratic && chosen.Shape != Cubic || pr.zero || math.IsInf(chosen.AICc, 0) || pr.free(response.Of(DeadZone)) > pr.count()-1 {
		return nil
	}
	o.Shape, o.Sure = DeadZone, true
	d, err := fit(points, o, above)
	if err != nil || !d.scattered() {
		return nil
	}
	if as := d.Tried[0]; !as.Sound || as.LackOfFit < adequate || !(as.AICc <= chosen.AICc+clearly) {
		return nil
	}
	return &d
}

func (pr problem) try(f *response.Shape, v []float64) (candidate, error) {
	sol, err := pr.start(f, v)
	if err != nil {
		return candidate{}, err
	}
	c := candidate{form: f, solution: sol}
	c.Attempt = Attempt{Shape: f.Name, LackOfFit: pr.lackOfFit(f, sol, v), AICc: pr.aicc(f, sol), LeftOut: pr.leftOut(f, sol, v)}
	c.Sound = f.Sound(sol.coef, pr.top()) && rising(f, sol.coef, pr.c[0], pr.top())
	return c, nil
}

// start fits from the starts that the shape proposes until one arrives.
func (pr problem) start(f *response.Shape, v []float64) (solution, error) {
	if f.Linear {
		return pr.solve(f, v, nil)
	}
	first := problem{levels: pr.levels}
	q, err := first.solveExact(response.Of(Quadratic), v, nil)
	if err != nil { // two levels: a line for a quadratic
		if q, err = first.solveExact(response.Of(Line), v, nil); err != nil {
			return q, err
		}
		q.coef = append(q.coef, 0)
	}
	err = errNoFit
	for _, s := range f.Starts(q.coef, pr.c, pr.mean) {
		if pr.zero {
			s[0] = 0
		}
		var sol solution
		if sol, err = pr.solve(f, v, s); err == nil {
			return sol, nil
		}
	}
	return solution{}, err
}

func (pr problem) aicc(f *response.Shape, s solution) float64 {
	n, k := float64(pr.points), float64(pr.free(f)+1)
	if n-k-1 <= 0 {
		return math.Inf(1)
	}
	fit := n * math.Log(s.rss/n)
	if pr.known != nil {
		fit = s.miss
	}
	return fit + 2*k + 2*k*(k+1)/(n-k-1)
}

// leftOut predicts each inner level's mean without it: e = r/(1 − h), h its
// leverage, exact for shapes linear in their coefficients; divided by the slope
// it is an error of concentration. Levels at the ends are not left out: that
// would ask how well a curve extrapolates.
func (pr problem) leftOut(f *response.Shape, s solution, v []float64) float64 {
	if pr.known != nil {
		exact := pr
		exact.known = nil
		var err error
		if s, err = exact.solveExact(f, v, s.coef); err != nil {
			return math.NaN()
		}
	}
	if !(s.size > 0) || pr.count() < 4 {
		return math.NaN()
	}
	g := make([]float64, f.Params)
	sum, count := 0.0, 0
	for l := 1; l < pr.count()-1; l++ {
		f.Gradient(s.coef, pr.c[l], g)
		h := pr.n[l] / v[l] * square(s.noise, g) / (s.size * s.size)
		e := (pr.mean[l] - f.At(s.coef, pr.c[l])) / (1 - h) / f.Slope(s.coef, pr.c[l])
		sum += e * e
		count++
	}
	return math.Sqrt(sum / float64(count))
}

// rising says whether the curve keeps one direction from a to b.
func rising(f *response.Shape, coef []float64, a, b float64) bool {
	const steps = 24
	sign := 0.0
	for i := range steps + 1 {
		s := f.Slope(coef, a+(b-a)*float64(i)/steps)
		if math.IsNaN(s) || s == 0 || s*sign < 0 {
			return false
		}
		sign = s
	}
	return true
}

// pick chooses among fits; contradicted says that replicates speak against
// every one of them.
func pick(all []candidate) (best candidate, contradicted bool) {
	pool := filter(all, func(c candidate) bool { return c.Sound && !(c.LackOfFit < adequate) })
	if len(pool) == 0 {
		contradicted = true
		if pool = filter(all, func(c candidate) bool { return c.Sound }); len(pool) == 0 {
			pool = all
		}
	}
	least := math.Inf(1)
	for _, c := range pool {
		least = math.Min(least, c.AICc)
	}
	best = pool[0]
	for _, c := range pool {
		if c.AICc <= least+clearly {
			best = c
			break
		}
	}
	line := pool[0]
	if !contradicted && line.Shape == Line && best.Shape != Line && line.LeftOut <= best.LeftOut {
		best = line
	}
	return best, contradicted
}

func filter(all []candidate, keep func(candidate) bool) (out []candidate) {
	for _, c := range all {
		if keep(c) {
			out = append(out, c)
		}
	}
	return out
}

// why is what the choice rests on, as a code with the numbers that it turned on.
func (pr problem) why(best, line candidate, contradicted bool) note.Note {
	shape := string(best.Shape)
	switch {
	case contradicted && best.LackOfFit < adequate:
		return note.New("no-shape-fits").Name("shape", shape).Number("p", best.LackOfFit)
	case best.Shape == Line && pr.count() == 2:
		return note.New("line-by-two-levels")
	case best.Shape == Line && math.IsNaN(best.LackOfFit):
		return note.New("line-unjudged")
	case best.Shape == Line:
		return note.New("line-fits").Number("p", best.LackOfFit)
	case line.Shape == Line && line.LackOfFit < adequate:
		return beside(note.New("line-fails").Name("shape", shape).Number("line_p", line.LackOfFit).Number("p", best.LackOfFit), best, line)
	case line.Shape == Line:
		return beside(note.New("shape-better-than-line").Name("shape", shape).Number("lower", line.AICc-best.AICc), best, line)
	}
	return note.New("shape-best").Name("shape", shape)
}

// beside adds how well levels that were left out are read, where the shape reads them better.
func beside(n note.Note, best, line candidate) note.Note {
	if !(best.LeftOut < line.LeftOut) {
		return n
	}
	return n.Number("left_out", best.LeftOut, line.LeftOut)
}

func (pr problem) whyAsked(c candidate) note.Note {
	shape := string(c.Shape)
	switch {
	case c.LackOfFit < adequate:
		return note.New("shape-asked-fails").Name("shape", shape).Number("p", c.LackOfFit)
	case math.IsNaN(c.LackOfFit):
		return note.New("shape-asked-unjudged").Name("shape", shape)
	}
	return note.New("shape-asked").Name("shape", shape).Number("p", c.LackOfFit)
}
