package assess

import (
	"errors"
	"math"
	"sort"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/reading"
	"knownwater/science/record"
	"knownwater/science/unit"
)

// study is one strand on its way to its finding.
type study struct {
	strand
	*design
	opt     Options
	briefly bool // of needs verdicts alone are asked for
	needs   []knownwater.Need
	scale   unit.Scale

	post       *posterior.Posterior // nil where nothing was read twice
	df         float64              // degrees of freedom behind the spread, where it is known best
	flat       bool                 // no level shows two different intervals: the spread has an upper limit only
	sure       []bool               // which factors' parts of the spread are more than nothing for sure; nil until it is asked
	above      []float64            // how far each level's mean reading lies above that of nothing; nil where lots do not matter
	lots       *lotSpread           // how far a lot that was not tried may read from the mean of all; nil where that is not told
	newReaders newReaders           // by how much readers may differ who were not tried
	noScatter  bool                 // or all are answers in steps that a straight line passes through

	reference []int // levels that were read with the reference technique, as groups; −1 else
	know      record.Knowledge
	bend      record.Knowledge // of those levels that the response is fitted to
	bendAt    []int            // which levels these are
	rec       *record.Record
	resp      *record.Response // with all draws: the wide ones, then those that favour a form
	kept      []int            // the draws that the record kept, of those that favour a form
	singles   []float64        // draws of the scatter about a line, where nothing was read twice

	behaves          map[float64]behaviour // by place
	errors           map[float64][2]ratios // log(error_95) at a place, as read and corrected
	switched         map[float64][2]ratios // … through a switch, of an undiluted branch
	switchedAverages map[float64][][2]averageError
	averaged         map[float64][][2]averageError // … of averages, by use
	ahead            *look                         // what further readings would make of it, while that is asked; else nil
	less             map[use][2][]float64          // by what averages scatter less than single results
	without          map[int]turn                  // responses fitted without a level
	shared           [][]record.Answer             // by sharing: the answers as they are seen by it
	corrected        map[float64][2]errorAt        // by place: what correctedAt worked out
	byLot            []*study                      // each lot's readings by themselves, where there are several

	finding MethodFinding
}

// examine works out all that a strand says by itself.
func examine(s strand, t knownwater.Trial, o Options) *study {
	st := &study{strand: s, design: newDesign(s, o), opt: o, needs: t.Needs, scale: t.Scale}
	st.start()
	st.fit()
	st.levelFindings()
	st.spreadFinding()
	st.withholdThin()
	st.readerOffsets()
	st.waysOfParts()
	st.respond()
	defer st.forget()
	if st.opt.Few {
		st.needFindings()
		st.lotFindings()
		return st
	}
	st.limitFinding()
	st.apart()
	st.spanned()
	st.techniqueFindings()
	st.needFindings()
	st.averageFindings()
	st.lotFindings()
	if !st.opt.Brief {
		st.readBack()
	}
	st.sayBias()
	st.sayDrops()
	st.sayDead()
	st.saySingly()
	if known, doubted := doubt.NeverBelow(st.method, st.obs); doubted {
		st.note(note.New("never-below-zero").Number("level", known))
	}
	st.explain()
	return st
}

// forget lets go of what takes room and is soon made again, but for what a procedure asks for once more.
func (st *study) forget() {
	st.behaves = nil
	if st.method.DilutionOver == 0 {
		st.release()
	}
}

// release lets go of that, too, once nobody asks any more.
func (st *study) release() {
	st.errors, st.averaged, st.corrected, st.switched, st.switchedAverages = nil, nil, nil, nil, nil
	for _, lot := range st.byLot {
		lot.release()
	}
}

func (st *study) start() {
	f := &st.finding
	f.Method, f.Kind, f.Dilution, f.Matrix, f.N = st.method.Name, string(st.method.Kind), st.dilution, st.matrix, st.n
	f.Technique = st.techniques[0]
	f.Lots = []LotFinding{}
	f.Levels, f.Readers, f.Steps, f.Pairs = []LevelFinding{}, []Offset{}, []Step{}, []Pair{}
	f.Techniques, f.Needs, f.ReadBack, f.Notes = []TechniqueFinding{}, []NeedFinding{}, []ReadBack{}, []note.Note{}
	f.Shape.At, f.Shape.Mean, f.Shape.Parameters = []float64{}, []num.Number{}, []num.Number{}
	f.MCError = num.None
	for i := range st.levels {
		g, ok := st.at[[2]int{i, 0}]
		if !ok {
			g = -1
		}
		st.reference = append(st.reference, g)
	}
}

