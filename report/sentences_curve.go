package report

import (
	"fmt"
	"math"
	"strings"

	"knownwater/science/curve"
	"knownwater/science/matrix"
	"knownwater/science/response"
	"knownwater/science/scan"
	"knownwater/science/unit"
	"knownwater/wording"
)

// curveSentences say what the choice of a curve's shape rests on, and by what the curve
// was judged. They are sentences of their own and keep capital and stop.
func curveSentences() map[string]phrase {
	return map[string]phrase{
		"no-shape-fits":          shaped("No shape fits as well as the replicates say it should: {shape} comes closest, lack of fit {p}."),
		"line-by-two-levels":     text("Two levels carry a straight line and nothing that would judge it."),
		"line-unjudged":          text("A straight line: no bent shape describes the points clearly better; without replicates nothing else judges it."),
		"line-fits":              withP("A straight line fits: lack of fit {p}, and no bent shape is clearly better."),
		"line-fails":             shaped("A straight line does not fit, lack of fit {line_p}; {shape} does, {p}{left_out}."),
		"shape-better-than-line": shaped("{shape} describes the points clearly better than a straight line (information criterion {lower} lower){left_out}."),
		"shape-best":             shaped("{shape} describes the points best."),
		"shape-asked-fails":      shaped("{shape} was asked for; it does not fit: lack of fit {p}."),
		"shape-asked-unjudged":   shaped("{shape} was asked for; nothing judges it."),
		"shape-asked":            shaped("{shape} was asked for; the replicates do not contradict it, {p}."),
		"slope-of-earlier":       text("The slope of an earlier curve, multiplied by {factor} after a re-check. {because}"),
		"judged-by-nothing":      text("Fitted and judged on the same vials: nothing shows that it is right. Test knowns that are not fitted (role check)."),
		"judged-by-knowns":       judged("Judged by {1} that it was not fitted to: {2}.", "known"),
		"judged-by-left-out": judged("No known was held out. Judged by leaving out {1} in turn, which is weaker, as they helped to choose the shape: {2}.",
			"level"),

		// A trial's response.
		"no-shape-fits-means":  withP("no simple shape fits (straight line: {p}); the curve goes through the level means, never falling"),
		"two-levels-one-line":  text("two levels carry no more than a straight line"),
		"line-for-want":        text("without repeats nothing judges the fit; a straight line is the least that can be drawn"),
		"line-fits-means":      withP("a straight line fits (lack of fit {p})"),
		"line-only-just":       withP("a straight line only just passes ({p}) and this shape fits clearly better"),
		"line-fails-the-means": withP("a straight line does not fit ({p}); the smallest shape that does"),
	}
}

// shapeCalled is a shape inside a sentence: “a straight line”.
func shapeCalled(s curve.Shape) string {
	if f := response.Of(s); f != nil {
		return f.Called
	}
	return string(s)
}

// shaped is the phrase of a text with a shape's place, %s, in it: at its head with a capital.
func shaped(t string) phrase {
	return func(n told) string {
		called := shapeCalled(curve.Shape(and(n.Names["shape"])))
		said := n.Say(t)
		if strings.HasPrefix(said, "{shape}") {
			called = capital(called)
		}
		return withP(strings.Replace(said, "{shape}", called, 1))(n)
	}
}

// withP puts p-values, and what depends on them, into a text: “p = 0.031” where the text
// does not write the letter itself.
func withP(t string) phrase {
	return func(n told) string {
		out := n.Say(t)
		for _, name := range []string{"p", "line_p"} {
			at := "{" + name + "}"
			if v := n.Numbers[name]; len(v) == 1 {
				out = strings.ReplaceAll(out, at, pValue(float64(v[0])))
			}
		}
		better := ""
		if v := n.Numbers["left_out"]; len(v) == 2 {
			better = ", " + english.Say("and it reads a level that was left out to {1} where the line reads it to {2}", fmt.Sprintf("%.2g", float64(v[0])), fmt.Sprintf("%.2g", float64(v[1])))
		}
		out = strings.Replace(out, "{left_out}", better, 1)
		if v := n.Numbers["lower"]; len(v) == 1 {
			out = strings.Replace(out, "{lower}", fmt.Sprintf("%.1f", float64(v[0])), 1)
		}
		return text(out)(n)
	}
}

// pValue is a p-value inside a sentence of a curve.
func pValue(p float64) string {
	switch {
	case math.IsNaN(p):
		return english.Say("p not known")
	case p < 0.001:
		return "p < 0.001"
	}
	return fmt.Sprintf("p = %.2g", p)
}

