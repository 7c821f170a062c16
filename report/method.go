package report

import (
	"fmt"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// newMethodView says all that is found of one method.
func newMethodView(m assess.MethodFinding, t knownwater.Trial, scale string) methodView {
	reads, others := readsOf(m)
	v := methodView{f: m, Name: nameOf(m), Kind: kindOf(m), Technique: clean(m.Technique), Reads: reads, Notes: SayAll(others)}
	v.Counts = countsOf(m)
	for _, n := range m.Needs {
		v.Verdicts = append(v.Verdicts, verdictView{
			Need: clean(n.Need), Verdict: n.Verdict, Class: classOf(n.Verdict), Sentence: verdictOn(n, scale),
			Beside: beside(n), Settle: settle(n), Why: sayTogether(n.Why), AtShare: sayTogether(n.AtShare),
		})
	}
	if len(m.Needs) == 0 {
		v.Verdicts = []verdictView{{Sentence: sentence{"Not judged.", "No need was given for it."}}}
	}
	need, judged := firstNeed(m, t)
	for _, l := range m.Levels {
		v.Levels = append(v.Levels, newLevelRow(l, m.Dilution, need, judged))
	}
	v.limits(m)
	v.steps(m)
	v.lineAndShape(m)
	v.spread(m, scale)
	for _, c := range m.Techniques {
		tv := techniqueView{Name: clean(c.From) + " → " + clean(c.To), Class: classOf(c.Verdict), Ratio: ratioWords(c), Sentence: techniqueWords(c, scale)}
		tv.Levels = floatList(c.Levels)
		v.Techniques = append(v.Techniques, tv)
	}
	for _, r := range m.ReadBack {
		v.ReadBack = append(v.ReadBack, readBackRow{clean(r.Reading), readBackWords(r, scale)})
	}
	if m.MCError.OK() {
		v.MCError = two(float64(m.MCError) * 100)
	}
	return v
}

func countsOf(m assess.MethodFinding) string {
	s := things(m.N, "reading")
	if m.Technique != "" {
		s += "; " + english.Say("numbers are for the technique “{1}”", clean(m.Technique))
	}
	return s
}

// firstNeed is the first need that a method was judged for.
func firstNeed(m assess.MethodFinding, t knownwater.Trial) (knownwater.Need, bool) {
	for _, n := range m.Needs {
		if need, ok := needOf(t, n.Need); ok {
			return need, true
		}
	}
	return knownwater.Need{}, false
}

func newLevelRow(l assess.LevelFinding, dilution float64, need knownwater.Need, judged bool) levelRow {
	r := levelRow{
		Known: typed(l.Level, l.ULevel), N: count(l.N),
		Mean:     number(l.Mean, l.MeanLow, l.MeanHigh),
		Bias:     signed(l.Bias, l.BiasLow, l.BiasHigh),
		Recovery: number(l.Recovery, l.RecoveryLow, l.RecoveryHigh),
		SD:       spread(l.SD, l.SDLow, l.SDHigh),
		One:      none, Midpoint: none, Permitted: none,
		OneStep: !l.Mean.OK() && l.MeanLow.OK() && l.MeanHigh.OK(),
	}
	switch {
	case !r.Mean.OK():
		r.Mean.To = readAs(l, dilution)
	case !l.MeanLow.OK() && !l.MeanHigh.OK(): // no interval yet: what was read, not a mean
		r.Mean, r.Bias, r.Recovery = estimate{To: readList(l, dilution)}, estimate{}, estimate{}
	}
	if l.ULevel > 0 {
		r.Known += " ±" + two(2*l.ULevel)
	}
	if l.SingleU.OK() && l.SingleU > 0 {
		r.One = "±" + two(2*float64(l.SingleU))
	}
	if l.MidpointMean.OK() {
		r.Midpoint = short(l.MidpointMean)
	}
	if judged && l.Level >= need.Low && l.Level <= need.High {
		r.Permitted = "±" + short(num.Number(need.PermittedAt(l.Level)))
	}
	return r
}

// readAs tells the bare reading where a level has one only and nothing can be
// computed of it, with its share of the known.
func readAs(l assess.LevelFinding, dilution float64) string {
	if len(l.Seen) != 1 {
		return ""
	}
	s := english.Say("read {1}", cut(clean(l.Seen[0].Text), 20))
	if dilution != 0 && dilution != 1 {
		s += " × " + typed(dilution, 0)
	}
	if l.Level > 0 && l.MidpointMean.OK() && l.Seen[0].Low.OK() && l.Seen[0].High.OK() {
		s += fmt.Sprintf(", %.4g %%", 100*float64(l.MidpointMean)/l.Level)
	}
	return s
}

// readList tells the readings of a level that has no interval.
func readList(l assess.LevelFinding, dilution float64) string {
	var all []string
	for _, s := range l.Seen {
		all = append(all, cut(clean(s.Text), 20))
	}
	s := english.Say("read {1}", and(all))
	if dilution != 0 && dilution != 1 {
		s += " × " + typed(dilution, 0)
	}
	return s
}

func (v *methodView) limits(m assess.MethodFinding) {
	known := 0
	for i, n := range []num.Number{m.Limits.Critical, m.Limits.Detection, m.Limits.Quantification} {
		r := limitWords[i]
		r.Value = twoOf(n)
		if n.OK() {
			known++
		}
		v.Limits = append(v.Limits, r)
	}
	switch {
	case known == 0:
		v.LimitsWhy = english.Say("No limit can be computed from these readings; the notes say why.")
	case known < len(limitWords):
		v.LimitsWhy = english.Say("Where a limit is missing, the notes say why.")
	}
}

// limitWords say what each limit means.
var limitWords = []limitRow{
	{Name: "critical value", Means: "a result above it says that some is there; water that holds none gives such a result 5 times in 100"},
	{Name: "detection limit", Means: "water that truly holds this much gives a result above the critical value 95 times in 100"},
	{Name: "quantification limit", Means: "from here up the standard uncertainty of one result, its scatter and the width of its step together, is at most 10 % of it"},
}

func (v *methodView) steps(m assess.MethodFinding) {
	for _, s := range m.Steps {
		v.Steps = append(v.Steps, stepRow{typed(s.At, 0), stepWords(s.SmallestStep), stepWords(s.OtherReader)})
	}
}

func stepWords(n num.Number) string {
	if !n.OK() {
		return none
	}
	return twoOf(n)
}

func (v *methodView) lineAndShape(m assess.MethodFinding) {
	l := m.Line
	if l.Slope.OK() && l.Intercept.OK() {
		v.Line = fmt.Sprintf("reading = %s %s %s × known", withSE(l.Intercept, l.InterceptSE), plusOrMinus(l.Slope), withSE(abs(l.Slope), l.SlopeSE))
		if l.InterceptSE.OK() || l.SlopeSE.OK() {
			v.Line += " " + english.Say("(± one standard error)")
		}
		if l.LackOfFitP.OK() {
			v.Line += "; " + lackOfFit(l.LackOfFitP, m.Shape.Name)
		}
	}
	if m.Shape.Name != "" {
		v.Shape = clean(m.Shape.Name)
		if len(m.Shape.Why) > 0 {
			v.Shape += ": " + strings.Join(WordsAll(m.Shape.Why), "; ")
		}
	}
}

func abs(n num.Number) num.Number {
	if n < 0 {
		return -n
	}
	return n
}

func plusOrMinus(n num.Number) string {
	if n < 0 {
		return "−"
	}
	return "+"
}

func withSE(v, se num.Number) string {
	if !se.OK() || se <= 0 {
		return short(v)
	}
	return "(" + unit.Format(float64(v), float64(se)) + ")"
}

// lackOfFit words the test of the straight line. Where a bent shape was chosen
// although the line is not contradicted at 5 %, the shape's own reason speaks.
func lackOfFit(p num.Number, shape string) string {
	word := ""
	switch {
	case p < 0.05:
		word = ": " + english.Say("the levels do not lie on a straight line")
	case shape == "line" || shape == "":
		word = ": " + english.Say("the levels do not contradict a straight line")
	}
	value := "p = " + two(float64(p))
	if p < 0.001 {
		value = "p < 0.001"
	}
	return english.Say("lack of fit {1}{2}", value, word)
}

// spread lists the parts of the scatter that the design could tell.
func (v *methodView) spread(m assess.MethodFinding, scale string) {
	s := m.Spread
	parts := []struct {
		name, words   string
		sd, low, high num.Number
	}{
		{"repeatability", "same hands, soon after", s.RepeatabilitySD, s.RepeatabilityLow, s.RepeatabilityHigh},
		{"vial", "from vial to vial", s.VialSD, s.VialLow, s.VialHigh},
		{"reader", "from reader to reader", s.ReaderSD, s.ReaderLow, s.ReaderHigh},
		{"session", "from session to session", s.SessionSD, s.SessionLow, s.SessionHigh},
		{"lot", "from lot to lot of the reagent", s.LotSD, s.LotLow, s.LotHigh},
	}
	for _, p := range parts {
		if e := spread(p.sd, p.low, p.high); e.OK() {
			v.Spread = append(v.Spread, partRow{p.name, e, p.words, float64(p.sd), float64(p.low), float64(p.high)})
		}
	}
	if s.At.OK() {
		v.SpreadAt = short(s.At) + " " + scale
	}
	for _, o := range m.Readers {
		v.Readers = append(v.Readers, partRow{Name: clean(o.Reader), Value: signed(o.Offset, o.Low, o.High)})
	}
}

func floatList(vs []float64) string {
	out := make([]string, len(vs))
	for i, x := range vs {
		out[i] = typed(x, 0)
	}
	return strings.Join(out, ", ")
}

// examples are a few readings spread over all that were seen, ends included.
func examples[T any](all []T, most int) []T {
	if len(all) <= most {
		return all
	}
	out := make([]T, 0, most)
	for i := range most {
		out = append(out, all[i*(len(all)-1)/(most-1)])
	}
	return out
}
