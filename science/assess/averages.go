package assess

import (
	"math"
	"slices"
	"sync"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// Average is how results do that are the average of several tests.
type Average struct {
	N       int        `json:"n"`
	Readers int        `json:"readers"`
	Verdict string     `json:"verdict"`
	Error95 num.Number `json:"error_95"`
	Low     num.Number `json:"error_95_low"`
	High    num.Number `json:"error_95_high"`
	// WorstAt is where that is, the worst place against what is Permitted there.
	WorstAt   num.Number `json:"worst_at"`
	Permitted num.Number `json:"permitted"`
}

// use is how a result comes about: the average of tests, each of its own vial,
// in one session with one lot, by so many readers.
type use struct{ tests, readers int }

// uses are those judged beside single results; two readers only where readers
// are known.
func (st *study) uses() []use {
	list := []use{{2, 1}, {3, 1}}
	if st.readersKnown() {
		list = append(list, use{2, 2})
	}
	return list
}

// averageFindings judges averages beside single results.
func (st *study) averageFindings() {
	for i, n := range st.needs {
		if st.opt.Brief {
			return
		}
		st.finding.Needs[i].Averages = st.averages(n, st.finding.Needs[i].Verdict)
	}
}

// averages judges averages for a need as single results are judged. The standard
// deviation of the average's latent value is
//
//	s·√(within²/n + τ_reader²/readers + Σ other τ²)
//
// with s the repeatability at the place and within² = 1 + τ_vial²: what is within a
// test falls with their number, what people, sessions and lots share does not.
// Answers that come in steps are averaged as the numbers they are taken for: each
// keeps its own rounding, whose variance falls with n, and its own shift; the
// average is taken as normal.
func (st *study) averages(n knownwater.Need, single string) []Average {
	if st.post == nil || st.rec == nil || single == NotTried {
		return []Average{}
	}
	low, high := st.span(n)
	_, open := st.uncovered(n)
	uses, spots := st.uses(), st.spots(low, high)
	return judgeUses(n, uses, spots, func(c float64) [][2]averageError { return st.averagesAt(c, uses) }, open, st.averageRule())
}

// averageRule is the rule for averages, which are taken as normal, steps or not.
func (st *study) averageRule() rule {
	by := st.rule(0)
	by.steps = false
	return by
}

// averageError is the error of averages at a place for one use, as read or corrected: what all
// draws say, and whether the upper limit stays within what is permitted.
type averageError struct {
	whole  func() ratios
	within func(permitted float64) bool
}

func averageErrorOf(g glimpse, by rule) averageError {
	return averageError{sync.OnceValue(func() ratios { return g.whole(by) }), func(permitted float64) bool { return g.within(permitted, by) }}
}

// judgeUses judges each use by its errors along the spots; where the need is open at an end it
// cannot be fit. What passes as read is not judged corrected, and of what may pass neither way only
// whether it does.
func judgeUses(n knownwater.Need, uses []use, spots []float64, at func(c float64) [][2]averageError, open bool, by rule) []Average {
	out := []Average{}
	for i, u := range uses {
		judge := func(way int) ErrorWithin {
			var places []place
			for _, c := range spots {
				places = append(places, placeOf(c, n.PermittedAt(c), [2]ratios{at(c)[i][way].whole()}))
			}
			e := errorWithin(places, func(p place) ratios { return p.raw }, by)
			if open {
				e.Verdict = unlessNotFit(e.Verdict)
			}
			return e
		}
		passes := func(c float64) bool { return at(c)[i][1].within(n.PermittedAt(c)) }
		e := judge(0)
		a := Average{N: u.tests, Readers: u.readers, Verdict: e.Verdict}
		if e.Verdict == NotFit || e.Verdict == Undecided && !open && !slices.ContainsFunc(spots, func(c float64) bool { return !passes(c) }) {
			corrected := judge(1)
			a.Verdict, e = together(e, corrected), corrected
		}
		a.Error95, a.Low, a.High, a.WorstAt, a.Permitted = e.Error95, e.Low, e.High, e.WorstAt, e.Permitted
		out = append(out, a)
	}
	return out
}

// span is the part of a need that knowns reached.
func (st *study) span(n knownwater.Need) (low, high float64) {
	return math.Min(math.Max(n.Low, st.rec.Bottom), st.rec.Top), math.Max(math.Min(n.High, st.rec.Top), st.rec.Bottom)
}

// lessThanOne is by what an average scatters less than a single result, for the
// draws of behaviour.some: the same at every place where every part is a share of the repeatability, but for what a lot that
// was not tried adds, which is left as it is.
func (st *study) lessThanOne(u use, at between) (wide, form []float64) {
	if l, ok := st.less[u]; ok {
		return l[0], l[1]
	}
	wide = st.lessOf(st.post.Wide, u, at, false)
	if form = wide; st.upper() != st.post.Wide || st.tellsUntried() {
		form = st.lessOf(st.upper(), u, at, true)
	}
	if st.post.Wide.Flat() {
		return wide, form
	}
	if st.less == nil {
		st.less = map[use][2][]float64{}
	}
	st.less[u] = [2][]float64{wide, form}
	return wide, form
}

func (st *study) lessOf(d *posterior.Draws, u use, at between, untried bool) []float64 {
	nested := posterior.None
	if f, ok := st.factor["vial"]; ok {
		nested = f
	}
	reader, known := st.factor["reader"]
	out := make([]float64, d.Len()/everyOf)
	for i := range out {
		k := everyOf * i
		within := at.within(d, k, nested)
		square := within * within / float64(u.tests)
		for f := range d.Ratio {
			part := at.part(d, f, k)
			part *= part
			switch {
			case f == nested:
			case untried && st.lots != nil && f == st.factor["lot"]: // by itself
			case known && f == reader:
				if untried {
					over := at.over(d, f, k)
					part = st.anyReader(d).tau[k] * over * over
				}
				square += part / float64(u.readers)
			default:
				square += part
			}
		}
		whole := at.whole(d, k)
		if untried {
			whole = math.Sqrt(st.ofAnybody(d, k, at, st.anyReader(d)))
		}
		out[i] = math.Sqrt(square) / whole
	}
	return out
}

// averagesAt are the errors of averages at c, as read and corrected, for every use; the
// same for every need.
func (st *study) averagesAt(c float64, uses []use) [][2]averageError {
	if out, ok := st.averaged[c]; ok {
		return out
	}
	by := st.averageRule()
	ways := [2]errorAt{normalAt(c), normalAt(c)}
	told := ways
	if !st.inSteps() {
		ways[0], told[0] = st.errorAt(c, false)
		ways[1], told[1] = st.errorAt(c, true)
	}
	out := make([][2]averageError, len(uses))
	numbers, toldNumbers := st.numbersAt(c)
	for i, u := range uses {
		for way, e := range ways {
			d := st.averageDraws(c, u)
			if st.inSteps() {
				d = joined(numbers, toldNumbers, way, d, u)
			}
			out[i][way] = averageErrorOf(glimpseAt(e, told[way], d, 1), by)
		}
	}
	if st.averaged == nil {
		st.averaged = map[float64][][2]averageError{}
	}
	st.averaged[c] = out
	return out
}

// averageDraws are the draws of averages at c, as far as they scatter: of every second draw.
func (st *study) averageDraws(c float64, u use) drawsOf {
	b := st.behaviourAt(c)
	at := st.along(c)
	wide, form := st.lessThanOne(u, at)
	above := at.above
	less := func(list []record.Normal, by []float64, lots *lotSpread) func(k int) record.Normal {
		return func(k int) record.Normal {
			d := list[everyOf*k]
			if lots == nil {
				d.SD *= by[k]
				return d
			}
			lot := lots.at(everyOf*k, above)
			d.SD = math.Sqrt(math.Max(0, d.SD*d.SD-lot)*by[k]*by[k] + lot)
			return d
		}
	}
	d := drawsOf{forms: len(b.form) / everyOf, wides: len(b.wide) / everyOf, form: less(b.form, form, st.lots), wide: less(b.wide, wide, nil), varMean: func() float64 { return b.varMean }}
	if step := st.rec.Shown.Step; step > 0.3*b.wide[len(b.wide)/2].SD { // else rounding is nothing, however often
		d.formShown = averageShown(d.form, form, u, step, 0)
		least := 0.0
		if st.along(c).of(func(g int) bool { return st.groups[g].hides }) {
			least = step * step * leastRounding(u.tests)
		}
		d.wideShown = averageShown(d.wide, wide, u, step, least)
	}
	return d
}

// averageShown is how averages of n tests are rounded that a display shows in steps w. What tests do not share, of variance
// v, moves each to another number or not: of the rounding's variance w²/12 the part B that hits all alike
// (num.RoundingShared) stays, and the rest R falls with n. It is counted as scatter and as a rectangle together, so that
// the fourth cumulant, that of R falling with n³, is a rectangle's:
//
//	step²/12 = B + R/n^1.5,  scatter² = average's² + R·(1/n − 1/n^1.5)
//
// half of the middle 95 % is then right to 1.3 %, most to 0.5, at any v (TestAveragesOfWhatIsShownInSteps). v follows
// from by what an average scatters less than a single test, by² = 1 − (1 − 1/n)·v/single²; it is taken for no less than
// least, where that is given, and what is told for smaller by what it is right to.
func averageShown(of func(k int) record.Normal, by []float64, u use, w, least float64) func(k int) rounded {
	n := float64(u.tests)
	steeply := math.Pow(n, -1.5)
	return func(k int) rounded {
		sd := of(k).SD
		v := math.Max(0, 1-by[k]*by[k]) / (1 - 1/n) * sd * sd / (by[k] * by[k])
		right := 1.0
		if least > 0 {
			right -= shownTo
		}
		if v < least {
			sd, v = math.Sqrt(sd*sd+(least-v)/n), least
		}
		shared := w * w * num.RoundingShared(math.Sqrt(v)/w)
		rest := math.Max(0, w*w/12-shared)
		return roundedBy(right*math.Sqrt(sd*sd+rest*(1/n-steeply)), right*math.Sqrt(12*(shared+rest*steeply)))
	}
}

// shownTo is to what share half of the middle 95 % of averages is right, at most (averageShown).
const shownTo = 0.013

// leastRounding is the variance of a single test, in squares of the step, at which averages of n that a display shows err least:
// with less they are rounded alike, with more they scatter. Where the scatter of a known may hide in the steps, what is told
// against averages has to hold at it.
func leastRounding(n int) float64 {
	if v, known := roundings.Load(n); known {
		return v.(float64)
	}
	errs := func(v float64) float64 {
		of := func(int) record.Normal { return record.Normal{SD: math.Sqrt(v / float64(n))} }
		return averageShown(of, []float64{1 / math.Sqrt(float64(n))}, use{tests: n}, 1, 0)(0).half95(0)
	}
	best := 1e-4
	for v := best; v < 0.5; v *= 1.05 {
		if errs(v) < errs(best) {
			best = v
		}
	}
	roundings.Store(n, best)
	return best
}

var roundings sync.Map

// everyOf is how many draws there are to each that averages take: draws stand in the order of their spreads,
// and of how high they lie within that (package posterior), so that every second has about the limits that all
// have; and averages are many.
const everyOf = 2

// joined are averages of answers in steps, as numbers: their means, their roundings' standard
// deviation divided by the root of their number, and the scatter of what was averaged.
func joined(numbers, told func() [2]behaviour, way int, average drawsOf, u use) drawsOf {
	root := math.Sqrt(float64(u.tests))
	at := func(of func() [2]behaviour, scatter func(k int) record.Normal) func(k int) record.Normal {
		return func(k int) record.Normal {
			d := of()[way].wide[k]
			return record.Normal{Mean: d.Mean, SD: math.Hypot(d.SD/root, scatter(k).SD)}
		}
	}
	return drawsOf{forms: average.wides, wides: average.wides, form: at(numbers, average.form), wide: at(told, average.wide), varMean: func() float64 { return told()[way].varMean }}
}

// normalAt is error_95 of results that are normal themselves.
func normalAt(c float64) errorAt {
	return errorAt{centre: c, of: func(dist record.Normal) float64 {
		if !(dist.SD > 0) {
			return math.Abs(dist.Mean - c)
		}
		return dist.SD * half95(math.Abs(dist.Mean-c)/dist.SD)
	}}
}

// value is what an answer is turned round to; infinite where it is open above.
func (t turn) value(a record.Answer) float64 {
	if a.Seen.OpenAbove() {
		return math.Inf(1)
	}
	low := a.Seen.Low
	if a.Seen.OpenBelow() {
		low = math.Min(t.mean[0], a.Seen.High)
	}
	return math.Max(0, record.InvertOn(t.grid, t.mean, (low+a.Seen.High)/2))
}

// seldomOpen is the chance of an answer without a value that an average bears.
const seldomOpen = 0.002

// numbersAt are single results at c as the numbers that their answers are taken for, as read and
// turned round: by draw their mean, and the standard deviation that the steps add to the scatter; told are
// those by which "not fit" is said.
func (st *study) numbersAt(c float64) (numbers, told func() [2]behaviour) {
	without, found := st.turnsAt(c)
	numbers = st.numbersBy(c, without)
	if told = numbers; !found.is(without) {
		told = st.numbersBy(c, found)
	}
	return numbers, told
}

func (st *study) numbersBy(c float64, t turn) func() [2]behaviour {
	return sync.OnceValue(func() [2]behaviour {
		value := make([][2]float64, len(st.rec.Shown.Answers))
		for i, a := range st.rec.Shown.Answers {
			value[i] = [2]float64{a.Value, t.value(a)}
		}
		wide := st.behaviourAt(c).wide
		read, turned := make([]record.Normal, len(wide)/everyOf), make([]record.Normal, len(wide)/everyOf)
		for k := range read {
			d := wide[everyOf*k]
			read[k], turned[k] = asNumber(d, st.answersAs(d.Sharing), value)
		}
		return [2]behaviour{{wide: read, varMean: varianceOf(read)}, {wide: turned, varMean: varianceOf(turned)}}
	})
}

// asNumber is one draw of them.
func asNumber(d record.Normal, answers []record.Answer, value [][2]float64) (raw, corr record.Normal) {
	var sum, mean, square [2]float64
	below := 0.0
	for i, a := range answers {
		upTo := num.QuickPhi((a.Seen.High - d.Mean) / d.SD)
		p := upTo - below
		if below = upTo; p < 1e-9 {
			continue
		}
		for j, v := range value[i] {
			if math.IsInf(v, 0) && p < seldomOpen {
				continue
			}
			sum[j], mean[j], square[j] = sum[j]+p, mean[j]+p*v, square[j]+p*v*v
		}
	}
	of := func(j int) record.Normal {
		m := mean[j] / sum[j]
		if math.IsInf(m, 0) || math.IsNaN(m) {
			return record.Normal{Mean: math.MaxFloat32, SD: 1}
		}
		return record.Normal{Mean: m, SD: math.Sqrt(math.Max(0, square[j]/sum[j]-m*m-d.SD*d.SD))}
	}
	return of(0), of(1)
}

func varianceOf(list []record.Normal) float64 {
	means := make([]float64, len(list))
	for i, d := range list {
		means[i] = d.Mean
	}
	return variance(means)
}
