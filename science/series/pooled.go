package series

import (
	"math"

	"knownwater/science/num"
)

// pooled are quantities, one a day, over all that is left open: ways with weights, each with mean and variance, and beside them the
// errors that readings share, by draw. An estimate has the mean over ways, the variance over both, and the middle 95 %
// as if it were normal.
type pooled []struct {
	weight, mean, square float64
	draws, error, error2 float64
}

func (p pooled) add(i int, weight, mean, variance float64) {
	x := &p[i]
	x.weight, x.mean, x.square = x.weight+weight, x.mean+weight*mean, x.square+weight*(variance+mean*mean)
}

func (p pooled) share(i int, e float64) {
	x := &p[i]
	x.draws, x.error, x.error2 = x.draws+1, x.error+e, x.error2+e*e
}

func (p pooled) estimates() []Estimate {
	out := make([]Estimate, len(p))
	for i, x := range p {
		m := x.mean / x.weight
		variance := math.Max(0, x.square/x.weight-m*m)
		if x.draws > 0 {
			e := x.error / x.draws
			variance += math.Max(0, x.error2/x.draws-e*e)
		}
		u := math.Sqrt(variance)
		out[i] = Estimate{Value: m, U: u, Low: m - num.Z95*u, High: m + num.Z95*u}
	}
	return out
}
