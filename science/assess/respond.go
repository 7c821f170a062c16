package assess

import (
	"errors"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
)

// respond finds the response, its line and its shape, and from them the record
// of performance that all further findings are read off.
func (st *study) respond() {
	f := &st.finding
	f.Line = Line{num.None, num.None, num.None, num.None, num.None}
	if len(st.levels) < 2 {
		st.note(note.New("one-level"))
		return
	}
	if st.post != nil {
		st.knowFromPosterior()
	} else if !st.knowFromSingles() {
		return
	}
	resp, err := st.fitResponse()
	st.lineFinding()
	if err != nil {
		st.note(note.New("no-response-fitted").Since(whyNoFit(err)))
		return
	}
	if resp.At(st.top()) <= resp.At(st.levels[0].value) {
		st.note(note.New("not-rising"))
		return
	}
	st.resp = resp
	st.rec = st.newRecord(resp)
	st.shapeFinding(resp)
}

func (st *study) top() float64 { return st.levels[len(st.levels)-1].value }

// knowFromPosterior takes the draws of the level means, and draws the knowns'
// errors: a part that all levels share, and a part of each level's own.
func (st *study) knowFromPosterior() {
	p := st.post
	wide := p.Wide.Len()
	n := wide + p.Form.Len()
	st.know = record.Knowledge{Lead: wide, Signal: st.isSignal()}
	st.know.Draw = make([][]float64, n)
	room := make([]float64, n*len(st.levels))
	for k := range n {
		st.know.Draw[k] = room[k*len(st.levels):][:0:len(st.levels)]
	}
	for i, l := range st.levels {
		g := st.groupAt(i)
		st.know.Level = append(st.know.Level, l.value)
		st.know.Mean = append(st.know.Mean, st.bestMean(g))
		for k := range n {
			if k < wide {
				st.know.Draw[k] = append(st.know.Draw[k], p.Wide.Mean[g][k])
			} else {
				st.know.Draw[k] = append(st.know.Draw[k], p.Form.Mean[g][k-wide])
			}
		}
	}
	st.know.Known = st.drawKnowns(n)
	st.know = st.know.Settled()
}

// bestMean is the most likely mean; where no value inside the interval is
// better than another, the average of the draws.
func (st *study) bestMean(g int) float64 {
	if st.groups[g].oneInterval {
		return num.Mean(st.post.Wide.Mean[g])
	}
	return st.post.Point[g]
}

// drawKnowns draws the errors of the knowns: one of their stock and one of their water's background, each the same error in
// all of them and independent of the other, and one of each known's own,
//
//	e_i = shared_i·z_stock + background_i·z_water + √(u_i² − shared_i² − background_i²)·z_i
//
// the way of JCGM 102, clause 7, with the parts as inputs.
func (st *study) drawKnowns(n int) [][]float64 {
	draws, room := make([][]float64, n), make([]float64, n*len(st.levels))
	for k := range draws {
		draws[k] = room[k*len(st.levels):][:len(st.levels):len(st.levels)]
	}
	stock, water := normals(n, knownTask), normals(n, waterTask)
	for i, l := range st.levels {
		own := math.Sqrt(math.Max(0, l.u*l.u-l.shared*l.shared-l.background*l.background))
		z := normals(n, knownTask+1+uint64(i))
		for k := range draws {
			draws[k][i] = l.shared*stock[k] + l.background*water[k] + own*z[k]
		}
	}
	return draws
}

const knownTask, waterTask = 1000, 999

// singlesDraws is how many draws stand for readings without repeats.
const singlesDraws = 1200

