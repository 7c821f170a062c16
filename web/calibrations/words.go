package calibrations

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/response"
	"knownwater/science/unit"
	"knownwater/web/render"
	"knownwater/wording"
)

// ledeWords say by what a curve was judged, how sure the least sure of those
// knowns was read, and where the curve ends before its knowns do.
func ledeWords(l *wording.Language, d curve.Document) string {
	out := report.SayIn(l, d.Standing())
	worst := curve.Judged{}
	for _, j := range d.Checks {
		if reach(j) > reach(worst) {
			worst = j
		}
	}
	if len(d.Checks) > 1 && reach(worst) > 0 {
		out += " " + l.Say("The least sure of them, at {1}, was read {2}, of a permitted {3}.", render.Number(worst.Level), lowHigh(l, worst.Low, worst.High), backRow{Judged: worst}.Most())
	}
	if d.Range.Why != nil {
		there := l.Say("it isn’t used there.")
		if f := d.Range.Flat; f != nil && d.Range.LevelHigh < f.From {
			there = l.Say("above {1} it isn’t used.", render.Number(d.Range.LevelHigh))
		}
		out += " " + render.Capital(whyItEnds(l, d)) + "; " + there
	}
	return out
}

// reach is how much of the permitted error an interval may take.
func reach(j curve.Judged) float64 {
	if !(j.Permitted > 0) || math.IsNaN(j.Low) || math.IsNaN(j.High) {
		return 0
	}
	return math.Max(math.Abs(j.Low), math.Abs(j.High)) / j.Permitted
}

// lowHigh are the ends of an error as a person says them.
func lowHigh(l *wording.Language, low, high float64) string {
	u := (high - low) / 4
	at := func(v float64) string { return unit.Round(math.Abs(v), u) }
	switch {
	case low >= 0:
		return l.Say("between {1} and {2} high", at(low), at(high))
	case high <= 0:
		return l.Say("between {1} and {2} low", at(high), at(low))
	}
	return l.Say("between {1} low and {2} high", at(low), at(high))
}

func whyItEnds(l *wording.Language, d curve.Document) string {
	var out []string
	for _, n := range d.Range.Why {
		out = append(out, report.WordsIn(l, n))
	}
	return strings.Join(out, "; ")
}

// rangeSentence says what the bracket on the axis stands for.
func rangeSentence(l *wording.Language, d curve.Document, unit string) string {
	if d.Range.Why != nil && d.Range.LevelHigh < d.Top {
		return l.Say("The range, {1} {2}, goes from the lowest fitted known to where {3}.", rangeWords(l, d), unit, strings.TrimPrefix(whyItEnds(l, d), "saturated: "))
	}
	return l.Say("The range, {1} {2}, goes from the lowest fitted known to the highest fitted known.", rangeWords(l, d), unit)
}

