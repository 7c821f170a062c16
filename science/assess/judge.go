package assess

import (
	"math"

	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// judgeDraws is how many draws of each posterior the error of single results is
// worked out for; upper limits, which rest on the few highest, take all there are.
const judgeDraws = 1000

// ratios are draws of log(error_95/permitted) at one place.
type ratios struct {
	form []float64 // under the prior that favours a form, or of steps the wide one: "fit" and upper limits
	wide []float64 // under the wide one, the bias made smaller by its doubt: "not fit" and lower limits
	own  []float64 // … without any bias
}

// behaviour is how readings are distributed at a concentration, by draw.
type behaviour struct {
	wide, form []record.Normal
	varMean    float64 // of the mean over the wide draws
}

// switchedDraws is how many of them averages and procedures are judged by.
const switchedDraws = 500

// fewer keeps at most switchedDraws draws, evenly.
func (b behaviour) fewer() behaviour {
	thin := func(list []record.Normal) []record.Normal {
		if len(list) <= switchedDraws {
			return list
		}
		out := make([]record.Normal, switchedDraws)
		for i := range out {
			out[i] = list[i*len(list)/switchedDraws]
		}
		return out
	}
	return behaviour{thin(b.wide), thin(b.form), b.varMean}
}

// behaviourAt are the draws of mean and whole spread at c.
func (st *study) behaviourAt(c float64) behaviour {
	if st.ahead != nil {
		return st.ahead.at[c]
	}
	var b behaviour
	if st.post == nil {
		idx := record.Thin(len(st.singles))
		for i, k := range idx {
			b.wide = append(b.wide, record.Normal{Mean: st.rec.Response.Draw(i, c), SD: st.singles[k]})
		}
		b.form = b.wide
	} else {
		b.wide = st.normalsAt(c, st.post.Wide, 0, judgeDraws)
		b.form = b.wide
		if !st.inSteps() {
			b.form = st.normalsAt(c, st.post.Form, st.post.Wide.Len(), st.post.Form.Len())
		}
	}
	b.varMean = varianceOf(b.wide)
	return b
}

// inSteps says whether results come in steps, as a chart's and drops' do.
func (st *study) inSteps() bool { return st.rec.Shown.Answers != nil }

// upper are the draws by which "fit" and upper limits are told: those under the prior
// that favours a form, and of answers in steps the wide ones. Levels at which all readings
// gave one answer say nothing of how the spread goes, a form that the few others agree
// with is soon taken for sure, and one step more is a jump of the error: on made-up
// charts (docs/accuracy.md) the error went above the limit three times as often as it may.
func (st *study) upper() *posterior.Draws {
	if st.inSteps() {
		return st.post.Wide
	}
	return st.post.Form
}

// normalsAt takes so many draws evenly; the response has those of all
// posteriors one after the other, from first on.
func (st *study) normalsAt(c float64, d *posterior.Draws, first, most int) []record.Normal {
	at := st.along(c)
	n := min(most, d.Len())
	out := make([]record.Normal, n)
	for i := range out {
		k := i * d.Len() / n
		mean := st.resp.Draw(first+k, c)
		if math.IsNaN(mean) || math.IsInf(mean, 0) { // a bent shape's draw that ran off
			mean = st.resp.At(c)
		}
		out[i] = record.Normal{Mean: mean, SD: st.total(d, k, at), Sharing: d.Share[k]}
	}
	return out
}

// lessBias makes the square of a draw's bias smaller by twice its variance: a squared
// draw counts the doubt of the bias once more than it is there.
func lessBias(d record.Normal, centre, varMean float64) record.Normal {
	bias := d.Mean - centre
	d.Mean = centre + math.Copysign(math.Sqrt(math.Max(0, bias*bias-2*varMean)), bias)
	return d
}

// logRatio is log(error ÷ permitted) through a switch, kept to a million either way.
func logRatio(error, permitted float64) float64 {
	return math.Log(math.Min(math.Max(error/permitted, 1e-6), 1e6))
}

// ratiosAt works out error_95 ÷ permitted by draw, in the wide draws with less bias.
func ratiosAt(e errorAt, b behaviour, permitted float64) ratios {
	return glimpseAt(e, b, permitted).whole()
}

// logOr is a ratio's logarithm, kept within endless; unknown of a response that ran off,
// which says nothing, neither for nor against.
func logOr(ratio, unknown float64) float64 {
	v := math.Log(ratio)
	if math.IsNaN(v) {
		return unknown
	}
	return math.Min(math.Max(v, -endless), endless)
}

// errorWithin gives the verdict over all places, and the error where it is worst.
//
// Not fit where a lower band that holds at all places at once lies above what is
// permitted at any, with the bias or without; fit where at every place the upper
// 97.5 % limit stays within.
func errorWithin(places []place, of func(place) ratios, by rule) ErrorWithin {
	var wide, own [][]float64
	middle, high := make([]float64, len(places)), make([]float64, len(places))
	worst := 0
	fit := true
	for i, p := range places {
		r := of(p)
		wide, own = append(wide, r.wide), append(own, r.own)
		middle[i], high[i] = quantile(r.form, 0.5), quantile(r.form, 0.975)
		if middle[i] > middle[worst] {
			worst = i
		}
		fit = fit && high[i] <= 0
	}
	low, notFit := bandOf(wide, own, by)
	p := places[worst]
	back := func(log float64) num.Number { return backTo(log, p.permitted) }
	e := ErrorWithin{Undecided, num.Number(p.at), back(middle[worst]), back(math.Min(low[worst], middle[worst])), back(math.Max(high[worst], middle[worst])), num.Number(p.permitted)}
	switch {
	case notFit:
		e.Verdict = NotFit
		if !(low[worst] > 0) { // told by another place: name that
			e = worstByBand(places, of, low)
		}
	case fit:
		e.Verdict = Fit
	}
	return e
}

// bandOf is the lower band of the errors, with the bias or without, and whether it lies
// above what is permitted anywhere. Errors that come in steps have no own.
func bandOf(wide, own [][]float64, by rule) (low []float64, notFit bool) {
	low = lowerBand(wide, by)
	spread := low
	if !by.steps { // an answer that happens to be right may have less error than the spread alone
		spread = lowerBand(own, by)
	}
	for i := range low {
		low[i] = math.Max(low[i], spread[i])
		notFit = notFit || low[i] > 0
	}
	return low, notFit
}

// endless is log(error/permitted) of results that say nothing; logs are kept to it.
const endless = 13.8

// backTo is the error itself; none where there is no end to it.
func backTo(log, permitted float64) num.Number {
	if log >= endless {
		return num.None
	}
	return num.Number(math.Exp(log) * permitted)
}

// worstByBand names the place at which the band lies highest.
func worstByBand(places []place, of func(place) ratios, low []float64) ErrorWithin {
	i := 0
	for j := range low {
		if low[j] > low[i] {
			i = j
		}
	}
	p := places[i]
	r := of(p)
	middle := math.Max(quantile(r.form, 0.5), low[i])
	back := func(log float64) num.Number { return backTo(log, p.permitted) }
	return ErrorWithin{NotFit, num.Number(p.at), back(middle), back(low[i]), back(math.Max(quantile(r.form, 0.975), middle)), num.Number(p.permitted)}
}

func along(p place) AlongNeed {
	limits := func(r ratios) (middle, low, high num.Number) {
		m, h := quantile(r.form, 0.5), quantile(r.form, 0.975)
		return backTo(m, p.permitted), backTo(math.Min(m, quantile(r.wide, 0.025)), p.permitted), backTo(math.Max(m, h), p.permitted)
	}
	a := AlongNeed{At: p.at, Permitted: p.permitted}
	a.Raw, a.RawLow, a.RawHigh = limits(p.raw)
	a.Corrected, a.CorrLow, a.CorrHigh = limits(p.corr)
	return a
}
