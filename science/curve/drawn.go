package curve

import (
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/num"
)

// Drawn is a curve as the scatter of its points and the errors of its knowns leave it open, in equally
// likely draws: what all signals that it reads have in common.
type Drawn struct {
	Grid  []float64   // concentrations of the sample, rising
	Means [][]float64 // [draw][grid]: the mean signal there, its sign turned where signals fall
	SDs   [][]float64 // [draw][grid]: how single signals scatter
	c     Curve
	draws []drawn
	by    float64 // the sample's concentration to the cell's
}

type drawn struct {
	coef           []float64
	variance       variance
	size, relative float64
}

// gridOfDrawn steps cover the range of a curve.
const gridOfDrawn = 120

// Draw is the segment of a dilution in n draws: a weighting by its mass, its coefficients normal with the
// knowns' covariance and with that of the scatter, which is known with ν degrees of freedom,
// so that it and the size of the scatter go with √(ν/χ²) (multivariate t). What comes of points and knowns is drawn by them, so that
// versions with the same points share it (origins). rel is a relative standard uncertainty of
// what was multiplied by, the same for all samples, drawn by the name; gone are points that were
// left out of the fit. Not ok: nothing is known of the scatter.
func (d Document) Draw(dilution, rel float64, n int, name string, gone []Point) (out Drawn, ok bool) {
	if dilution == 0 {
		dilution = 1
	}
	c := d.OfDilution(dilution)
	if !c.scattered() {
		return out, false
	}
	out.c, out.by = c, dilution
	from, own := d.originsOf(dilution, c, n, gone), num.Named(name, math.Float64bits(dilution))
	places, levels, factors := from.rng.Perm(n), from.rng.Perm(n), own.Perm(n)
	at := func(k int) float64 { return (float64(k) + 0.5) / float64(n) }
	type errors struct{ noise, known [][]float64 }
	of := make([]errors, len(c.Weightings))
	for k := range n {
		i, left := 0, at(places[k])
		for ; i < len(c.Weightings)-1 && left >= c.Weightings[i].Mass; i++ {
			left -= c.Weightings[i].Mass
		}
		w := c.Weightings[i]
		if of[i].noise == nil {
			of[i].noise, of[i].known = from.through(c, w, n, own)
		}
		wide := math.Sqrt(w.DF / num.ChiSquareQuantile(at(levels[k]), w.DF))
		one := drawn{coef: slices.Clone(w.Coef), variance: w.Variance, size: w.Size * wide, relative: 1 + rel*num.PhiInv(at(factors[k]))}
		for j := range one.coef {
			one.coef[j] += wide*of[i].noise[k][j] + of[i].known[k][j]
		}
		out.draws = append(out.draws, one)
	}
	for g := range gridOfDrawn + 1 {
		out.Grid = append(out.Grid, dilution*(c.Range.LevelLow+(c.Range.LevelHigh-c.Range.LevelLow)*float64(g)/gridOfDrawn))
	}
	for k := range n {
		means, sds := make([]float64, len(out.Grid)), make([]float64, len(out.Grid))
		for g, x := range out.Grid {
			means[g], sds[g] = out.At(k, x)
		}
		out.Means, out.SDs = append(out.Means, means), append(out.SDs, sds)
	}
	return out, true
}

// At is the mean signal of a sample in a draw, and how single signals scatter about it.
func (o Drawn) At(draw int, level float64) (mean, sd float64) {
	k := o.draws[draw]
	x := math.Max(0, level/o.by*k.relative)
	mean = o.c.form.At(k.coef, x)
	if o.c.falls() {
		mean = -mean
	}
	return mean, k.size * math.Sqrt(k.variance.at(x))
}

// thrown are values with normal errors of a covariance that may leave some of them fixed (by
// its Cholesky factor, rows without variance left out).
func thrown(values []float64, cov [][]float64, rng *rand.Rand) []float64 {
	n := len(values)
	out := append([]float64(nil), values...)
	l := make([][]float64, n)
	z := make([]float64, n)
	for i := range n {
		z[i] = rng.NormFloat64()
		l[i] = make([]float64, n)
		for j := range i + 1 {
			s := cov[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			switch {
			case i == j && s > 1e-14*cov[i][i]:
				l[i][i] = math.Sqrt(s)
			case i > j && l[j][j] > 0:
				l[i][j] = s / l[j][j]
			}
		}
		for j := range i + 1 {
			out[i] += l[i][j] * z[j]
		}
	}
	return out
}
