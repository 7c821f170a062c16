package assess

import "math"

// correctedError is error_95 at c of numbers turned round through a response t: the smallest e with
//
//	F(t(c+e) − mean) − F(t(c−e) − mean) ≥ 95 %,
//
// F the chance of scatter and rounding together (rounded), the second term only while c − e is above 0, as no
// result lies below nothing.
type correctedError struct {
	t                turn
	c, centre, slope float64 // centre = t(c), slope that of t about c
	up, down         int     // the pieces of t in which the ends were last
}

func newCorrectedError(t turn, c float64) *correctedError {
	near := t.top() / 50
	slope := (t.at(c+near) - t.at(math.Max(0, c-near))) / (near + math.Min(c, near))
	return &correctedError{t: t, c: c, centre: t.at(c), slope: math.Max(slope, 1e-12)}
}

// of is the error of readings so distributed.
func (r *correctedError) of(mean float64, shown rounded) float64 {
	guess := shown.sd * half95(math.Abs(mean-r.centre)/shown.sd) / r.slope
	return solve95(func(e float64) (p, slope float64) {
		y, s := r.t.from(&r.up, r.c+e)
		p, slope = shown.below(y - mean)
		slope *= s
		if low := r.c - e; low > 0 {
			y, s := r.t.from(&r.down, low)
			q, d := shown.below(y - mean)
			p, slope = p-q, slope+d*s
		}
		return p, slope
	}, math.Min(math.Max(guess, 1e-12), 2*r.t.top()), r.c)
}

// solve95 finds where a rising chance reaches 95 %, from a guess, good to a
// ten-thousandth; infinite where it never does. p gives the chance and its slope; at jump it
// may leap up. Newton's steps, kept between what is known to be too little and enough.
func solve95(p func(e float64) (p, slope float64), guess, jump float64) float64 {
	lo, hi, e := 0.0, math.Inf(1), guess
	for i := 0; i < 100; i++ {
		if lo < jump && jump < e && hi > jump { // is it reached before the leap, or by it?
			if before, _ := p(jump * (1 - 1e-9)); before >= within {
				e = jump * (1 - 1e-9)
			} else if at, _ := p(jump); at >= within {
				return jump
			} else {
				lo = jump
			}
		}
		v, slope := p(e)
		step := (v - within) / slope
		if math.Abs(step) <= 2e-3*e && (e < jump) == (e-step < jump) { // the next one is a millionth
			return e - step
		}
		if v >= within {
			hi = e
		} else {
			lo = e
		}
		if hi-lo <= 1e-4*lo {
			return hi
		}
		switch next := e - step; {
		case next > lo && next < hi && next < 4*e && !math.IsNaN(next):
			e = next
		case math.IsInf(hi, 1):
			if e *= 4; i > 60 {
				return hi
			}
		default:
			e = (lo + hi) / 2
		}
	}
	return hi
}
