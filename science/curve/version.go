package curve

import (
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/response"
)

// Shift is what a new curve reads where the old one read Level.
type Shift struct {
	Level, New, Low, High float64 // Low and High: 95 % of New − Level
	Permitted             float64 // by the need; 0 without one
}

// Comparison holds a new curve against an old one.
type Comparison struct {
	From, To float64 // the range that both have, of a need what lies in it
	Part     bool    // the need reaches beyond the range that both have
	Shifts   []Shift
	// Worst is where they differ most, with the band's limits, as it is the largest of all that is looked at. Its New is not a
	// number where the new curve gives no level.
	Worst   Shift
	Verdict string // SameForNeed, Different, Undecided, or Differs/NotSeen where no need is given
}

// The verdicts on two curves.
const (
	SameForNeed = "same for the need"
	Different   = "different"
	NotSeen     = "no difference seen"
)

// Compare holds a document's curve against the one in use. Few points choose now the one shape and now the other, and curves from one truth then
// differ by what the shapes do: limits hold for all shapes that the points of either do not tell apart (Alike).
func (d Document) Compare(now Document, need *knownwater.Need) Comparison {
	return compare(d.Alike(), now.Alike(), need)
}

// compare reads the old curve's signals through the new one, the first of each, with the limits of all pairs, over the range that
// both have, of a need over the part that lies in it. The interval of each shift is that
// of both curves' own uncertainty; what single readings scatter is no matter of the curves.
//
// That they are different is said where a shift leaves 0, or what is permitted, out of the
// band that holds at all places together, which is wider than each place's interval by
// √(p·F(0.95; p, df))/t, p the number of a curve's parameters (Scheffé's method as Working
// and Hotelling's band has it: J. Amer. Stat. Assoc. 24 Suppl. (1929) 73–85, from memory).
// Same for the need holds at every place, each at 95 %, and never of a part of the need.
func compare(olds, nows []Curve, need *knownwater.Need) Comparison {
	old, now := olds[0], nows[0]
	k := Comparison{From: math.Max(old.Range.LevelLow, now.Range.LevelLow), To: math.Min(old.Range.LevelHigh, now.Range.LevelHigh)}
	if need != nil && need.High > need.Low {
		k.Part = k.From > need.Low || need.High > k.To
		k.From, k.To = math.Max(k.From, need.Low), math.Min(k.To, need.High)
	}
	if k.From >= k.To {
		k.Verdict = Undecided
		return k
	}
	seen, within, beyond := false, true, false
	k.Worst = Shift{New: math.NaN()}
	const steps = 12
	for i := range steps + 1 {
		s, low, high := shiftOfAll(olds, nows, k.From+(k.To-k.From)*float64(i)/steps)
		if need != nil {
			s.Permitted = need.PermittedAt(s.Level)
			within = within && s.Low >= -s.Permitted && s.High <= s.Permitted
			beyond = beyond || low > s.Permitted || high < -s.Permitted
		}
		seen = seen || low > 0 || high < 0
		if math.IsNaN(k.Worst.New) || math.Abs(s.New-s.Level) > math.Abs(k.Worst.New-k.Worst.Level) {
			k.Worst = s
			k.Worst.Low, k.Worst.High = low, high
		}
		k.Shifts = append(k.Shifts, s)
	}
	k.Verdict = verdictOn(need != nil, within && !k.Part, beyond, seen)
	return k
}

// shiftOfAll is the shift at a place by the first of either, with limits, and those of the band, that hold for every pair that gives it.
func shiftOfAll(olds, nows []Curve, x float64) (s Shift, low, high float64) {
	for i, old := range olds {
		placed := old.placed(x)
		for j, now := range nows {
			df := math.Min(finiteDF(old.DF), finiteDF(now.DF))
			t, p := studentT(df), float64(max(old.form.Params, now.form.Params))
			one := shiftAt(old, now, x, placed, t)
			l, h := one.band(math.Max(1, math.Sqrt(p*num.FQuantile(0.95, p, df))/t))
			switch {
			case i == 0 && j == 0:
				s, low, high = one, l, h
			case !math.IsNaN(one.New):
				s.Low, s.High, low, high = math.Min(s.Low, one.Low), math.Max(s.High, one.High), math.Min(low, l), math.Max(high, h)
			}
		}
	}
	return s, low, high
}