// note adds a doubt, once.
func (st *study) note(n note.Note) { st.finding.Notes = note.Add(st.finding.Notes, n) }

// groupAt is the group that speaks for a level: the reference technique's, or,
// where that was not tried there, the first other one's.
func (st *study) groupAt(i int) int {
	if st.reference[i] >= 0 {
		return st.reference[i]
	}
	for t := range st.techniques {
		if g, ok := st.at[[2]int{i, t}]; ok {
			return g
		}
	}
	return -1
}

// fit finds the posterior; without repeats there is none.
func (st *study) fit() {
	st.data.Few = st.opt.Few
	post, err := st.opt.fit(st.data)
	if errors.Is(err, posterior.ErrNoRepeats) {
		st.note(note.New("nothing-read-twice"))
		return
	}
	if err != nil {
		st.note(note.New("readings-too-wide"))
		return
	}
	st.post = post
	st.finding.MCError = num.Number(post.ErrorShare)
	st.df = 0
	st.flat = true
	for g, gr := range st.groups {
		_, sd := num.MeanSD(post.Wide.LogSD[g])
		st.df = math.Max(st.df, 1/(2*sd*sd)) // var(log s) ≈ 1/(2ν)
		st.flat = st.flat && (gr.oneSeen || gr.n < 2)
	}
	st.noScatter = st.flat || st.passes()
	if st.flat {
		st.note(note.New("all-in-one-step"))
	}
	st.newReaders = st.findNewReaders()
	if _, told := st.factor["lot"]; told {
		st.above = st.aboveNothing()
		st.lots = st.findLotSpread()
	}
}

// levelFindings fills what was read at each known.
func (st *study) levelFindings() {
	for i, l := range st.levels {
		g := st.groupAt(i)
		lf := LevelFinding{
			Level: l.value, ULevel: l.u, N: st.groups[g].n,
			Mean: num.None, MeanLow: num.None, MeanHigh: num.None, SD: num.None, SDLow: num.None, SDHigh: num.None,
			Bias: num.None, BiasLow: num.None, BiasHigh: num.None, Recovery: num.None, RecoveryLow: num.None, RecoveryHigh: num.None,
			SingleU: num.None, MidpointMean: st.midpointMean(i), Seen: st.seen(i),
		}
		if st.post != nil {
			st.meanAt(&lf, g)
			st.spreadAt(&lf, g)
			st.biasAt(&lf, g, i)
		}
		st.finding.Levels = append(st.finding.Levels, lf)
		if st.reference[i] < 0 && st.techniques[0] != st.techniques[st.groups[g].technique] {
			st.note(note.New("level-by-other-technique").Number("level", l.value).Name("technique", st.techniques[st.groups[g].technique]))
		}
		if st.groups[g].n == 1 && st.post != nil {
			st.note(note.New("level-read-once").Number("level", l.value))
		}
	}
	if len(st.techniques) > 1 {
		st.note(note.New("speaks-of-technique").Name("technique", st.techniques[0]))
	}
}

// tail is what each limit leaves outside: 2.5 %, and half of that for levels of
// one or two readings, whose limits would fall short of their promise where the
// spread follows no form.
func (st *study) tail(g int) float64 {
	if st.groups[g].n < 3 {
		return 0.0125
	}
	return 0.025
}

// meanTail is that of a mean: half, too, for a level of three or four readings that gave one answer, which says no
// more of its spread than one reading does. n readings all lie on the wrong side of where two answers meet, the mean just across it, in up to 2⁻ⁿ of
// trials, which from five on is little. Of fine charts read three times, gaps shared out another way than stated, limits missed in
// up to 7 of 100 trials about a single known, so in 4.
func (st *study) meanTail(g int) float64 {
	if gr := st.groups[g]; gr.oneInterval && gr.n < 5 {
		return 0.0125
	}
	return st.tail(g)
}

// limits are the limits of draws that are bounded by floor and top: equal
// tails, or one-sided where the draws pile up against a bound. An end that
// rests on its bound comes back as the bound itself.
func limits(draws []float64, tail, floor, top float64) (low, high float64) {
	q := num.QuantilesOf(draws, tail, 2*tail, 1-2*tail, 1-tail)
	low, high = q[0], q[3]
	atFloor := !math.IsInf(floor, 0) && low-floor < high-q[2]
	atTop := !math.IsInf(top, 0) && top-high < q[1]-low
	switch {
	case atFloor && atTop:
		return floor, top
	case atFloor:
		return floor, q[2]
	case atTop:
		return q[1], top
	}
	return low, high
}

