package record

import (
	"math"

	"knownwater/science/response"
)

// StraightLine is the line through the level means, errors in both: the
// parameters, their standard errors, and the p-value of lack of fit.
//
// The fit is generalised least squares with the covariance of the level means
// and, through the slope, of the knowns (ISO/TS 28037:2010 for the case of
// errors in both); standard errors are those of the draws, brought back from
// a t distribution's width to the plug-in one by √((ν − 2)/ν).
func StraightLine(k Knowledge) (par, se [2]float64, lackOfFit float64, err error) {
	k = k.settledAs()
	r, misfit, err := fitShape(response.Of(response.Line), k)
	if err != nil {
		return par, se, math.NaN(), err
	}
	cov := Covariance(r.draws[:k.lead()])
	shrink := 1.0
	if k.DF > 4 {
		shrink = math.Sqrt(1 - 2/k.DF)
	}
	for j := range 2 {
		par[j] = r.Params[j]
		se[j] = shrink * math.Sqrt(cov[j][j])
	}
	return par, se, misfitP(misfit, float64(len(k.Level)-2), k.DF), nil
}
