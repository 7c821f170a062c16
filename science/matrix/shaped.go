package matrix

import (
	"math"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// shaped are additions fitted by a curve's shape under one way in which signals may scatter.
type shaped struct {
	group
	way curve.Weighting

	slope, held float64
	size        float64     // S, the standard deviation of one of these signals where the way's variance is 1
	cov         [][]float64 // of slope and held
	residual    []float64   // of the means
}

// f is the curve, straight on below nothing.
func (s *shaped) f(x float64) (y, slope float64) {
	f := s.curve.Form()
	if x < 0 {
		slope = f.Slope(s.way.Coef, 0)
		return f.At(s.way.Coef, 0) + slope*x, slope
	}
	return f.At(s.way.Coef, x), f.Slope(s.way.Coef, x)
}

// gradient is that of f in the curve's coefficients; below nothing by what it is there and how it starts.
func (s *shaped) gradient(x float64) []float64 {
	f := s.curve.Form()
	g := make([]float64, f.Params)
	f.Gradient(s.way.Coef, math.Max(x, 0), g)
	if x < 0 {
		h := 1e-4 * s.curve.Top
		up := make([]float64, f.Params)
		f.Gradient(s.way.Coef, h, up)
		for j := range g {
			g[j] += x * (up[j] - g[j]) / h
		}
	}
	return g
}

// signal is the mean of a cell that holds so much beside the water's effect, and its derivatives by slope and level.
func (s *shaped) signal(slope, cell float64) (y, bySlope, byCell float64) {
	f0, _ := s.f(0)
	zero := f0
	if s.zero != nil {
		zero = s.zero.Signal
	}
	if s.weakened {
		y, d := s.f(cell)
		return zero + slope*(y-f0), y - f0, slope * d
	}
	y, d := s.f(slope * cell)
	return zero + y - f0, d * cell, d * slope
}

// at is the mean signal of the additions' level i.
func (s *shaped) at(slope, held float64, i int) (y, bySlope, byHeld float64) {
	y, bySlope, byCell := s.signal(slope, (held+s.added[i])/s.dilution[i])
	return y, bySlope, byCell / s.dilution[i]
}

// errors are the covariances of the means about the model: by their own scatter for S = 1, by that of the curve's points, and by what is
// stated, of its knowns and of the zero.
func (s *shaped) errors(slope, held float64) (own, points, stated [][]float64) {
	n := len(s.added)
	g := make([][]float64, n)
	at0 := s.gradient(0)
	zero := 0.0
	if s.zero != nil {
		zero = s.zero.U * s.zero.U
	}
	own, points, stated = zeros(n), zeros(n), zeros(n)
	for i, a := range s.added {
		cell, through := (held+a)/s.dilution[i], 1.0
		if s.weakened {
			through = slope
		} else {
			cell *= slope
		}
		g[i] = s.gradient(cell)
		for j := range g[i] {
			g[i][j] = through * (g[i][j] - at0[j])
			if s.zero == nil {
				g[i][j] += at0[j]
			}
		}
		own[i][i] = s.way.Relative(math.Max(cell, 0)) / s.n[i]
	}
	for i := range n {
		for j := range n {
			points[i][j], stated[i][j] = num.Bilinear(g[i], s.way.Noise, g[j]), zero
			if s.way.Known != nil {
				stated[i][j] += num.Bilinear(g[i], s.way.Known, g[j])
			}
		}
	}
	return own, points, stated
}

// fit finds slope and level by generalised least squares and S so that the misfit is as large as its degrees of freedom (as R. C. Paule and
// J. Mandel 1982, J. Res. NBS 87, 377), in turns that settle. The first is by the additions' own scatter alone.
func (s *shaped) fit() bool {
	const turns = 6
	for turn := range turns {
		own, points, stated := s.errors(s.slope, s.held)
		v := own
		if turn > 0 {
			v = whole(s.size, own, points, stated)
		}
		fit, err := num.Nonlinear{
			Y: s.mean, V: v,
			Model: func(par, fitted []float64) {
				for i := range fitted {
					fitted[i], _, _ = s.at(par[0], par[1], i)
				}
			},
			Jacobian: func(par []float64, jac [][]float64) {
				for i := range s.added {
					_, jac[0][i], jac[1][i] = s.at(par[0], par[1], i)
				}
			},
		}.Fit([]float64{s.slope, s.held})
		if err != nil {
			return false
		}
		s.slope, s.held, s.cov, s.residual = fit.Coef[0], fit.Coef[1], fit.Unscaled, fit.Residual
		if !s.scatter() {
			return false
		}
	}
	return true
}

// scatter sets S. Replicates hold it to at least half of what they show: the curve's errors are not to explain it away.
func (s *shaped) scatter() bool {
	own, points, stated := s.errors(s.slope, s.held)
	df, pure, all := float64(s.points-2), 0.0, 0.0
	for i, w := range s.within {
		pure += w / (own[i][i] * s.n[i])
		all += s.residual[i] * s.residual[i] / own[i][i]
	}
	all += pure
	excess := func(log float64) float64 {
		k := math.Exp(log)
		v, err := num.NewPositive(whole(k, own, points, stated))
		if err != nil {
			return math.NaN()
		}
		return pure/(k*k) + num.Dot(s.residual, v.Solve(s.residual)) - df
	}
	high := 0.5 * math.Log(all/df)
	low := high - math.Log(100)
	if replicates := s.points - len(s.n); replicates > 0 && pure > 0 {
		low = 0.5*math.Log(pure/float64(replicates)) - math.Ln2
	}
	s.size = math.Exp(low)
	if low < high && excess(low) > 0 {
		root, err := num.Root(excess, low, high, 1e-6)
		if err != nil {
			root = high
		}
		s.size = math.Exp(root)
	}
	return s.size > 0
}

// score is how far what was seen lies above what a level would give,
//
//	t = cᵀV⁻¹r / √(cᵀV⁻¹c),
//
// r the residuals at that level with the slope that suits it best, c the model's derivative by the level less its part along the slope's
// (C. R. Rao's score, Proc. Camb. Phil. Soc. 44 (1948) 50, from memory; of a straight line it is Fieller's ratio), and the degrees of
// freedom behind it by Welch and Satterthwaite.
func (s *shaped) score(held float64) (t, df float64) {
	n := len(s.added)
	slope := s.slope
	if most := s.added[n-1]; !s.weakened && held > -most/4 && s.held > -most/4 { // what is added shows as much, about its middle
		slope *= (s.held + most/2) / (held + most/2)
	}
	by, c, r := make([]float64, n), make([]float64, n), make([]float64, n)
	var own, points, stated [][]float64
	var v num.Positive
	along := func() []float64 {
		for i := range n {
			var y float64
			y, by[i], c[i] = s.at(slope, held, i)
			r[i] = s.mean[i] - y
		}
		return v.Solve(by)
	}
	for range 20 {
		own, points, stated = s.errors(slope, held)
		var err error
		if v, err = num.NewPositive(whole(s.size, own, points, stated)); err != nil {
			return math.NaN(), 1
		}
		q := along()
		step, most := num.Dot(q, r)/num.Dot(q, by), math.Abs(slope)/2
		if math.IsNaN(step) {
			return math.NaN(), 1
		}
		slope += math.Max(-most, math.Min(step, most))
		if math.Abs(step) < 1e-9*math.Abs(slope) {
			break
		}
	}
	q := along()
	k := num.Dot(q, c) / num.Dot(q, by)
	for i := range c {
		c[i] -= k * by[i]
	}
	q = v.Solve(c)
	variance, scatter := num.Dot(q, c), s.size*s.size*num.Bilinear(q, own, q)
	curves := num.Bilinear(q, points, q)
	return num.Dot(q, r) / math.Sqrt(variance), variance * variance / (scatter*scatter/float64(s.points-2) + curves*curves/s.way.DF)
}

// misfit is the p-value of the means' distance from the fit beside the scatter inside levels, with the errors of curve and zero counted; NaN without replicates, or where
// two levels are all.
func (s *shaped) misfit() float64 {
	over, under := float64(len(s.n)-2), float64(s.points-len(s.n))
	own, points, stated := s.errors(s.slope, s.held)
	pure := 0.0
	for i, w := range s.within {
		pure += w / (own[i][i] * s.n[i])
	}
	if over <= 0 || under <= 0 || pure == 0 {
		return math.NaN()
	}
	v, err := num.NewPositive(whole(math.Sqrt(pure/under), own, points, stated))
	if err != nil {
		return math.NaN()
	}
	return num.FSurvival(num.Dot(s.residual, v.Solve(s.residual))/over, over, under)
}

// whole is S²·own + points + stated.
func whole(size float64, own, points, stated [][]float64) [][]float64 {
	out := zeros(len(own))
	for i := range out {
		for j := range out {
			out[i][j] = size*size*own[i][j] + points[i][j] + stated[i][j]
		}
	}
	return out
}

func zeros(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}
