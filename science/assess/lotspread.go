package assess

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// lotSpread is how far a lot that was not tried may read from the mean of all lots: an offset and
// a share of what is read, both normal, of standard deviations that are drawn. The posterior tells a
// lot's effect in units of scatter, which is the right thing to take off the means of the lots tried; but
// a reagent that is weaker by a tenth reads all levels a tenth lower, whatever they scatter, and what two or
// three lots show in units of scatter is too little at some levels and too much at others.
type lotSpread struct {
	lots          float64
	offset, share []float64 // variances, equally likely pairs of them in the order of their size at the middle level
}

// How large the two are expected to be beforehand (common practice, no source: blanks of two lots differ by
// half of what repeats do, their strength by a tenth), and how many degrees of freedom the half-t of the first has. Of
// k lots whose offsets are many times that scale a limit leaves out what χ² with k − 1 + ν degrees of freedom does,
// where they have k − 1: with ν = 1 an upper limit of three missed in 10 of 100, with ½ in 7.
const (
	lotOffset = 0.5 // of the repeatability at the lowest level
	lotShare  = 0.1
	offsetDF  = 0.5
)

// lotsReach is to how many times the largest difference of two lots the offsets' standard deviations are looked
// through, at least: of two lots that differ by many times the scatter 1 in 700 lies beyond (a^(−3/2) by
// prior and likelihood), of more less.
const lotsReach = 40

// lotPairs is how many pairs are kept; lotsTask names the normals that the lots' average is drawn by.
const (
	lotPairs = 1024
	lotsTask = 3000
)

// at is the variance of a lot that was not tried where the mean reading lies x above nothing, in draw k.
func (l *lotSpread) at(k int, x float64) float64 {
	i := int(reversed(k, 7) * lotPairs)
	return l.offset[i] + l.share[i]*x*x
}

// reversed is k with its digits to a prime base after the point, in the opposite order (J. G. van der Corput, Proc. Akad.
// Amsterdam 38 (1935) 813): evenly spread over 0 to 1, of every second, fourth or sixteenth draw, too.
func reversed(k, base int) (u float64) {
	for digit := 1 / float64(base); k > 0; k, digit = k/base, digit/float64(base) {
		u += float64(k%base) * digit
	}
	return u
}

// findLotSpread works it out; nil where the design cannot tell lots from each other. What lot j read in group
// g of a mean reading x above nothing is
//
//	y_jg = m_g + a_j + b_j·x_g + e_jg,   a_j ~ N(0, σ_a²), b_j ~ N(0, σ_b²), e_jg ~ N(0, v_jg)
//
// with m_g free and v_jg known from the posterior's scatter: the likelihood of the two standard deviations with
// all else integrated out (REML; H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545) on a grid of their
// logarithms, times half-t priors (A. Gelman, Bayesian Analysis 1 (2006) 515) of scales lotOffset and lotShare: of an
// offset, which may be many times what blanks scatter by, with offsetDF degrees of freedom, of a share with 3.
func (st *study) findLotSpread() *lotSpread {
	f, told := st.factor["lot"]
	if !told {
		return nil
	}
	seen := st.lotsSeen(f)
	if len(seen) < 2 {
		return nil
	}
	x := make([]float64, len(st.groups))
	for g, gr := range st.groups {
		x[g] = st.above[gr.level]
	}
	return spreadOfLots(seen, x, lotOffset*math.Exp(quantile(st.post.Form.LogSD[st.groupAt(0)], 0.5)), st.above[st.middleLevel()])
}

