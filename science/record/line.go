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
// errors in both); standard errors are the standard deviations of the draws, with the doubt of the spreads in them, as
// supplement 1 to the GUM (JCGM 101:2008, 6.4.9) has a t distribution's: the plug-in ones, smaller by √((ν − 2)/ν), were
// 0.8 to 0.9 of how far lines through three or four readings a level scatter.
func StraightLine(k Knowledge) (par, se [2]float64, lackOfFit float64, err error) {
	k = k.settledAs()
	r, misfit, err := fitShape(response.Of(response.Line), k)
	if err != nil {
		return par, se, math.NaN(), err
	}
	cov := Covariance(r.draws[:k.lead()])
	for j := range 2 {
		par[j] = r.Params[j]
		se[j] = math.Sqrt(cov[j][j])
	}
	return par, se, misfitP(misfit, float64(len(k.Level)-2), k.DF), nil
}
