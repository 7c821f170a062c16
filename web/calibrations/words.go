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
)

// ledeWords say by what a curve was judged, how sure the least sure of those
// knowns was read, and where the curve ends before its knowns do.
func ledeWords(d curve.Document) string {
	out := report.Say(d.Standing())
	worst := curve.Judged{}
	for _, j := range d.Checks {
		if reach(j) > reach(worst) {
			worst = j
		}
	}
	if len(d.Checks) > 1 && reach(worst) > 0 {
		out += fmt.Sprintf(" The least sure of them, at %s, was read %s, of a permitted %s.", render.Number(worst.Level), lowHigh(worst.Low, worst.High), backRow{Judged: worst}.Most())
	}
	if d.Range.Why != nil {
		there := "it isn’t used there."
		if f := d.Range.Flat; f != nil && d.Range.LevelHigh < f.From {
			there = "above " + render.Number(d.Range.LevelHigh) + " it isn’t used."
		}
		out += " " + render.Capital(whyItEnds(d)) + "; " + there
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
func lowHigh(low, high float64) string {
	u := (high - low) / 4
	at := func(v float64) string { return unit.Round(math.Abs(v), u) }
	switch {
	case low >= 0:
		return "between " + at(low) + " and " + at(high) + " high"
	case high <= 0:
		return "between " + at(high) + " and " + at(low) + " low"
	}
	return "between " + at(low) + " low and " + at(high) + " high"
}

func whyItEnds(d curve.Document) string { return strings.Join(report.WordsAll(d.Range.Why), "; ") }

// rangeSentence says what the bracket on the axis stands for.
func rangeSentence(d curve.Document, unit string) string {
	end := "the highest fitted known"
	if d.Range.Why != nil && d.Range.LevelHigh < d.Top {
		end = "where " + strings.TrimPrefix(whyItEnds(d), "saturated: ")
	}
	return fmt.Sprintf("The range, %s %s, goes from the lowest fitted known to %s.", rangeWords(d), unit, end)
}

// limitWords say what one test can show, as far as it is known.
func limitWords(l curve.Limits, unit string) string {
	var parts []string
	for _, x := range []struct {
		v     float64
		words string
	}{{l.Critical, "what reads above %s %s is told from a water without any (critical value)"}, {l.Detection, "a water of %s %s is told so 95 times in 100 (detection limit)"},
		{l.Quantification, "from %s %s upwards the standard uncertainty is at most 10 %% (quantification limit)"}} {
		if x.v > 0 && !math.IsInf(x.v, 0) {
			parts = append(parts, fmt.Sprintf(x.words, render.TwoDigits(x.v), unit))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "By one test, " + strings.Join(parts, "; ") + "."
}

// inMatrix names what knowns were made in, where that is a few words.
func inMatrix(matrix string) string {
	short, _, _ := strings.Cut(matrix, ",")
	if short = strings.TrimSpace(short); short == "" || len(short) > 30 {
		return ""
	}
	return " in " + short
}

// curveBlock is where a curve comes from: the title block.
type curveBlock struct {
	Formula, Values, Form, Fit, Fitted, Held string
	Diluted                                  []dilutedCurve
}

// dilutedCurve is the segment of a further dilution.
type dilutedCurve struct{ Dilution, Formula, Values, Range string }

func blockOf(d curve.Document) curveBlock {
	b := curveBlock{Form: shapeWords(d.Shape) + ", " + weightWords(d.Weights), Fitted: render.Count(d.Levels, "known") + ", " + render.Count(d.Curve.Points, "vial"), Held: "none", Fit: "not known"}
	light := d.Conversion.Kind.Light()
	b.Formula, b.Values = formulaOf(d.Curve, light)
	for i, seg := range d.Segments {
		if i > 0 {
			more := dilutedCurve{Dilution: render.Number(seg.Dilution), Range: render.Number(seg.Range.LevelLow*seg.Dilution) + " to " + render.Number(seg.Range.LevelHigh*seg.Dilution)}
			more.Formula, more.Values = formulaOf(seg.Curve, light)
			b.Diluted = append(b.Diluted, more)
		}
	}
	if n := len(d.Checks); n > 0 {
		vials := 0
		for _, j := range d.Checks {
			vials += j.N
		}
		b.Held = render.Count(n, "known") + ", " + render.Count(vials, "vial")
	}
	if p := d.LackOfFit; !math.IsNaN(p) {
		b.Fit = "none seen, p = " + render.TwoDigits(p)
		if p < 0.05 {
			b.Fit = "seen, p = " + render.TwoDigits(p)
		}
		if p < 0.001 {
			b.Fit = "seen, p < 0.001"
		}
	}
	return b
}

func weightWords(w curve.Weights) string {
	switch w {
	case curve.Equal:
		return "unweighted"
	case curve.BySpread:
		return "weighted by the scatter"
	}
	return "weights " + string(w)
}

// powersOf is how a coefficient's power of c is written.
var powersOf = []string{"", " c", " c²", " c³"}

// formulaOf is the curve with its numbers, where it is a polynomial; else its
// equation, and the numbers beside it. One digit more than their own uncertainty
// asks, since their errors go together.
func formulaOf(d curve.Curve, light bool) (formula, values string) {
	signal := "signal"
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

func heldOut(c curveLine) heldWords {
	if !c.Fitted() {
		return heldWords{Count: "–"}
	}
	checks := c.Doc.Checks
	if len(checks) == 0 {
		return heldWords{Count: "none"}
	}
	for _, v := range []string{curve.OutsideIt, curve.Disagrees, curve.Undecided, curve.NotContradicted, curve.NotRead, curve.Within, curve.Agrees} {
		n := 0
		for _, j := range checks {
			if j.Verdict == v {
				n++
			}
		}
		if n > 0 {
			return heldWords{fmt.Sprintf("%d of %d", n, len(checks)), v, verdictClassOf(v)}
		}
	}
	return heldWords{Count: "–"}
}

// verdictClassOf colours the verdict on a known read back.
func verdictClassOf(verdict string) string {
	return map[string]string{curve.Within: "within", curve.Agrees: "within", curve.Undecided: "undecided", curve.NotContradicted: "undecided", curve.OutsideIt: "outside", curve.Disagrees: "outside"}[verdict]
}