// meanDraws are the wide draws of a group's mean, with how much further the average of those who were tried may lie off that of all readers than
// these have it.
func (st *study) meanDraws(g int) []float64 {
	draws, by := st.post.Wide.Mean[g], st.newReaders.wide
	if by == nil {
		return draws
	}
	at, f, out := st.atGroup(g), st.factor["reader"], make([]float64, len(draws))
	for k, z := range normals(len(draws), readersTask) {
		out[k] = draws[k] + z*at.repeatability(st.post.Wide, k)*at.over(st.post.Wide, f, k)*math.Sqrt(by.average[k])
	}
	return out
}

// readersTask names the order in which that is drawn.
const readersTask = 3001

// meanAt fills the mean and its limits. The bounds count where all readings of
// the level are open at that end: there a chart or a drop count can say no
// less than none, anything else and the upper end say nothing (null).
func (st *study) meanAt(lf *LevelFinding, g int) {
	floor, top := math.Inf(-1), math.Inf(1)
	if st.groups[g].openBelow || st.fromNothing() && !st.data.Crossed() { // no mean lies below: draws that pile up there rule nothing out
		floor = st.data.MeanFloor
	}
	if st.groups[g].openAbove {
		top = st.data.MeanTop
	}
	low, high := limits(st.meanDraws(g), st.meanTail(g), floor, top)
	low, high = math.Min(low, st.post.Own[g].MeanLow), math.Max(high, st.post.Own[g].MeanHigh)
	if gr := st.groups[g]; gr.oneInterval {
		// Hands may be so steady that a mean at the very edge gives these
		// readings every time: nothing inside the interval is ruled out.
		low, high = math.Min(low, gr.interval[0]), math.Max(high, gr.interval[1])
		low, high = math.Max(low, floor), math.Min(high, top)
	}
	if st.fromNothing() {
		low, high = math.Max(0, low), math.Max(0, high)
	}
	lf.MeanLow, lf.MeanHigh = num.Number(low), num.Number(high)
	if high >= top {
		lf.MeanHigh = num.None
	}
	if low <= floor && !st.fromNothing() {
		lf.MeanLow = num.None
	}
	if !st.groups[g].oneInterval {
		lf.Mean = num.Number(math.Max(low, math.Min(high, st.post.Point[g])))
	}
}

// fromNothing says whether a mean reading below 0 has no meaning.
func (st *study) fromNothing() bool {
	return reading.Of(st.method.Kind).FromNothing
}

// spreadAt fills the whole spread of single readings. Its limits are those of
// the wide prior, its value the median under the prior that favours a form.
func (st *study) spreadAt(lf *LevelFinding, g int) {
	q := num.QuantilesOf(st.wholeAt(st.post.Wide, g), st.tail(g), 1-st.tail(g))
	low, high := q[0], q[1]
	if st.tellsUntried() {
		high = math.Max(high, quantile(st.totalsOfAny(st.atGroup(g)), 1-st.tail(g)))
	}
	low, high = math.Min(low, st.post.Own[g].SDLow), math.Max(high, st.post.Own[g].SDHigh)
	if gr := st.groups[g]; gr.oneInterval && gr.n > 2 && st.showsNumbers() && len(st.post.Wide.Ratio) == 0 && st.post.Wide.Unseen == nil {
		high = math.Min(high, mostInOneStep(float64(gr.n))*(gr.interval[1]-gr.interval[0]))
		low = math.Min(low, high)
	}
	lf.SDHigh = num.Number(high)
	if st.flat {
		lf.SDLow = 0
		return
	}
	switch {
	case st.mayNotScatter(st.atGroup(g)): // no form of the other levels' spreads bounds it from below
		low = 0
	case st.post.Wide.Unseen != nil: // of one vial, which may be as every other
		low = math.Min(low, quantile(drawn(st.post.Wide.Len(), func(k int) float64 { return st.ofOneVial(k, st.atGroup(g)) }), st.tail(g)))
	}
	middle := quantile(st.wholeAt(st.post.Form, g), 0.5)
	lf.SD, lf.SDLow = num.Number(math.Min(math.Max(middle, low), high)), num.Number(low)
	lf.SingleU = num.Number(math.Hypot(float64(lf.SD), lf.ULevel))
}