// knowFromSingles is the way without repeats: the scatter about a straight
// line stands in for the spread. It includes whatever the line misses, so it
// is the larger of the two; nothing is printed as a spread. Three levels at
// least.
func (st *study) knowFromSingles() bool {
	n := len(st.levels)
	if n < 3 {
		st.note(note.New("two-single-readings"))
		return false
	}
	st.know = record.Knowledge{Signal: st.isSignal()}
	x := make([][]float64, n)
	lo, hi := make([]float64, n), make([]float64, n)
	for i, l := range st.levels {
		st.know.Level = append(st.know.Level, l.value)
		x[i] = []float64{1, l.value}
		g := st.groups[st.groupAt(i)]
		lo[i], hi[i] = g.interval[0], g.interval[1]
		st.know.Mean = append(st.know.Mean, middle(g.interval))
	}
	fit, err := num.Censored(x, lo, hi, nil)
	if err != nil {
		st.note(note.New("singles-too-wide"))
		return false
	}
	st.df = float64(n - 2)
	sigma := fit.Scale * math.Sqrt(float64(n)/st.df) // maximum likelihood divides by n
	rng := num.Source(3, uint64(n))
	for range singlesDraws {
		s := sigma * math.Sqrt(st.df/(2*gamma(st.df/2, rng)))
		st.singles = append(st.singles, s)
		y := make([]float64, n)
		for i := range y {
			y[i] = st.know.Mean[i] + s*rng.NormFloat64()
		}
		st.know.Draw = append(st.know.Draw, y)
	}
	st.know.Known = st.drawKnowns(singlesDraws)
	st.know = st.know.Settled()
	st.know.DF = 0 // that of the readings about a line is not one of repeats
	st.singleRecoveries()
	st.note(note.New("leans-on-line").Number("df", st.df))
	return true
}

// singleRecoveries says what share of each known its one reading is: a number
// without an interval, so it stands in a note and not among the findings.
func (st *study) singleRecoveries() {
	var levels, shares []float64
	for i, l := range st.levels {
		if l.value > 0 {
			levels, shares = append(levels, l.value), append(shares, st.know.Mean[i]/l.value)
		}
	}
	st.note(note.New("single-shares").Number("level", levels...).Number("share", shares...))
}

func middle(i [2]float64) float64 {
	switch {
	case math.IsInf(i[0], -1):
		return i[1]
	case math.IsInf(i[1], 1):
		return i[0]
	}
	return (i[0] + i[1]) / 2
}

