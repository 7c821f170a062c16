package curve

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/response"
)

// Options are what a person may ask of a fit.
type Options struct {
	Shape       Shape   // "": the smallest adequate one
	Weights     Weights // "": from the spread that replicates show
	ThroughZero bool
	Shared      float64 // relative standard uncertainty that all knowns share: their stock
	Light       bool    // the signals are absorbances, which stray light may bend
	Sure        bool    // fit although the points look like a slip
}

// Curve is a fitted relation from concentration to signal and back. It does not
// change once it is made.
type Curve struct {
	Shape       Shape
	ThroughZero bool
	Why         note.Note // what the choice of shape rests on
	Tried       []Attempt

	Coef []float64
	Cov  [][]float64 // NaN where nothing tells of the scatter
	// ResidualSD is the standard deviation of a signal of weight 1: of every signal
	// (none), at level 1 (1/x, 1/x²), near nothing (spread).
	ResidualSD, DF float64
	Weights        Weights
	Sigma0, Kappa  float64 // of the spread function; NaN for fixed weights
	LackOfFit      float64 // p-value of the misfit against replicates; NaN without
	R2             float64

	Range  Range
	Bottom float64 // lowest and highest concentration fitted, in the cell
	Top    float64
	Blanks int // signals at level 0
	Levels int
	Points int

	Weightings []Weighting
	Notes      []note.Note
	Beside     *Curve // a dead zone that these knowns do not tell from the polynomial: results cover both

	form   *response.Shape
	others []Curve // of points that were hardly repeated: the same shape, were they to scatter otherwise
}

// Fit fits a curve to the points that are not checks. Where no shape was asked
// for, none fits, and the highest knowns are saturated, those that cannot be told apart are left out
// (the lowest of them too, if it must be), as nothing is read off there: Top is
// then below them. The error holds knownwater.Faults.
func Fit(points []Point, o Options) (Curve, error) {
	c, err := fit(points, o, nil)
	flat := c.Range.Flat
	if err != nil || o.Shape != "" || flat == nil {
		return c, err
	}
	levels := reduce(points).c
	first := slices.Index(levels, flat.From)
	for k := first; k >= max(2, first-1) && c.LackOfFit < adequate; k-- {
		below := slices.DeleteFunc(slices.Clone(points), func(p Point) bool { return !p.Check && p.Cell() > levels[k] })
		again, err := fit(below, o, flat)
		if err != nil || again.LackOfFit < c.LackOfFit {
			break
		}
		c = again
	}
	return c, nil
}

// fit is one fit; above are higher knowns that were left out before.
func fit(points []Point, o Options, above *Flat) (Curve, error) {
	if faults := Faults(points, o); faults != nil {
		return Curve{}, faults
	}
	pr := problem{levels: reduce(points), zero: o.ThroughZero}
	if !pr.exact(o.Shared) {
		pr.known = pr.levels.known(o.Shared)
	}
	if faults := pr.tooFew(o); faults != nil {
		return Curve{}, faults
	}
	v, weights := pr.firstVariances(o)
	chosen, tried, why, err := pr.choose(o, v)
	if err != nil {
		return Curve{}, err
	}
	if full := math.Abs(chosen.form.At(chosen.coef, pr.top()) - chosen.form.At(chosen.coef, pr.c[0])); !(chosen.size > leastScatter*full) {
		weights = cmp.Or(o.Weights, Equal) // no point is left over, or all lie on the curve
	}
	c := Curve{
		Shape: chosen.form.Name, form: chosen.form, ThroughZero: o.ThroughZero, Why: why, Tried: tried, Weights: weights,
		Bottom: pr.c[0], Top: pr.top(), Levels: pr.count(), Points: pr.points, Range: Range{Flat: above},
	}
	if pr.c[0] == 0 {
		c.Blanks = int(pr.n[0])
	}
	if err := c.weigh(pr, chosen, v); err != nil {
		return Curve{}, err
	}
	c.LackOfFit = chosen.LackOfFit
	c.describe(pr, points)
	c.bound(pr)
	c.note(pr, points)
	if o.Weights == "" && pr.replicates() < leastReplicates {
		c.others = otherwise(points, o, c.Shape, weights, pr.known != nil)
	}
	if c.Beside = pr.beside(points, o, above, chosen); c.Beside != nil {
		c.others = append(c.others, *c.Beside)
		c.say(note.New("dead-zone-as-likely").Number("from", c.Bottom).Number("to", pr.c[1]))
	}
	return c, nil
}

