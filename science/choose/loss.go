package choose

import (
	"math"

	"knownwater"
	"knownwater/science/decide"
	"knownwater/science/num"
)

// Loss is what wrong calls cost: how often a water that lies below or above is taken for
// right, and a right one is acted on, of all answers; and the money of that a year.
type Loss struct {
	Below, Above, FalseAlarm num.Number // chances, of one answer
	Money                    num.Number // a year; none where no cost of a wrong call is stated
}

// lossOf is the expected loss of a way: the global risks of JCGM 106:2012, clause 9, over
// where the water lies as a rule, when a result inside the need is left and one outside
// acted on. Results are taken as normal about the truth with error_95 ÷ 1.96 there, so that
// a bias counts as scatter. An average's errors are those of single results along the need
// in the proportion of the two at the worst place. Where nobody says where the water lies
// it is taken to lie evenly from half the need's width below it to half above.
func lossOf(w Way, n knownwater.Need) Loss {
	none := Loss{num.None, num.None, num.None, num.None}
	if n.WrongBelow == 0 && n.WrongAbove == 0 && n.FalseAlarm == 0 {
		return none
	}
	u, ok := w.uncertainty()
	if !ok {
		return none
	}
	usual := n.Usual
	if usual == [2]float64{} {
		half := (n.High - n.Low) / 2
		usual = [2]float64{math.Max(0, n.Low-half), n.High + half}
	}
	low := n.Low
	if low == 0 { // nothing lies below
		low = math.Inf(-1)
	}
	r := decide.Risk(decide.Even(usual[0], usual[1]), u, [2]float64{low, n.High}, [2]float64{low, n.High})
	l := Loss{num.Number(r.Below), num.Number(r.Above), num.Number(r.Producer), num.None}
	l.Money = num.Number(12 * n.TestsAMonth * l.each(n))
	return l
}

// each is what an answer costs in wrong calls.
func (l Loss) each(n knownwater.Need) float64 {
	return float64(l.Below)*n.WrongBelow + float64(l.Above)*n.WrongAbove + float64(l.FalseAlarm)*n.FalseAlarm
}

// lossAt is the loss a year of so many answers a month.
func (w Way) lossAt(answersAMonth float64) float64 {
	if !w.Loss.Money.OK() {
		return 0
	}
	return 12 * answersAMonth * w.lossEach
}

// uncertainty is the standard uncertainty of a result along the need: straight between the
// places that were judged, flat beyond.
func (w Way) uncertainty() (func(c float64) float64, bool) {
	var at, u []float64
	scale := 1.0
	if single := w.singleAtWorst(); w.Tests > 1 && single > 0 && w.Error.Error95.OK() {
		scale = float64(w.Error.Error95) / single
	}
	for _, a := range w.Along {
		e := a.Raw
		if w.Corrected {
			e = a.Corrected
		}
		if !e.OK() {
			return nil, false
		}
		at, u = append(at, a.At), append(u, scale*float64(e)/1.959963984540054)
	}
	if len(at) == 0 {
		return nil, false
	}
	return func(c float64) float64 {
		i := 0
		for i < len(at) && at[i] < c {
			i++
		}
		switch i {
		case 0:
			return u[0]
		case len(at):
			return u[len(u)-1]
		}
		t := (c - at[i-1]) / (at[i] - at[i-1])
		return u[i-1] + t*(u[i]-u[i-1])
	}, true
}

// singleAtWorst is the error of a single result where it is worst against what is permitted.
func (w Way) singleAtWorst() float64 {
	worst, e := 0.0, 0.0
	for _, a := range w.Along {
		v := a.Raw
		if w.Corrected {
			v = a.Corrected
		}
		if v.OK() && float64(v)/a.Permitted > worst {
			worst, e = float64(v)/a.Permitted, float64(v)
		}
	}
	return e
}