// judged counts what came of the knowns that judged a curve.
func judged(head, thing string) phrase {
	return func(n told) string {
		of := func(name string) int {
			if v := n.Numbers[name]; len(v) == 1 {
				return int(v[0])
			}
			return 0
		}
		var parts []string
		for _, v := range []struct{ verdict, one, more string }{
			{curve.Within, wording.Key("1 came back within the permitted error"), wording.Key("{1} came back within the permitted error")},
			{curve.OutsideIt, wording.Key("1 outside the permitted error"), wording.Key("{1} outside the permitted error")},
			{curve.Agrees, wording.Key("1 agrees with what it holds"), wording.Key("{1} agree with what they hold")},
			{curve.NotContradicted, wording.Key("1 is not contradicted, but too unsure to prove anything"), wording.Key("{1} are not contradicted, but too unsure to prove anything")},
			{curve.Disagrees, wording.Key("1 disagrees with what it holds"), wording.Key("{1} disagree with what they hold")},
			{curve.Undecided, wording.Key("1 undecided"), wording.Key("{1} undecided")}, {curve.NotRead, wording.Key("1 lay outside the range"), wording.Key("{1} lay outside the range")},
		} {
			switch k := of(v.verdict); k {
			case 0:
			case 1:
				parts = append(parts, n.Say(v.one))
			default:
				parts = append(parts, n.Say(v.more, count(k)))
			}
		}
		return n.Say(head, n.things(of("knowns"), thing), strings.Join(parts, ", "))
	}
}

// ComparedWords say what a new curve says in the place of an old one.
func ComparedWords(l *wording.Language, k curve.Comparison) string {
	if k.Part && k.From < k.To {
		k.Part = false
		return ComparedWords(l, k) + " " + l.Say("The need reaches beyond the range of both curves.")
	}
	switch {
	case k.Part:
		return l.Say("The need lies outside the range that the two curves have in common.")
	case !(k.From < k.To):
		return l.Say("The two curves have no range in common.")
	case math.IsNaN(k.Worst.New):
		return l.Say("From {1} to {2} the new curve gives no level for the old one's signals: {3}.", fmt.Sprintf("%.4g", k.From), fmt.Sprintf("%.4g", k.To), k.Verdict)
	}
	return l.Say("From {1} to {2} they differ most {3}: {4}.", fmt.Sprintf("%.4g", k.From), fmt.Sprintf("%.4g", k.To), shiftWords(l, k.Worst), k.Verdict)
}

// shiftWords give level, new level and difference to the place that the difference
// deserves, so that they can be taken from each other.
func shiftWords(l *wording.Language, s curve.Shift) string {
	u := (s.High - s.Low) / 4
	at := func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }
	w := l.Say("where the old one reads {1} and the new one {2}", at(s.Level), at(s.New))
	if !(u > 0) {
		return w
	}
	return w + " " + l.Say("({1} to {2}, 95 %)", unit.Signed(s.Low, u), unit.Signed(s.High, u))
}

// RecheckWords say what a blank and knowns, tested again, say about a curve.
func RecheckWords(r curve.Recheck) string {
	share := func(v float64) string { return unit.TrueMinus(unit.Round(100*v, 100*r.USlope)) }
	s := english.Say("The slope is now {1} % of the curve's (95 %: {2} to {3} %)", share(r.Slope), share(r.SlopeLow), share(r.SlopeHigh))
	switch {
	case !r.BlankStands():
		u := (r.BlankHigh - r.BlankLow) / 4
		return english.Say("The blank has moved by {1} (95 %: {2} to {3}): look at cell, blank water and lamp, then make a new curve.", unit.Signed(r.Blank, u), unit.Signed(r.BlankLow, u), unit.Signed(r.BlankHigh, u))
	case r.Verdict == curve.NewCurve:
		return s + ", " + english.Say("but the knowns do not agree on it: the shape has changed. Make a new curve.")
	case r.Verdict == curve.Holds:
		return s + ": " + english.Say("it holds, within {1} %.", fmt.Sprintf("%.3g", 100*r.Margin))
	case r.Verdict == curve.UpdateSlope && r.Knowns > 1:
		return s + ", " + english.Say("the blank stands and the knowns agree: multiply the slope, keep the shape.")
	case r.Verdict == curve.UpdateSlope:
		return s + " " + english.Say("and the blank stands: multiplying the slope puts this known right. Test one more known near the top to see that it serves there too.")
	}
	return s + ": " + english.Say("neither a change nor agreement within {1} % is shown. More replicates of the known would settle it.", fmt.Sprintf("%.3g", 100*r.Margin))
}

