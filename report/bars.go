package report

import (
	"math"

	"knownwater/chart"
	"knownwater/science/inverse"
	"knownwater/science/result"
)

// Bars are the pieces of what a reading says, open where it goes on without end.
func Bars(r result.Result, v chart.Verdict) (out []chart.Bar) {
	for _, x := range r.Pieces() {
		b := chart.Bar{Low: x.Low, High: x.High, Notch: math.NaN(), Verdict: v}
		if math.IsNaN(b.High) && r.Open == inverse.Above {
			b.High = math.Inf(1)
		}
		if r.Estimate >= b.Low && !(r.Estimate > b.High) {
			b.Notch = r.Estimate
		}
		out = append(out, b)
	}
	return out
}
