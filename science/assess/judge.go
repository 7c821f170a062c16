package assess

import (
	"math"

	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// ratios are what the draws say of log(error_95 ÷ permitted) at one place.
type ratios struct {
	middle, high float64 // quantiles under the prior that favours a form, or of steps the wide one: "fit" and upper limits
	low          float64 // … under the wide one
	wide         sample  // under the wide one, the bias made smaller by its doubt: "not fit" and lower limits
	own          sample  // … without any bias; none of errors in steps
	by           float64 // log of what is permitted, to be taken off all of them
}

// sample is what a band below the draws of an error is made of, on the scale of logarithms.
// Places are many and draws are many, so that it keeps no more.
type sample struct {
	n            int       // draws
	centre, unit float64   // the median, and how far below it the 15.9 % quantile lies
	low          []int32   // the draws that lie a unit or more below the median: what is nearer has no say in a band
	drops        []float64 // … and by how many units
	steps        steps     // of errors in steps, instead
}

// sampleOf makes one of errors.
func sampleOf(errors []float64, inSteps bool) (s sample) {
	if inSteps {
		return sample{n: len(errors), steps: stepsOf(errors)}
	}
	q := num.QuantilesOf(errors, 0.159, 0.5)
	return sampleAlong(errors, q[0], q[1], func(e float64) float64 { return e })
}

// sampleAlong makes one of errors that rise with something that is drawn, whose 15.9 % quantile
// and median are given.
func sampleAlong(draws []float64, below, median float64, errorOf func(x float64) float64) sample {
	log := func(x float64) float64 { return logOr(errorOf(x), -endless) }
	s := sample{n: len(draws), centre: log(median)}
	s.unit = math.Max(s.centre-log(below), 1e-9)
	room := len(draws)*16/100 + 1
	s.low, s.drops = make([]int32, 0, room), make([]float64, 0, room)
	for k, x := range draws {
		if !(x >= below) {
			s.low, s.drops = append(s.low, int32(k)), append(s.drops, (s.centre-log(x))/s.unit)
		}
	}
	return s
}

// less takes what is permitted off; what says nothing stays so.
func (r ratios) less(log float64) float64 {
	if math.Abs(log) >= endless {
		return log
	}
	return math.Min(math.Max(log-r.by, -endless), endless)
}

// behaviour is how readings are distributed at a concentration, by draw.
type behaviour struct {
	wide, form []record.Normal
	varMean    float64 // of the mean over the wide draws
}

// drawsOf are those of a behaviour, each worked out when it is asked for.
type drawsOf struct {
	forms, wides int
	form, wide   func(k int) record.Normal
	varMean      func() float64
	// of averages of numbers whose steps count: how these are rounded
	formShown, wideShown func(k int) rounded
}

func (b behaviour) draws() drawsOf {
	return drawsOf{forms: len(b.form), wides: len(b.wide), form: func(k int) record.Normal { return b.form[k] }, wide: func(k int) record.Normal { return b.wide[k] },
		varMean: func() float64 { return b.varMean }}
}

// drawsAt are those at c, ahead those that further readings would leave.
func (st *study) drawsAt(c float64) drawsOf {
	if st.ahead != nil {
		return st.ahead.at(c)
	}
	return st.behaviourAt(c).draws()
}

// behaviourAt are the draws of mean and whole spread at c. They are kept while needs are judged:
// single results and averages, of the method and of its procedure, ask for the same.
func (st *study) behaviourAt(c float64) behaviour {
	b, ok := st.behaves[c]
	if !ok {
		b = st.behaviour(c)
		if st.behaves == nil {
			st.behaves = map[float64]behaviour{}
		}
		st.behaves[c] = b
	}
	return b
}

func (st *study) behaviour(c float64) behaviour {
	var b behaviour
	if st.post == nil {
		idx := record.Thin(len(st.singles))
		for i, k := range idx {
			b.wide = append(b.wide, record.Normal{Mean: st.rec.Response.Draw(i, c), SD: st.singles[k]})
		}
		b.form = b.wide
	} else {
		wide, form := st.post.Wide, st.post.Form
		b.wide = st.normalsAt(c, wide, 0, wide.Len(), false)
		switch {
		case !st.inSteps():
			st.besideHidden(c, b.wide)
			b.form = st.normalsAt(c, form, wide.Len(), form.Len(), true)
		case st.tellsUntried():
			b.form = st.normalsAt(c, wide, 0, wide.Len(), true)
		default:
			b.form = b.wide
		}
		b.wide = st.surely(b.wide, st.along(c))
	}
	if st.noScatter {
		b.wide = steady(b.wide)
	}
	b.varMean = varianceOf(b.wide)
	return b
}

// besideHidden takes the lesser spread of two neighbouring knowns at what lies between them, where the scatter of one hides
// in the steps: how soon it is as small as that, or ceases to be, nobody saw.
func (st *study) besideHidden(c float64, wide []record.Normal) {
	at := st.along(c)
	if !(at.t > 0) || !at.of(func(g int) bool { return st.groups[g].hides }) {
		return
	}
	d, ends := st.post.Wide, [2]between{st.atGroup(at.a), st.atGroup(at.b)}
	for i := range wide {
		k := i * d.Len() / len(wide)
		wide[i].SD = min(wide[i].SD, st.total(d, k, ends[0]), st.total(d, k, ends[1]))
	}
}

// leastScatter are the wide draws at c with what a lower limit may not count on taken away: scatter where hands that never
// scatter may have read a known, as no form of the other knowns' spreads bounds it from below, and what vials differ by
// where each known has one. nil where there is nothing of the kind.
func (st *study) leastScatter(c float64, wide []record.Normal) []record.Normal {
	at := st.along(c)
	switch {
	case st.post == nil:
		return nil
	case at.of(func(g int) bool { return st.groups[g].steady }):
		return steady(wide)
	case st.post.Wide.Unseen == nil:
		return nil
	}
	d, out := st.post.Wide, make([]record.Normal, len(wide))
	for i, n := range wide {
		n.SD = st.ofOneVial(i*d.Len()/len(wide), at)
		out[i] = n
	}
	return out
}

// mayNotScatter says whether what is told somewhere has to hold for hands without any scatter.
func (st *study) mayNotScatter(at between) bool {
	return st.noScatter || at.of(func(g int) bool { return st.groups[g].steady })
}

// steady are draws of hands that hardly scatter (study.noScatter): what is told against a method
// has to hold for the steadiest hands that may have read it.
func steady(draws []record.Normal) []record.Normal {
	out := make([]record.Normal, len(draws))
	for k, d := range draws {
		d.SD *= hardly
		out[k] = d
	}
	return out
}

// hardly is what steady hands scatter of what they were drawn with.
const hardly = 1e-3

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
// posteriors one after the other, from first on. untried: with lots and readers that were not tried as these may be; not so where
// lower limits are told, which lean on the posterior's alone.
func (st *study) normalsAt(c float64, d *posterior.Draws, first, most int, untried bool) []record.Normal {
	at := st.along(c)
	n := min(most, d.Len())
	out := make([]record.Normal, n)
	var off []float64
	if untried = untried && st.tellsUntried(); untried {
		off = normals(n, lotsTask)
	}
	for i := range out {
		k := i * d.Len() / n
		mean := st.resp.Draw(first+k, c)
		if math.IsNaN(mean) || math.IsInf(mean, 0) { // a bent shape's draw that ran off
			mean = st.resp.At(c)
		}
		var sd float64
		if !untried {
			sd = st.total(d, k, at)
		} else {
			mean, sd = mean+math.Sqrt(st.averageOff(d, k, at, st.anyReader(d)))*off[i], st.totalOfAny(d, k, at)
		}
		out[i] = record.Normal{Mean: mean, SD: sd, Sharing: d.Share[k]}
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

// ratiosAt works out error_95 by draw, in the wide draws with less bias.
func ratiosAt(e, told errorAt, b behaviour, by rule) ratios {
	return glimpseAt(e, told, b.draws(), 1).whole(by)
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
// limit stays within.
func errorWithin(places []place, of func(place) ratios, by rule) ErrorWithin {
	var wide, own []sample
	worst := 0
	fit := true
	for i, p := range places {
		r := of(p)
		wide, own = append(wide, r.wide), append(own, r.own)
		if w := of(places[worst]); r.less(r.middle) > w.less(w.middle) {
			worst = i
		}
		fit = fit && r.less(r.high) <= 0
	}
	low, notFit := bandOf(wide, own, by), false
	told := worst // the place at which the band lies highest
	for i, p := range places {
		low[i] = of(p).less(low[i])
		notFit = notFit || low[i] > 0
	}
	for i := range low {
		if low[i] > low[told] {
			told = i
		}
	}
	p, r := places[worst], of(places[worst])
	middle := r.less(r.middle)
	if notFit && !(low[worst] > 0) { // told by another place: name that
		worst, p, r = told, places[told], of(places[told])
		middle = math.Max(r.less(r.middle), low[told])
	}
	e := ErrorWithin{Undecided, num.Number(p.at), backTo(middle, p.permitted), backTo(math.Min(low[worst], middle), p.permitted),
		backTo(math.Max(r.less(r.high), middle), p.permitted), num.Number(p.permitted)}
	switch {
	case notFit:
		e.Verdict = NotFit
	case fit:
		e.Verdict = Fit
	}
	return e
}

// bandOf is the lower band of the errors, with the bias or without. Errors that come in
// steps have no own: an answer that happens to be right may have less error than the spread alone.
func bandOf(wide, own []sample, by rule) (low []float64) {
	low = lowerBand(wide, by)
	if by.steps {
		return low
	}
	for i, l := range lowerBand(own, by) {
		low[i] = math.Max(low[i], l)
	}
	return low
}

// endless is log(error/permitted) of results that say nothing, and −endless that of exact ones; logs are kept to it.
const endless = 13.8

// backTo is the error itself; none where there is no end to it, nothing where results are exact.
func backTo(log, permitted float64) num.Number {
	switch {
	case log >= endless:
		return num.None
	case log <= -endless:
		return 0
	}
	return num.Number(math.Exp(log) * permitted)
}

func along(p place) AlongNeed {
	limits := func(r ratios) (middle, low, high num.Number) {
		m := r.less(r.middle)
		return backTo(m, p.permitted), backTo(math.Min(m, r.less(r.low)), p.permitted), backTo(math.Max(m, r.less(r.high)), p.permitted)
	}
	a := AlongNeed{At: p.at, Permitted: p.permitted}
	a.Raw, a.RawLow, a.RawHigh = limits(p.raw)
	a.Corrected, a.CorrLow, a.CorrHigh = limits(p.corr)
	return a
}