// gamma draws from the gamma distribution with the given shape and scale 1
// (Marsaglia & Tsang 2000, ACM Trans. Math. Softw. 26, 363).
func gamma(shape float64, rng *rand.Rand) float64 {
	if shape < 1 {
		return gamma(shape+1, rng) * math.Pow(rng.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		z := rng.NormFloat64()
		v := 1 + c*z
		v *= v * v
		if v <= 0 {
			continue
		}
		// their squeeze: most are taken without a logarithm
		if u := rng.Float64(); u < 1-0.0331*z*z*z*z || math.Log(u) < 0.5*z*z+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// showsNumbers says whether the method shows numbers, not answers in steps of its own.
func (st *study) showsNumbers() bool { return len(reading.Answers(st.method, 0)) == 0 }

func (st *study) isSignal() bool {
	return reading.Of(st.method.Kind).Signal
}

// whyNoFit is the reason why a shape could not be fitted.
func whyNoFit(err error) note.Note {
	if errors.Is(err, record.ErrFalls) {
		return note.New("readings-fall")
	}
	return note.New("no-finite-fit")
}

// lineFinding is the straight line, errors in both.
func (st *study) lineFinding() {
	par, se, p, err := record.StraightLine(st.bend)
	if err != nil {
		st.note(note.New("no-line").Since(whyNoFit(err)))
		return
	}
	st.finding.Line = Line{num.Number(par[0]), num.Number(se[0]), num.Number(par[1]), num.Number(se[1]), num.Number(p)}
	if st.post == nil {
		st.finding.Line.LackOfFitP = num.None
	}
}

// newRecord joins response, spread and what the method can show.
func (st *study) newRecord(resp *record.Response) *record.Record {
	idx := record.Thin(len(st.know.Draw))
	first := 0
	if st.post != nil {
		first = st.post.Wide.Len()
		idx = record.Thin(st.post.Form.Len())
	}
	st.kept = idx
	bottom, c0 := st.levels[0].value, st.levels[0].value
	if st.likeBlank() {
		bottom = 0
	}
	for _, l := range st.levels {
		if l.value > bottom {
			c0 = l.value
			break
		}
	}
	spread := record.Spread{
		All:  func(d int, _ float64) float64 { return st.singles[idx[d]] },
		Same: func(d int, _ float64) float64 { return st.singles[idx[d]] },
	}
	if st.post != nil {
		d := st.post.Form // single readings are predicted under the prior that favours a form
		spread.All = func(k int, c float64) float64 { return st.foretold(idx[k], st.along(c)) }
		spread.Same = func(k int, c float64) float64 { return st.same(d, idx[k], st.along(c)) }
	}
	kept := make([]int, len(idx))
	for i, k := range idx {
		kept[i] = first + k
	}
	return record.New(resp.Thin(kept), spread, st.shown(), bottom, st.top(), c0)
}

// likeBlank says whether the lowest known is as good as none of the analyte:
// nothing was added, or no more than its own doubt, or little beside the next.
func (st *study) likeBlank() bool {
	first := st.levels[0]
	return first.value <= 3*first.u || first.value <= 0.1*st.levels[1].value
}

// shown is what the method can show, as concentrations.
func (st *study) shown() record.Shown {
	if all := st.answers(st.methodAsRead()); all != nil {
		return record.Shown{Answers: all}
	}
	return record.Shown{Step: st.resolution() * st.dilution}
}

// answers of a method up to the highest mean; nil where it shows numbers.
func (st *study) answers(m knownwater.Method) []record.Answer {
	var answers []record.Answer
	for _, a := range reading.Answers(m, st.know.Mean[len(st.know.Mean)-1]/st.dilution) {
		answers = append(answers, record.Answer{Seen: a.Seen.Scale(st.dilution), Value: a.Value * st.dilution})
	}
	return answers
}

// answersAs are the record's answers, seen by one of the sharings that were tried.
func (st *study) answersAs(sharing int) []record.Answer {
	if len(st.data.Shares) < 2 {
		return st.rec.Shown.Answers
	}
	if st.shared == nil {
		st.shared = make([][]record.Answer, len(st.shares))
	}
	if st.shared[sharing] == nil {
		m := st.method
		m.AtShare = st.shares[sharing]
		seen := map[float64]interval.Interval{}
		for _, a := range st.answers(m) {
			seen[a.Value] = a.Seen
		}
		for _, a := range st.rec.Shown.Answers { // one that the sharing leaves no room for is not given
			a.Seen = interval.Interval{Low: a.Seen.Low, High: a.Seen.Low}
			if i, given := seen[a.Value]; given {
				a.Seen = i
			}
			st.shared[sharing] = append(st.shared[sharing], a)
		}
	}
	return st.shared[sharing]
}

// methodAsRead is the method with the sharing of its gaps as the readings have it: the
// average over the sharings' weights.
func (st *study) methodAsRead() knownwater.Method {
	m := st.method
	if st.post == nil || len(st.data.Shares) < 2 {
		return m
	}
	m.AtShare = 0
	for i, w := range st.post.Share {
		m.AtShare += w * st.shares[i]
	}
	return m
}

// resolution is one step of the last digit: the method's, else the narrowest seen.
func (st *study) resolution() float64 {
	if st.method.Resolution > 0 {
		return st.method.Resolution
	}
	r := math.Inf(1)
	for _, o := range st.obs {
		r = math.Min(r, o.Seen.Width())
	}
	if math.IsInf(r, 0) {
		return 0
	}
	return r
}

// shapeFinding tells the shape and draws it at some forty points.
func (st *study) shapeFinding(resp *record.Response) {
	s := &st.finding.Shape
	s.Name, s.Why = string(resp.Shape.Name), []note.Note{resp.Why}
	for _, p := range resp.Params {
		s.Parameters = append(s.Parameters, num.Number(p))
	}
	for i := 0; i < len(st.rec.Grid); i += 3 {
		s.At = append(s.At, st.rec.Grid[i])
		s.Mean = append(s.Mean, num.Number(st.rec.Mean[i]))
	}
}