// spreadOfLots works it out of what lots read in groups of mean readings x; scaleA is the prior scale of an offset,
// and at the mean reading middle pairs are put in order.
func spreadOfLots(seen []lotSeen, x []float64, scaleA, middle float64) *lotSpread {
	const most, gap, first = 20, 0.42, -3.5
	offsets := most
	if end := scaleA * math.Exp(first+gap*(most-0.5)); lotsReach*farthestApart(seen) > end {
		offsets += int(math.Ceil(math.Log(lotsReach*farthestApart(seen)/end) / gap))
	}
	type pair struct{ a, b, log float64 }
	var all []pair
	top := math.Inf(-1)
	for i := range offsets {
		for j := range most {
			ra, rb := math.Exp(first+gap*float64(i)), math.Exp(first+gap*float64(j))
			p := pair{a: ra * scaleA, b: rb * lotShare}
			p.log = lotLikelihood(seen, x, p.a, p.b) + math.Log(ra) - (offsetDF+1)/2*math.Log1p(ra*ra/offsetDF) + math.Log(rb) - 2*math.Log1p(rb*rb/3)
			if top = math.Max(top, p.log); math.IsNaN(p.log) {
				return nil
			}
			all = append(all, p)
		}
	}
	total, sum := 0.0, 0.0
	for _, p := range all {
		total += math.Exp(p.log - top)
	}
	var drawn []pair
	for _, p := range all {
		sum += math.Exp(p.log - top)
		for len(drawn) < lotPairs && float64(len(drawn))+0.5 < sum/total*lotPairs {
			i := len(drawn) // anywhere in the cell, evenly (M. Roberts' plane sequence: powers of the plastic number)
			drawn = append(drawn, pair{a: p.a * inCell(gap, i, 0.7548776662), b: p.b * inCell(gap, i, 0.5698402910)})
		}
	}
	slices.SortStableFunc(drawn, func(p, q pair) int {
		return cmp.Compare(math.Hypot(p.a, p.b*middle), math.Hypot(q.a, q.b*middle))
	})
	l := &lotSpread{lots: float64(len(seen))}
	for _, p := range drawn {
		l.offset, l.share = append(l.offset, p.a*p.a), append(l.share, p.b*p.b)
	}
	return l
}

// farthestApart is the largest difference of two lots' mean readings in a group.
func farthestApart(seen []lotSeen) (most float64) {
	for i, a := range seen {
		for _, b := range seen[:i] {
			for g, w := range a.weight {
				if w > 0 && b.weight[g] > 0 {
					most = math.Max(most, math.Abs(a.mean[g]-b.mean[g]))
				}
			}
		}
	}
	return most
}

// inCell is the factor that leads from the middle of a cell of logarithms to its i-th place.
func inCell(gap float64, i int, step float64) float64 {
	_, u := math.Modf((float64(i) + 0.5) * step)
	return math.Exp(gap * (u - 0.5))
}

// lotLikelihood is the log likelihood of the standard deviations a and b of the lots' offsets and shares, but for a
// constant: with W_j the weights and Z_j the columns 1 and x of lot j, P_j = (W_j⁻¹ + Z_j·D·Z_jᵀ)⁻¹ by Woodbury's
// identity, and Σ P_j·(y_j − m) solved for the groups' means m.
func lotLikelihood(seen []lotSeen, x []float64, a, b float64) float64 {
	n := len(x)
	sum, pull := make([][]float64, n), make([]float64, n)
	for g := range sum {
		sum[g] = make([]float64, n)
	}
	log := 0.0
	for _, lot := range seen {
		var s11, s12, s22, y1, y2 float64
		for g, w := range lot.weight {
			s11, s12, s22 = s11+w, s12+w*x[g], s22+w*x[g]*x[g]
			y1, y2 = y1+w*lot.mean[g], y2+w*x[g]*lot.mean[g]
		}
		// (D⁻¹ + ZᵀWZ)⁻¹ = √D·(1 + √D·ZᵀWZ·√D)⁻¹·√D
		b11, b12, b22 := 1+a*a*s11, a*b*s12, 1+b*b*s22
		det := b11*b22 - b12*b12
		m11, m12, m22 := a*a*b22/det, -a*b*b12/det, b*b*b11/det
		log -= 0.5 * math.Log(det)
		for g, w := range lot.weight {
			if w == 0 {
				continue
			}
			c1, c2 := m11+m12*x[g], m12+m22*x[g]
			own := w * (lot.mean[g] - c1*y1 - c2*y2)
			pull[g] += own
			log -= 0.5 * lot.mean[g] * own
			sum[g][g] += w
			for h, v := range lot.weight {
				sum[g][h] -= w * v * (c1 + c2*x[h])
			}
		}
	}
	for g := range sum { // a group that no lot read has no say
		if sum[g][g] == 0 {
			sum[g][g] = 1
		}
	}
	rest, logDet, err := num.Whitened(sum, [][]float64{pull})
	if err != nil {
		return math.NaN()
	}
	for _, r := range rest[0] {
		log += 0.5 * r * r
	}
	return log - 0.5*logDet
}