// otherwise is a shape through points that were hardly repeated, were they to scatter otherwise: where they are taken to scatter alike, with a
// variance that grows with the level, which is half way to scatter in proportion, and, where the knowns have errors which
// could be all of what is left over, as if they had none. All the way to proportion would hide errors of three times the
// scatter at the top.
func otherwise(points []Point, o Options, s Shape, weights Weights, inexact bool) (out []Curve) {
	o.Shape, o.Sure = s, true
	add := func(points []Point, o Options) {
		if c, err := fit(points, o, nil); err == nil && c.scattered() {
			out = append(out, c)
		}
	}
	if weights == Equal {
		o.Weights = OverX
		add(points, o)
		o.Weights = Equal
	}
	if inexact {
		points = slices.Clone(points)
		for i := range points {
			points[i].ULevel, points[i].UBackground = 0, 0
		}
		o.Shared = 0
		add(points, o)
	}
	return out
}

// net is a first curve, to tell how large the signal is at each level.
func (pr problem) net() (*response.Shape, []float64, error) {
	f := response.Of(Line)
	if pr.count() >= 4 {
		f = response.Of(Quadratic)
	}
	pr.known = nil
	s, err := pr.solve(f, ones(pr.count()), nil)
	return f, s.coef, err
}

// sumUp averages over the weightings: coefficients, and their covariance with
// what the weightings differ by.
func (c *Curve) sumUp() {
	p := c.form.Params
	c.Coef = make([]float64, p)
	variance0, kappa2 := 0.0, 0.0
	for _, w := range c.Weightings {
		for j := range c.Coef {
			c.Coef[j] += w.Mass * w.Coef[j]
		}
		c.DF += w.Mass * w.DF
		variance0 += w.Mass * w.Size * w.Size
		if w.Variance.Full > 0 {
			k := w.Size * w.Variance.Ratio / w.Variance.Full
			kappa2 += w.Mass * k * k
		}
	}
	c.Cov = c.covariance(func(w Weighting) float64 { return w.Mass })
	c.ResidualSD = math.Sqrt(variance0)
	c.Sigma0, c.Kappa = math.NaN(), math.NaN()
	if c.Weights == BySpread {
		c.Sigma0, c.Kappa = c.ResidualSD, math.Sqrt(kappa2)
	}
}

// covariance of the coefficients over the weightings, by the probability that somebody gives them.
func (c Curve) covariance(mass func(Weighting) float64) [][]float64 {
	p := c.form.Params
	mean, cov := make([]float64, p), make([][]float64, p)
	for _, w := range c.Weightings {
		for j := range mean {
			mean[j] += mass(w) * w.Coef[j]
		}
	}
	for i := range cov {
		cov[i] = make([]float64, p)
		for _, w := range c.Weightings {
			all := plus(w.Noise, w.Known)
			for j := range cov[i] {
				cov[i][j] += mass(w) * (all[i][j] + (w.Coef[i]-mean[i])*(w.Coef[j]-mean[j]))
			}
		}
	}
	return cov
}

// leastSure is the standard uncertainty of Σ g·coefficient, to whom it is larger: whoever expects the same scatter
// everywhere, or whoever expects it to grow (odds).
func (c Curve) leastSure(g []float64) float64 {
	most := square(c.Cov, g)
	for _, mass := range []func(Weighting) float64{func(w Weighting) float64 { return w.Steady }, func(w Weighting) float64 { return w.Growing }} {
		if len(c.Weightings) > 1 {
			most = math.Max(most, square(c.covariance(mass), g))
		}
	}
	return math.Sqrt(most)
}