// band is a shift's interval, that many times as wide.
func (s Shift) band(wider float64) (low, high float64) {
	middle, half := (s.Low+s.High)/2, (s.High-s.Low)/2
	return middle - wider*half, middle + wider*half
}

func verdictOn(need, within, beyond, seen bool) string {
	switch {
	case need && within:
		return SameForNeed
	case need && beyond, !need && seen:
		return Different
	case need:
		return Undecided
	}
	return NotSeen
}

func finiteDF(df float64) float64 {
	if df > 0 {
		return df
	}
	return 1
}

// shiftAt is what a new curve makes of an old one's signal at x, there placed to placed.
func shiftAt(old, now Curve, x, placed, t float64) Shift {
	s := Shift{Level: x, New: now.LevelOf(old.At(x))}
	u := math.Hypot(placed, now.placed(s.New))
	s.Low, s.High = s.New-x-t*u, s.New-x+t*u
	return s
}

// Retest is a known tested again, to see whether a curve still holds.
type Retest struct {
	Level, ULevel float64
	Signals       []float64
}

// Recheck is what a blank and a known in the middle say about a curve.
type Recheck struct {
	Blank, BlankLow, BlankHigh float64 // blank's signal less the curve's, 95 %; 97.5 of several knowns, which have to agree besides
	Slope, SlopeLow, SlopeHigh float64 // factor on the concentration that puts the curve right, 95 %
	USlope                     float64
	Agree                      bool // the knowns, on one factor
	Verdict                    string
	Knowns                     int     // how many were tested
	Margin                     float64 // the relative change of slope that is of no account
}

// The verdicts of a re-check.
const (
	Holds       = "holds"
	UpdateSlope = "a slope update is enough"
	NewCurve    = "make a new curve"
)

// TwoPoint tests a blank and one or more knowns again. The blank tells of an
// offset. Each known's signal is found at some concentration of the curve; that
// over its level is its factor. One known shows a factor and cannot show whether it
// serves the whole range; a second one can. Limits are 95 %, margin is the
// relative change of slope that is of no account. A factor is "enough" only if
// the blank stands and the knowns agree on it: of two questions that a curve which holds may fail by chance each is
// asked at half of 5 % (Bonferroni), and the blank's limits leave out as much. Where a dead zone fits as well (Beside), limits are
// the further ones of both, and what either allows stands.
func (c Curve) TwoPoint(blank []float64, knowns []Retest, margin float64) (Recheck, error) {
	r, err := c.twoPoint(blank, knowns)
	if err != nil {
		return Recheck{}, err
	}
	if c.Beside != nil {
		if other, err := c.Beside.twoPoint(blank, knowns); err == nil {
			r.cover(other)
		}
	}
	r.Knowns, r.Margin = len(knowns), margin
	r.judge()
	return r, nil
}

// cover widens a re-check to what another curve through the same points makes of it. Either may be the true one: what the factors
// differ by, ÷ √2, is the root mean square of what the first is off by.
func (r *Recheck) cover(other Recheck) {
	r.BlankLow, r.BlankHigh = math.Min(r.BlankLow, other.BlankLow), math.Max(r.BlankHigh, other.BlankHigh)
	r.SlopeLow, r.SlopeHigh = math.Min(r.SlopeLow, other.SlopeLow), math.Max(r.SlopeHigh, other.SlopeHigh)
	r.USlope = math.Hypot(r.USlope, (r.Slope-other.Slope)/math.Sqrt2)
	r.Agree = r.Agree || other.Agree
}