// limitWords say what one test can show, as far as it is known.
func limitWords(l *wording.Language, limits curve.Limits, unit string) string {
	var parts []string
	for _, x := range []struct {
		v     float64
		words string
	}{{limits.Critical, wording.Key("what reads above {1} {2} is told from a water without any (critical value)")},
		{limits.Detection, wording.Key("a water of {1} {2} is told so 95 times in 100 (detection limit)")},
		{limits.Quantification, wording.Key("from {1} {2} upwards the standard uncertainty is at most 10 % (quantification limit)")}} {
		if x.v > 0 && !math.IsInf(x.v, 0) {
			parts = append(parts, l.Say(x.words, render.TwoDigits(x.v), unit))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return l.Say("By one test, {1}.", strings.Join(parts, "; "))
}

// inMatrix names what knowns were made in, where that is a few words.
func inMatrix(l *wording.Language, matrix string) string {
	short, _, _ := strings.Cut(matrix, ",")
	if short = strings.TrimSpace(short); short == "" || len(short) > 30 {
		return ""
	}
	return " " + l.Say("in {1}", short)
}

// curveBlock is where a curve comes from: the title block.
type curveBlock struct {
	Formula, Values, Form, Fit, Fitted, Held string
	Diluted                                  []dilutedCurve
}

// dilutedCurve is the segment of a further dilution.
type dilutedCurve struct{ Dilution, Formula, Values, Range string }

func blockOf(l *wording.Language, d curve.Document) curveBlock {
	b := curveBlock{Form: shapeWords(l, d.Shape) + ", " + weightWords(l, d.Weights), Fitted: counted(l, d.Levels, d.Curve.Points), Held: l.Say("none"), Fit: l.Say("not known")}
	light := d.Conversion.Kind.Light()
	b.Formula, b.Values = formulaOf(l, d.Curve, light)
	for i, seg := range d.Segments {
		if i > 0 {
			more := dilutedCurve{Dilution: render.Number(seg.Dilution), Range: l.Say("{1} to {2}", render.Number(seg.Range.LevelLow*seg.Dilution), render.Number(seg.Range.LevelHigh*seg.Dilution))}
			more.Formula, more.Values = formulaOf(l, seg.Curve, light)
			b.Diluted = append(b.Diluted, more)
		}
	}
	if n := len(d.Checks); n > 0 {
		vials := 0
		for _, j := range d.Checks {
			vials += j.N
		}
		b.Held = counted(l, n, vials)
	}
	if p := d.LackOfFit; !math.IsNaN(p) {
		b.Fit = l.Say("none seen, p = {1}", render.TwoDigits(p))
		if p < 0.05 {
			b.Fit = l.Say("seen, p = {1}", render.TwoDigits(p))
		}
		if p < 0.001 {
			b.Fit = l.Say("seen, p < {1}", "0.001")
		}
	}
	return b
}

// counted are knowns and their vials.
func counted(l *wording.Language, knowns, vials int) string {
	as := render.Reader{Language: l}
	return as.Count(knowns, "known") + ", " + as.Count(vials, "vial")
}

func weightWords(l *wording.Language, w curve.Weights) string {
	switch w {
	case curve.Equal:
		return l.Say("unweighted")
	case curve.BySpread:
		return l.Say("weighted by the scatter")
	}
	return l.Say("weights {1}", string(w))
}

// powersOf is how a coefficient's power of c is written.
var powersOf = []string{"", " c", " c²", " c³"}

// formulaOf is the curve with its numbers, where it is a polynomial; else its
// equation, and the numbers beside it. One digit more than their own uncertainty
// asks, since their errors go together.
func formulaOf(l *wording.Language, d curve.Curve, light bool) (formula, values string) {
	signal := l.Say("signal")
	if light {
		signal = "A"
	}
	digits := func(j int) string {
		u := math.NaN()
		if j < len(d.Cov) && j < len(d.Cov[j]) {
			u = math.Sqrt(d.Cov[j][j])
		}
		if !(u > 0) {
			return strconv.FormatFloat(d.Coef[j], 'g', 5, 64)
		}
		return unit.Round(d.Coef[j], u/10)
	}
	if f := response.Of(d.Shape); f != nil && f.Linear {
		formula = signal + " ="
		for j := range d.Coef {
			text, negative := strings.CutPrefix(digits(j), "-")
			if j == 0 && d.ThroughZero {
				continue
			}
			switch {
			case negative:
				formula += " − "
			case strings.HasSuffix(formula, "="):
				formula += " "
			default:
				formula += " + "
			}
			formula += text + powersOf[min(j, len(powersOf)-1)]
		}
		return formula, ""
	}
	list := make([]string, len(d.Coef))
	for j := range d.Coef {
		list[j] = fmt.Sprintf("b%d = %s", j, unit.TrueMinus(digits(j)))
	}
	return signal + " = " + d.Formula(), strings.Join(list, ", ")
}

// heldWords are what the held-out knowns of a version say: how many of them, and
// the gravest that was said of one.
type heldWords struct{ Count, Verdict, Class string }

func heldOut(l *wording.Language, c curveLine) heldWords {
	if !c.Fitted() {
		return heldWords{Count: "–"}
	}
	checks := c.Doc.Checks
	if len(checks) == 0 {
		return heldWords{Count: l.Say("none")}
	}
	for _, v := range []string{curve.OutsideIt, curve.Disagrees, curve.Undecided, curve.NotContradicted, curve.NotRead, curve.Within, curve.Agrees} {
		n := 0
		for _, j := range checks {
			if j.Verdict == v {
				n++
			}
		}
		if n > 0 {
			return heldWords{l.Say("{1} of {2}", strconv.Itoa(n), strconv.Itoa(len(checks))), v, verdictClassOf(v)}
		}
	}
	return heldWords{Count: "–"}
}

// verdictClassOf colours the verdict on a known read back.
func verdictClassOf(verdict string) string {
	return map[string]string{curve.Within: "within", curve.Agrees: "within", curve.Undecided: "undecided", curve.NotContradicted: "undecided", curve.OutsideIt: "outside", curve.Disagrees: "outside"}[verdict]
}
