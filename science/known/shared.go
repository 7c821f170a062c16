package known

import (
	"math"

	"knownwater/science/errorpart"
	"knownwater/science/num"
)

// SurerToTell is how many times as sure as it is a slope may be told without a word.
const SurerToTell = 1.1

// share tells what a trial takes of what the standards share: the background, which is one error of its own, and the one
// error that comes nearest to all the others that several of them have, of stock, devices and salts together.
//
// Where standards are made one from the other the nearest is too good a likeness: with k deliveries of one pipette behind
// the k-th of them its error goes with k·c, which is bent, and what the making scatters by, which all later ones share as
// well, is left out. A line laid through the standards then tells slope and pipette apart by the bend, to within what
// nothing but the likeness says. So the error is led towards the largest one in proportion to the standards that each of
// them has room for, which no bend tells from a slope, as far as it takes to tell slopes and intercepts no surer than
// they are.
func (s *Set) share() {
	for i := range s.Standards {
		for _, p := range s.Standards[i].Value.Parts {
			if p.Kind == KindBackground {
				s.Standards[i].UBackground += p.Size()
			}
		}
	}
	other := s.others()
	near, misfit := errorpart.CommonFactor(other, s.doubts())
	s.SharedMisfit, s.SharedSurer = misfit, 1
	if misfit > exactly {
		near, s.SharedSurer = s.steady(near, inProportion(other, s.levels()))
		s.SharedMisfit = s.misfitOf(near)
	}
	for i := range near {
		s.Standards[i].UShared = near[i]
	}
}

// others is the covariance of the standards but for the background.
func (s *Set) others() [][]float64 {
	out := make([]errorpart.Parts, len(s.Standards))
	for i, st := range s.Standards {
		for _, p := range st.Value.Parts {
			if p.Kind != KindBackground {
				out[i] = append(out[i], p)
			}
		}
	}
	return errorpart.CovarianceMatrix(out)
}

func (s *Set) doubts() []float64 {
	u := make([]float64, len(s.Standards))
	for i, st := range s.Standards {
		u[i] = st.U
	}
	return u
}

// exactly is a misfit that no slope notices.
const exactly = 0.002

func (s *Set) levels() []float64 {
	c := make([]float64, len(s.Standards))
	for i, st := range s.Standards {
		c[i] = st.Value.Value
	}
	return c
}

// inProportion is the largest error in proportion to what was added to the standards, c_i − c_least, that each has room for.
func inProportion(other [][]float64, c []float64) []float64 {
	least, share := c[0], math.Inf(1)
	for _, v := range c {
		least = math.Min(least, v)
	}
	for i, v := range c {
		if v > least {
			share = math.Min(share, math.Sqrt(math.Max(0, other[i][i]))/(v-least))
		}
	}
	out := make([]float64, len(c))
	for i, v := range c {
		if v > least {
			out[i] = share * (v - least)
		}
	}
	return out
}

// steady leads an error towards one in proportion, in sixteenths, until slopes and intercepts are told at most 1.05 times as
// sure as they are, or as little as it gets on the first half of the way.
func (s *Set) steady(near, proportional []float64) (best []float64, surer float64) {
	surer = math.Inf(1)
	for step := range 9 {
		way := float64(step) / 16
		tried := make([]float64, len(near))
		for i := range near {
			tried[i] = (1-way)*near[i] + way*proportional[i]
		}
		if r := s.surer(tried); r < surer {
			best, surer = tried, r
		}
		if surer <= 1.05 {
			break
		}
	}
	return best, surer
}

// told is the covariance of the standards as a trial has it that is told a shared error beside the background.
func (s *Set) told(shared []float64) [][]float64 {
	out := make([][]float64, len(shared))
	for i, a := range s.Standards {
		out[i] = make([]float64, len(shared))
		for j, b := range s.Standards {
			out[i][j] = shared[i]*shared[j] + a.UBackground*b.UBackground
		}
		out[i][i] = s.Covariance[i][i]
	}
	return out
}

// misfitOf is by how much the correlations that a trial is told are off at most.
func (s *Set) misfitOf(shared []float64) float64 {
	off, told := 0.0, s.told(shared)
	for i := range told {
		for j := range told {
			off = math.Max(off, math.Abs(told[i][j]-s.Covariance[i][j])/math.Sqrt(s.Covariance[i][i]*s.Covariance[j][j]))
		}
	}
	return off
}

// surer is how many times as sure as they are a line's slope and intercept are told, at most: the line is laid by
// generalised least squares with what the trial is told, and its gain G carries the errors that the standards have,
//
//	√( (G·V·Gᵀ)_kk / (G·T·Gᵀ)_kk ), V their covariance, T the told one, both with what readings scatter by,
//
// for readings whose means scatter by 0.02, 0.1 and 0.5 of what the standards are in doubt by, the same everywhere and in
// proportion to it.
func (s *Set) surer(shared []float64) float64 {
	told, x := s.told(shared), make([][]float64, len(shared))
	var all float64
	for i, st := range s.Standards {
		x[i] = []float64{1, st.Value.Value}
		all += s.Covariance[i][i] / float64(len(shared))
	}
	worst := 1.0
	for _, scatter := range []float64{0.02, 0.1, 0.5} {
		for _, same := range []bool{true, false} {
			v, t := make([][]float64, len(told)), make([][]float64, len(told))
			for i := range told {
				v[i], t[i] = append([]float64(nil), s.Covariance[i]...), append([]float64(nil), told[i]...)
				e := s.Covariance[i][i]
				if same {
					e = all
				}
				v[i][i] += scatter * scatter * e
				t[i][i] += scatter * scatter * e
			}
			gain, err := num.Gain(x, t)
			if err != nil {
				return 1 // no line through them: nothing is told of one
			}
			for _, g := range gain {
				worst = math.Max(worst, math.Sqrt(variance(g, v)/variance(g, t)))
			}
		}
	}
	return worst
}

// variance is gᵀ·v·g.
func variance(g []float64, v [][]float64) float64 {
	var sum num.Sum
	for i, a := range g {
		for j, b := range g {
			sum.AddProduct(a*b, v[i][j])
		}
	}
	return sum.Value()
}
