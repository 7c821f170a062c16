package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/num"
	"knownwater/science/posterior"
)

// readerDF is how many degrees of freedom the half-t has by which a reader who was not tried is told, as offsets of lots are; its
// scale is that of the posterior's τ. Two to four readers hardly speak up against a prior that falls off as that of τ, with 3: of
// newcomers who differ from them by two repeatabilities, as these from one another, 11, 10 and 7 of 100 lay outside 95 % limits, by four
// 23, 15 and 12; with ½ 4, 5 and 5, and 8, 7 and 6 (worked out for readers known to a fifth of a repeatability; ¼: 3, 5 and 5, and 6, 6
// and 5, for limits that are wider by a fifth where two who were tried differ as they repeat).
const readerDF = 0.5

// limitDF is as many where upper limits are told and "fit", which are 97.5 % points of the same draws and the wider by it: with 3 degrees
// of freedom "fit" was said of 7, 9 and 9 in 80 displays read by two, three and four readers who differ by four repeatabilities, with
// an error that is exactly what is permitted.
const limitDF = 1

// anyReader is, by draw, the variance of a reader who was not tried, in units of the square of repeatability, and how much more the
// average of those tried may lie off that of all than the draws of the means have it. The posterior's effects say how far those
// lie apart who were tried, Σ(a − ā)² = S of n; given S, τ has the density
//
//	τ^−(n−1)·exp(−S/2τ²)·(1 + τ²/νw²)^−(ν+1)/2
//
// with ν readerDF or limitDF and w the scale of the posterior's prior, whose own ν is 3. Of tau there may be several a draw, those of all draws one after the other.
type anyReader struct{ tau, average []float64 }

// severalReaders a draw tell upper limits of spreads: those who differ most, whom these rest on, are few among one a draw (the limits' Monte Carlo error
// was 3.3 % of their interval in the middle, 2.0 with them).
const severalReaders = 8

// A table of log τ goes in steps of tauGap from a tenth of what the least S says to so far above what the largest says that fewer
// than one in 10,000 lie beyond; where S/2τ² is above farTail + n it counts for nothing.
const (
	tauGap  = 0.1
	farTail = 40
)

// newReaders are those of a study: by draws of both priors where limits are told, and of that which favours a form for later readings;
// nil where the design cannot tell readers from each other.
type newReaders struct {
	wide, form, later *anyReader
	newcomer          newcomer
}

func (st *study) findNewReaders() (r newReaders) {
	f, told := st.factor["reader"]
	if !told {
		return r
	}
	of := func(d *posterior.Draws, df float64, several int) *anyReader {
		return readersAnew(d.Effect[f], d.Ratio[f], st.data.Factors[f].Scale, df, several)
	}
	r = newReaders{wide: of(st.post.Wide, limitDF, severalReaders), form: of(st.post.Form, limitDF, 1), later: of(st.post.Form, readerDF, 1)}
	r.newcomer = r.later.newcomer()
	return r
}

// newcomer is how a reader who was not tried reads off the average of all, in repeatabilities: the chances below places from 0 up of
// the mixture over draws. Few draws of an effect, each about 0 by its own τ, would have a mean far off 0 where one of the largest
// stands alone; quantiles lie evenly on both sides.
type newcomer struct{ at, chance []float64 }

// Places of a newcomer lie as sinh(i·newcomerGap)·newcomerFirst; newcomerDraws are taken of its mixture.
const (
	newcomerFirst = 0.05
	newcomerGap   = 0.1
	newcomerSteps = 120
	newcomerDraws = 250
)

func (a *anyReader) newcomer() (r newcomer) {
	var sd []float64
	n := min(newcomerDraws, len(a.average))
	for i := range n {
		k := (2*i + 1) * len(a.average) / (2 * n)
		sd = append(sd, math.Sqrt(a.tau[k]+a.average[k]))
	}
	for i := range newcomerSteps {
		x, p := newcomerFirst*math.Sinh(newcomerGap*float64(i)), 0.0
		for _, s := range sd {
			p += num.QuickPhi(x/s) / float64(n)
		}
		r.at, r.chance = append(r.at, x), append(r.chance, p)
	}
	return r
}

// quantile is its p-quantile; 0 where readers cannot be told from each other.
func (r newcomer) quantile(p float64) float64 {
	if r.at == nil {
		return 0
	}
	if p < 0.5 {
		return -r.quantile(1 - p)
	}
	i := min(max(sort.SearchFloat64s(r.chance, p), 1), len(r.at)-1)
	return r.at[i-1] + (r.at[i]-r.at[i-1])*math.Min(1, (p-r.chance[i-1])/(r.chance[i]-r.chance[i-1]))
}

// anyReader is that of limits in draws of one of the priors.
func (st *study) anyReader(d *posterior.Draws) *anyReader {
	if d == st.post.Form {
		return st.newReaders.form
	}
	return st.newReaders.wide
}

// tellsUntried says whether what a lot or a reader adds who was not tried is told.
func (st *study) tellsUntried() bool { return st.lots != nil || st.newReaders.wide != nil }

// readersAnew is that of readers' effects, [reader][draw], and the standard deviations that the draws have, by a half-t of so many
// degrees of freedom, so many of each draw.
func readersAnew(effect [][]float64, had []float64, scale, df float64, several int) *anyReader {
	n := float64(len(effect))
	squares := make([]float64, len(had))
	for k := range squares {
		mean := 0.0
		for _, a := range effect {
			mean += a[k] / n
		}
		for _, a := range effect {
			squares[k] += (a[k] - mean) * (a[k] - mean)
		}
		if squares[k] = math.Max(squares[k], 1e-8); !(squares[k] < 1e12) { // beyond a million repeatabilities all are alike
			squares[k] = 1e12
		}
	}
	first := 0.5*num.Log(slices.Min(squares)/n) - 2.3
	steps := int((0.5*num.Log(slices.Max(squares)+scale*scale)+9.3/(n-1+df)+1-first)/tauGap) + 1
	tau, weight := make([]float64, steps), make([]float64, steps)
	for i := range tau {
		tau[i] = num.Exp(first + (float64(i)+0.5)*tauGap)
		r := tau[i] / scale
		weight[i] = (2-n)*num.Log(tau[i]) - (df+1)/2*math.Log1p(r*r/df) // log, of log τ
	}
	out := &anyReader{make([]float64, several*len(had)), make([]float64, len(had))}
	sums := make([]float64, steps)
	for k, s := range squares {
		sum, began, about := 0.0, 0, (2-n)/2*num.Log(s/n)
		for i, t := range tau {
			if e := s / (2 * t * t); e < farTail+n {
				sum += num.Exp(weight[i] - about - e)
			} else {
				began = i + 1
			}
			sums[i] = sum
		}
		for one := range several {
			_, part := math.Modf(reversed(k, 11) + float64(one)/float64(several))
			want := part * sum
			i := began + sort.SearchFloat64s(sums[began:], want)
			before := 0.0
			if i > 0 {
				before = sums[i-1]
			}
			t := tau[i] * num.Exp(tauGap*((want-before)/(sums[i]-before)-0.5))
			out.tau[one*len(had)+k] = t * t
		}
		out.average[k] = math.Max(0, out.tau[k]-had[k]*had[k]) / n
	}
	return out
}