// ScanWords say which wavelength to measure at, and why.
func ScanWords(s scan.Choice) string {
	b := s.Best
	t := english.Say("Measure at {1} nm. There absorbance rises by {2} per unit of concentration", fmt.Sprintf("%.4g", b.Wavelength), fmt.Sprintf("%.3g", b.Slope))
	if b.Noise > 0 {
		t += " " + english.Say("and one vial scatters by {1}, which is {2} of concentration", fmt.Sprintf("%.2g", b.Noise), fmt.Sprintf("%.2g", b.Noise/b.Slope))
	}
	t += "; " + english.Say("it is {1}.", bendWords(b))
	switch {
	case b.Disturbs():
		t += " " + english.Say("“{1}” would be read as {2}.", b.Interferent, fmt.Sprintf("%.2g", b.Interfering))
	case b.Interferent != "":
		t += " " + english.Say("What disturbs does not show beside what vials scatter by: “{1}” would be read as {2}.", b.Interferent, fmt.Sprintf("%.2g", b.Interfering))
	}
	t += sharperElsewhere(s)
	for i, w := range s.Wide {
		if i == 0 {
			t += " " + english.Say("A wider source costs slope and bends the curve:")
		}
		t += " " + english.Say("{1} nm wide keeps {2} % of the slope, {3}{4}", fmt.Sprintf("%.0f", w.Width), fmt.Sprintf("%.0f", 100*w.Slope/b.Slope), bendWords(w), map[bool]string{true: ".", false: ";"}[i == len(s.Wide)-1])
	}
	return t
}

// sharperElsewhere says why the wavelength with the best slope against noise was not taken.
func sharperElsewhere(s scan.Choice) string {
	sharp, why := s.Sharper()
	t := " " + english.Say("Against its scatter the signal rises most at {1} nm", fmt.Sprintf("%.4g", sharp.Wavelength))
	switch why {
	case scan.BentThere:
		return t + ", " + english.Say("but there it is") + " " + bendWords(sharp) + "."
	case scan.DisturbedThere:
		return t + ", " + english.Say("but there “{1}” would be read as {2}.", sharp.Interferent, fmt.Sprintf("%.2g", sharp.Interfering))
	}
	return ""
}

func bendWords(b scan.Band) string {
	switch most := math.Max(math.Abs(b.BendLow), math.Abs(b.BendHigh)); {
	case !b.Bends() && math.IsInf(most, 1):
		return english.Say("not known to be straight, as too few vials tell")
	case !b.Bends() && most >= 0.01:
		return english.Say("straight up to the top as far as shows, to within {1} %", fmt.Sprintf("%.2g", 100*most))
	case math.Abs(b.Bend) < 0.01:
		return english.Say("straight up to the top")
	case b.Bend < 0:
		return english.Say("steeper at the top than at first, by {1} %", fmt.Sprintf("%.1f", -100*b.Bend))
	}
	return english.Say("{1} % short of straight at the top", fmt.Sprintf("%.1f", 100*b.Bend))
}

// MatrixWords say how a second water answers, compared with a first.
func MatrixWords(m matrix.Effect) string {
	s := english.Say("The second water's slope is {1} % of the first's (95 %: {2} to {3} %)", fmt.Sprintf("%.1f", 100*m.Slope), fmt.Sprintf("%.1f", 100*m.SlopeLow), fmt.Sprintf("%.1f", 100*m.SlopeHigh))
	switch m.Verdict {
	case matrix.SameSlope:
		s += ": " + english.Say("the same within {1} %.", fmt.Sprintf("%.3g", 100*m.Margin))
	case matrix.DifferentSlope:
		s += ": " + english.Say("a proportional effect. Make the curve from knowns in the second water; standard additions cure it too.")
	default:
		s += ": " + english.Say("undecided; more levels or replicates in both waters would settle it.")
	}
	shift := func(v float64) string { return unit.Signed(v, (m.OffsetHigh-m.OffsetLow)/2) }
	if m.OffsetLow > 0 || m.OffsetHigh < 0 {
		return s + " " + english.Say("A constant shift of {1} ({2} to {3}) comes on top: a blank or a background of that water. Standard additions do not cure it; use a blank of that water.", shift(m.Offset), shift(m.OffsetLow), shift(m.OffsetHigh))
	}
	return s + " " + english.Say("No constant shift is seen ({1} to {2}).", shift(m.OffsetLow), shift(m.OffsetHigh))
}

// AdditionsWords say what a water holds by standard additions, and whether a curve's slope
// holds in it.
func AdditionsWords(a matrix.Added) string {
	if math.IsNaN(a.Value) {
		return english.Say("No level can be said.")
	}
	u := (a.High - a.Low) / 4
	at := func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }
	if a.Straight {
		return english.Say("If the method answers in a straight line, the water holds {1} (95 %: {2} to {3}).", at(a.Value), at(a.Low), at(a.High))
	}
	s := english.Say("The water holds {1} (95 %: {2} to {3}).", at(a.Value), at(a.Low), at(a.High))
	s += " " + english.Say("What is added shows {1} % of what the curve expects ({2} to {3} %)", fmt.Sprintf("%.1f", 100*a.SlopeRatio), fmt.Sprintf("%.1f", 100*a.SlopeRatioLow), fmt.Sprintf("%.1f", 100*a.SlopeRatioHigh))
	if a.SlopeRatioLow <= 1 && 1 <= a.SlopeRatioHigh {
		return s + ": " + english.Say("nothing speaks against the curve in this water.")
	}
	return s + ": " + english.Say("the curve does not hold in this water; trust the additions.")
}