// twoPoint is TwoPoint by this curve alone, not judged.
func (c Curve) twoPoint(blank []float64, knowns []Retest) (Recheck, error) {
	if len(blank) == 0 || len(knowns) == 0 {
		return Recheck{}, fault("no blank or no known", "signals of a blank, and of a known in the middle of the range")
	}
	if !c.scattered() {
		return Recheck{}, fault("the curve knows nothing of its scatter: nothing can be held against it", "a curve with replicates")
	}
	r := Recheck{}
	questions := float64(min(len(knowns), 2))
	r.blank(c, blank, outer/questions)
	var fs factors
	for _, k := range knowns {
		if !(k.Level > 0) || k.Level > c.Range.LevelHigh || len(k.Signals) == 0 {
			return Recheck{}, fault("a known of %.4g", "knowns above 0 and up to %.4g, each with a signal", k.Level, c.Range.LevelHigh)
		}
		if !fs.add(c, k) {
			return Recheck{}, fault("the signal of the known of %.4g is nowhere on the curve", "a new curve, if the signal was read right", k.Level)
		}
	}
	if err := r.combine(fs, c, adequate/questions); err != nil {
		return Recheck{}, err
	}
	return r, nil
}

// blank is the shift of the blank's signal, its limits where what was seen less the
// shift has a chance of outer, 2.5 % or less, to whoever doubts it least, as in Read.
func (r *Recheck) blank(c Curve, signals []float64, outer float64) {
	q := query{Curve: c, y: num.Mean(signals), m: float64(len(signals))}
	seen := q.y
	r.Blank = seen - c.At(0)
	scale := q.spot(c.heaviest(), 0, make([]float64, c.form.Params)).scale()
	shifts := []float64{r.Blank}
	for far := scale; far <= 1e3*scale; far *= 2 {
		shifts = append(shifts, r.Blank+far, r.Blank-far)
	}
	slices.Sort(shifts)
	r.BlankLow, r.BlankHigh = math.NaN(), math.NaN()
	for _, p := range inverse.Where(shifts, func(shift float64) float64 {
		q.y = seen - shift
		least, most := q.below(0)
		return math.Min(1-outer-least, most-outer)
	}) {
		r.BlankLow, r.BlankHigh = p.Low, p.High
	}
}

// factors say of knowns how much more the curve finds than they hold: f = x/level, with the
// variance that is each one's own, and its gradient in the curve's coefficients, whose
// errors all of them share.
type factors struct {
	f, own []float64
	grad   [][]float64
}

// add is false where the known's signal is nowhere on the curve.
func (fs *factors) add(c Curve, k Retest) bool {
	q := query{Curve: c, y: num.Mean(k.Signals), m: float64(len(k.Signals))}
	x, ok := q.centre()
	if !ok {
		return false
	}
	g := make([]float64, c.form.Params)
	reading := 0.0
	for _, w := range c.Weightings {
		reading += w.Mass * q.spot(w, x, g).reading
	}
	c.form.Gradient(c.Coef, x, g)
	slope := c.Slope(x)
	for j := range g {
		g[j] /= -slope * k.Level
	}
	u := x * k.ULevel / k.Level
	fs.f = append(fs.f, x/k.Level)
	fs.own = append(fs.own, (reading/(slope*slope)+u*u)/(k.Level*k.Level))
	fs.grad = append(fs.grad, g)
	return true
}

// combine is the mean factor by generalised least squares, with V = own variances +
// gradients·(covariance of the curve)·gradientsᵀ: what the knowns share does not average out. They agree
// unless their residuals' χ²/(k − 1) passes the point of F that leaves out adequate.
func (r *Recheck) combine(fs factors, c Curve, adequate float64) error {
	n := len(fs.f)
	ones, v := make([][]float64, n), make([][]float64, n)
	for i := range n {
		ones[i], v[i] = []float64{1}, make([]float64, n)
		for j := range n {
			v[i][j] = num.Bilinear(fs.grad[i], c.Cov, fs.grad[j])
		}
		v[i][i] += fs.own[i]
	}
	fit, err := num.GLS(ones, fs.f, v)
	if err != nil {
		return fmt.Errorf("averaging %d knowns: %w", n, err)
	}
	r.Slope, r.USlope = fit.Coef[0], math.Sqrt(fit.Unscaled[0][0])
	t := studentT(c.DF)
	r.SlopeLow, r.SlopeHigh = r.Slope-t*r.USlope, r.Slope+t*r.USlope
	over := float64(n - 1)
	r.Agree = n == 1 || num.FSurvival(fit.ANOVA.ResidualSS/over, over, c.DF) >= adequate
	return nil
}