// ofOneVial is draw k of the whole spread somewhere if no vial differs from any other.
func (st *study) ofOneVial(k int, at between) float64 {
	d := st.post.Wide
	whole, vial := at.whole(d, k), d.Unseen[k]
	return at.repeatability(d, k) * math.Sqrt(whole*whole-vial*vial)
}

// wholeAt are the draws of a group's whole spread.
func (st *study) wholeAt(d *posterior.Draws, g int) []float64 {
	s := make([]float64, d.Len())
	for k := range s {
		s[k] = st.total(d, k, st.atGroup(g))
	}
	return s
}

// biasAt compares the mean with the known, whose own error is drawn along.
func (st *study) biasAt(lf *LevelFinding, g, i int) {
	draws := st.meanDraws(g)
	z := normals(len(draws), uint64(i))
	bias, recovery := make([]float64, len(draws)), make([]float64, 0, len(draws))
	for k, m := range draws {
		c := lf.Level + lf.ULevel*z[k]
		bias[k] = m - c
		if c > 0 {
			recovery = append(recovery, 100*m/c)
		}
	}
	level := lf.Level
	low, high := limits(bias, st.tail(g), math.Inf(-1), math.Inf(1))
	// Where a limit of the mean is more than a quantile of the draws, so is the bias's.
	low = math.Min(low, float64(lf.MeanLow)-level)
	high = math.Max(high, float64(lf.MeanHigh)-level)
	if lf.ULevel == 0 { // exact knowns: the bias is the mean less the known, ends and all
		low, high = float64(lf.MeanLow)-level, float64(lf.MeanHigh)-level
	}
	if st.fromNothing() {
		low = math.Max(low, float64(lf.MeanLow)-level-1.96*lf.ULevel)
	}
	lf.BiasLow, lf.BiasHigh = num.Number(low), num.Number(high)
	canRecover := level > 0 && len(recovery) == len(draws)
	if canRecover {
		rl, rh := limits(recovery, st.tail(g), math.Inf(-1), math.Inf(1))
		lf.RecoveryLow = num.Number(math.Min(rl, 100*float64(lf.MeanLow)/level))
		lf.RecoveryHigh = num.Number(math.Max(rh, 100*float64(lf.MeanHigh)/level))
	}
	if lf.Mean.OK() {
		lf.Bias = lf.Mean - num.Number(level)
		if canRecover {
			lf.Recovery = 100 * lf.Mean / num.Number(level)
		}
	}
	if !lf.MeanLow.OK() {
		lf.BiasLow, lf.RecoveryLow = num.None, num.None
	}
	if !lf.MeanHigh.OK() {
		lf.BiasHigh, lf.RecoveryHigh = num.None, num.None
	}
}

// midpointMean is the bench habit, for comparison: the average of midpoints.
func (st *study) midpointMean(i int) num.Number {
	var sum num.Sum
	n := 0.0
	for _, o := range st.obs {
		if o.Level != st.levels[i].value || st.reference[i] >= 0 && o.Technique != st.techniques[0] {
			continue
		}
		m, err := reading.Midpoint(o.Text, st.method)
		if err != nil {
			return num.None
		}
		sum.AddProduct(m*o.Dilution, float64(o.Count))
		n += float64(o.Count)
	}
	return num.Number(sum.Value() / n)
}

// seen lists the distinct readings at a level, rising.
func (st *study) seen(i int) []SeenReading {
	out := []SeenReading{}
	index := map[string]int{}
	for _, o := range st.obs {
		if o.Level != st.levels[i].value || st.reference[i] >= 0 && o.Technique != st.techniques[0] {
			continue
		}
		on := o.On()
		if at, ok := index[o.Text]; ok {
			out[at].Count += o.Count
			continue
		}
		index[o.Text] = len(out)
		out = append(out, SeenReading{Text: o.Text, Low: num.Number(on.Low), High: num.Number(on.High), Count: o.Count})
	}
	sort.SliceStable(out, func(a, b int) bool {
		return ends(out[a])[0] < ends(out[b])[0] || ends(out[a])[0] == ends(out[b])[0] && ends(out[a])[1] < ends(out[b])[1]
	})
	return out
}

func ends(s SeenReading) [2]float64 { return [2]float64{float64(s.Low), float64(s.High)} }
