package num

import (
	"errors"
	"math"
)

// Deming fits a line where every point has the same errors and only the ratio
// of error variances, var(y)/var(x), is known (ratio 1: orthogonal line).
// Standard errors are by leaving out one point at a time (jackknife); ChiSquare is
// the residual sum of squares across the line in units of var(y), with n − 2
// degrees of freedom when divided by var(y). Source: W. E. Deming 1943,
// Statistical Adjustment of Data; K. Linnet 1993, Clin. Chem. 39, 424.
func Deming(x, y []float64, ratio float64) (Line, error) {
	n := len(x)
	switch {
	case len(y) != n:
		return Line{}, errors.New("x and y differ in number")
	case n < 3:
		return Line{}, errors.New("a line with errors in both needs 3 or more points")
	case !(ratio > 0) || math.IsInf(ratio, 0):
		return Line{}, errors.New("the ratio of error variances is above 0")
	}
	a, b := demingLine(x, y, ratio, -1)
	if !finite(a) || !finite(b) {
		return Line{}, ErrNoLine
	}
	l := Line{Intercept: a, Slope: b, DF: n - 2}
	var ss Sum
	for i := range x {
		r := y[i] - a - b*x[i]
		ss.Add(r * r / (1 + b*b/ratio))
		l.X = append(l.X, x[i]+b*r/(ratio+b*b))
	}
	l.ChiSquare = ss.Value()
	as, bs := make([]float64, n), make([]float64, n)
	for i := range x {
		as[i], bs[i] = demingLine(x, y, ratio, i)
	}
	ma, mb := Mean(as), Mean(bs)
	var vaa, vbb, vab Sum
	for i := range x {
		vaa.Add((as[i] - ma) * (as[i] - ma))
		vbb.Add((bs[i] - mb) * (bs[i] - mb))
		vab.Add((as[i] - ma) * (bs[i] - mb))
	}
	k := float64(n-1) / float64(n)
	l.SEIntercept, l.SESlope = math.Sqrt(k*vaa.Value()), math.Sqrt(k*vbb.Value())
	l.Covariance = k * vab.Value()
	return l, nil
}

// demingLine is the closed form, leaving out the point without.
func demingLine(x, y []float64, ratio float64, without int) (a, b float64) {
	var xs, ys []float64
	for i := range x {
		if i != without {
			xs, ys = append(xs, x[i]), append(ys, y[i])
		}
	}
	mx, my, sxx, sxy, syy := moments(xs, ys)
	d := syy - ratio*sxx
	root := math.Hypot(d, 2*math.Sqrt(ratio)*sxy)
	if d >= 0 {
		b = (d + root) / (2 * sxy)
	} else {
		b = 2 * ratio * sxy / (root - d) // the same, without cancelling
	}
	return my - b*mx, b
}

// moments are means and sums of squares and products about them.
func moments(x, y []float64) (mx, my, sxx, sxy, syy float64) {
	mx, sxx = meanSS(x)
	my, syy = meanSS(y)
	var k Sum
	for i := range x {
		k.AddProduct(x[i]-mx, y[i]-my)
	}
	return mx, my, sxx, k.Value(), syy
}

// Unattenuated fits a line where the error variance varX of x is known and
// that of y is not: least squares would give a slope too small by the share of
// error in the spread of x. Slope = m_xy/(m_xx − varX); standard errors as in
// W. A. Fuller 1987, Measurement Error Models, section 1.2. ErrNoLine where x
// spreads no more than its error. ChiSquare is Σ(y − a − bx)².
func Unattenuated(x, y []float64, varX float64) (Line, error) {
	n := float64(len(x))
	switch {
	case len(y) != len(x):
		return Line{}, errors.New("x and y differ in number")
	case len(x) < 3:
		return Line{}, errors.New("a line with errors in both needs 3 or more points")
	case !(varX >= 0):
		return Line{}, errors.New("an error variance is 0 or more")
	}
	mx, my, sxx, sxy, _ := moments(x, y)
	mxx, mxy := sxx/(n-1), sxy/(n-1)
	spread := mxx - varX
	if !(spread > 0) {
		return Line{}, ErrNoLine
	}
	b := mxy / spread
	l := Line{Slope: b, Intercept: my - b*mx, DF: len(x) - 2}
	var ss Sum
	for i := range x {
		d := y[i] - my - b*(x[i]-mx)
		ss.Add(d * d)
	}
	l.ChiSquare = ss.Value()
	svv := l.ChiSquare / (n - 2)
	vb := (mxx*svv + b*b*varX*varX) / ((n - 1) * spread * spread)
	l.SESlope = math.Sqrt(vb)
	l.SEIntercept = math.Sqrt(svv/n + mx*mx*vb)
	l.Covariance = -mx * vb
	return l, nil
}