// lackOfFit is the p-value of F = [Σ w·n·(mean − fitted)²/(L − p)] / [Σ w·(y − mean)²/(N − L)],
// w = 1/v (IUPAC, Pure Appl. Chem. 70 (1998) 993–1014; with the knowns' errors the
// upper part has their covariance). NaN without replicates, or where they agree to
// the last digit. Where replicates tell the weights it is the mean over all ways in which signals may scatter, the larger of what the
// two beliefs make of it (odds): repeated blanks alone do not say how much knowns scatter, nor repeated knowns how much blanks do.
func (pr problem) lackOfFit(f *response.Shape, s solution, v []float64) float64 {
	p := pr.misfit(f, s, v)
	if math.IsNaN(p) {
		return p
	}
	var sum, all chances
	for _, w := range pr.ways {
		if under, err := pr.under(f, s, w.v); err == nil {
			p := pr.misfit(f, under, w.v)
			sum.steady, sum.growing = sum.steady+w.steady*p, sum.growing+w.growing*p
			all.steady, all.growing = all.steady+w.steady, all.growing+w.growing
		}
	}
	if all.steady > 0 && all.growing > 0 {
		p = max(sum.steady/all.steady, sum.growing/all.growing)
	}
	return p
}

// under is a fit under other variances: by one step of least squares from the first, as the two lie close together.
func (pr problem) under(f *response.Shape, s solution, v []float64) (solution, error) {
	if pr.known != nil {
		return pr.solve(f, v, s.coef)
	}
	first := f.Params - pr.free(f)
	x, off, w := make([][]float64, pr.count()), make([]float64, pr.count()), make([]float64, pr.count())
	for l, c := range pr.c {
		g := make([]float64, f.Params)
		f.Gradient(s.coef, c, g)
		x[l], off[l], w[l] = g[first:], pr.mean[l]-f.At(s.coef, c), pr.n[l]/v[l]
	}
	step, err := num.LeastSquares(x, off, w)
	return solution{miss: step.ANOVA.ResidualSS}, err
}

// misfit is that under one set of variances.
func (pr problem) misfit(f *response.Shape, s solution, v []float64) float64 {
	over, under := float64(pr.count()-pr.free(f)), float64(pr.replicates())
	pure := pr.pure(v)
	if over <= 0 || under <= 0 || pure == 0 {
		return math.NaN()
	}
	miss := s.miss
	if pr.known == nil {
		miss /= pure / under
	}
	return num.FSurvival(miss/over, over, under)
}

// leastScatter is that of points that lie on a curve to the last digit, as a share of its signals.
const leastScatter = 1e-13

// scattered says whether the curve knows how signals scatter: points that lie on it to
// the last digit do not tell.
func (c Curve) scattered() bool {
	return c.DF > 0 && c.ResidualSD > leastScatter*math.Abs(c.At(c.Top)-c.At(c.Bottom))
}

// SE is the standard error of coefficient j.
func (c Curve) SE(j int) float64 { return math.Sqrt(c.Cov[j][j]) }

// At is the signal of the curve at concentration x.
func (c Curve) At(x float64) float64 { return c.form.At(c.Coef, x) }

// Slope is how steeply the signal rises there.
func (c Curve) Slope(x float64) float64 { return c.form.Slope(c.Coef, x) }

// Form is the curve's shape as a function of its coefficients.
func (c Curve) Form() *response.Shape { return c.form }

// Relative is the variance of one signal at x beside that where it is 1.
func (w Weighting) Relative(x float64) float64 { return w.Variance.at(x) }

// Uncertainty is u of one reading of level x.
func (c Curve) Uncertainty(x float64) float64 {
	u, _ := query{Curve: c, y: c.At(x), m: 1}.uncertainty(x)
	return u
}

// Contradicted says whether replicates speak against the curve's shape.
func (c Curve) Contradicted() bool { return c.LackOfFit < adequate }

// Formula is the curve's equation in its coefficients.
func (c Curve) Formula() string { return c.form.Formula }

// describe fills in R² over the single points, weighted as the curve is.
func (c *Curve) describe(pr problem, points []Point) {
	var w, wy num.Sum
	best := c.heaviest()
	for _, p := range points {
		if !p.Check {
			weight := 1 / best.Variance.at(p.Cell())
			w.Add(weight)
			wy.AddProduct(weight, p.Signal)
		}
	}
	mean := wy.Value() / w.Value()
	if c.ThroughZero {
		mean = 0
	}
	var res, tot num.Sum
	for _, p := range points {
		if p.Check {
			continue
		}
		weight := 1 / best.Variance.at(p.Cell())
		r, d := p.Signal-c.At(p.Cell()), p.Signal-mean
		res.Add(weight * r * r)
		tot.Add(weight * d * d)
	}
	c.R2 = 1 - res.Value()/tot.Value()
}