func (r *Recheck) judge() {
	changed := r.SlopeLow > 1 || r.SlopeHigh < 1
	small := r.SlopeLow >= 1-r.Margin && r.SlopeHigh <= 1+r.Margin
	switch {
	case !r.BlankStands() || !r.Agree:
		r.Verdict = NewCurve
	case small:
		r.Verdict = Holds
	case changed:
		r.Verdict = UpdateSlope
	default:
		r.Verdict = Undecided
	}
}

// BlankStands says that the blank's signal may be the curve's.
func (r Recheck) BlankStands() bool { return r.BlankLow <= 0 && 0 <= r.BlankHigh }

// WithSlope is a new curve whose signal at c is the old one's at factor·c. The
// factor's uncertainty adds to the coefficients'. The old curve stays as it is.
func (c Curve) WithSlope(factor, u float64) Curve {
	n := c
	n.Coef, n.Cov = stretched(c.form, c.Coef, c.Cov, factor)
	n.Cov = plus(n.Cov, factorPart(c.form, n.Coef, u/factor))
	n.Weightings = nil
	for _, w := range c.Weightings {
		known := w.Known
		w.Coef, w.Noise = stretched(c.form, w.Coef, w.Noise, factor)
		part := factorPart(c.form, w.Coef, u/factor)
		if known != nil {
			_, known = stretched(c.form, c.Coef, known, factor)
			part = plus(part, known)
		}
		w.Known = part
		if w.Variance.NetCoef != nil {
			w.Variance.NetCoef, _ = stretched(response.Of(w.Variance.Net), w.Variance.NetCoef, nil, factor)
		}
		switch w.Variance.Weights { // the weight of a signal goes with where it now stands
		case OverX:
			w.Variance.Floor, w.Size = w.Variance.Floor/factor, w.Size*math.Sqrt(factor)
		case OverX2:
			w.Variance.Floor, w.Size = w.Variance.Floor/factor, w.Size*factor
		}
		n.Weightings = append(n.Weightings, w)
	}
	n.Range.LevelLow, n.Range.LevelHigh = c.Range.LevelLow/factor, c.Range.LevelHigh/factor
	if f := c.Range.Flat; f != nil {
		moved := *f
		moved.From /= factor
		n.Range.Flat = &moved
	}
	n.Bottom, n.Top = c.Bottom/factor, c.Top/factor
	if c.Beside != nil {
		b := c.Beside.WithSlope(factor, u)
		n.Beside = &b
	}
	n.Why = note.New("slope-of-earlier").Number("factor", factor).Since(c.Why)
	n.Notes = append([]note.Note{note.New("slope-updated").Number("factor", factor).Number("u", u)}, c.Notes...)
	return n
}

func stretched(f *response.Shape, coef []float64, cov [][]float64, factor float64) ([]float64, [][]float64) {
	p := f.Powers
	out := make([]float64, len(coef))
	for j := range coef {
		out[j] = coef[j] * math.Pow(factor, p[j])
	}
	m := times(cov, 1)
	for i := range m {
		for j := range m[i] {
			m[i][j] *= math.Pow(factor, p[i]+p[j])
		}
	}
	return out, m
}

// factorPart is the covariance of coefficients through the factor: ∂b_j/∂ln factor = p_j·b_j.
func factorPart(f *response.Shape, coef []float64, rel float64) [][]float64 {
	p := f.Powers
	m := make([][]float64, len(coef))
	for i := range m {
		m[i] = make([]float64, len(coef))
		for j := range m[i] {
			m[i][j] = rel * rel * p[i] * coef[i] * p[j] * coef[j]
		}
	}
	return m
}
