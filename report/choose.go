package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/num"
	"knownwater/science/unit"
	"knownwater/wording"
)

// WayWords is how a method is used, in words: "average of 2 tests, ×8 above 5, corrected".
func WayWords(l *wording.Language, u choose.Use) string {
	var parts []string
	switch {
	case u.Tests > 1 && u.Readers > 1:
		parts = append(parts, l.Say("average of {1} tests by {2} readers", strconv.Itoa(u.Tests), strconv.Itoa(u.Readers)))
	case u.Tests > 1:
		parts = append(parts, l.Say("average of {1} tests", strconv.Itoa(u.Tests)))
	default:
		parts = append(parts, l.Say("one test"))
	}
	switch {
	case u.Switches && u.Dilution == 0:
		parts = append(parts, l.Say("×{1} above {2}", speech{l}.figureOf(u.Factor, ""), speech{l}.figureOf(u.Over, "")))
	case u.Switches && u.Dilution == 1:
		parts = append(parts, l.Say("never diluted"))
	case u.Dilution != 1 && u.Switches:
		parts = append(parts, l.Say("always ×{1}", speech{l}.figureOf(u.Dilution, "")))
	case u.Dilution != 1 && u.Dilution != 0:
		parts = append(parts, "×"+speech{l}.figureOf(u.Dilution, ""))
	}
	switch {
	case u.Curve == u.Method && u.Curve != "":
		parts = append(parts, l.Say("by its curve"))
	case u.Curve != "":
		parts = append(parts, l.Say("by the curve “{1}”", clean(u.Curve)))
	case u.Corrected:
		parts = append(parts, l.Say("corrected by its record"))
	default:
		parts = append(parts, l.Say("as read"))
	}
	switch u.Supply {
	case choose.Pack:
		parts = append(parts, l.Say("bought as packs"))
	case choose.Refill:
		parts = append(parts, l.Say("bought as refills"))
	}
	return strings.Join(parts, ", ")
}

// WayMethod is a method with what sets it apart from others of its name.
func WayMethod(l *wording.Language, u choose.Use) string {
	s := clean(u.Method)
	if u.Matrix != "" && u.Waters > 1 {
		s += " " + l.Say("in {1}", clean(u.Matrix))
	}
	if u.Report != "" {
		s += " (" + clean(u.Report) + ")"
	}
	return s
}

// ChosenSays is the sentence on one need: what to use and why, or why nothing.
func ChosenSays(n choose.NeedChoice) string {
	head := "“" + clean(n.Need.Name) + "”: "
	w, ok := n.Used()
	if !ok {
		return head + english.Say("nothing to use:") + " " + Words(n.Because) + "."
	}
	s := head + english.Say("use") + " " + WayMethod(nil, w.Use) + ", " + WayWords(nil, w.Use)
	if c := costWords(english, w.Cost); c != "" {
		s += " (" + c + ")"
	}
	return s + ": " + Words(n.Because) + "."
}

// costWords is what an answer costs in few words.
func costWords(l speech, c choose.Cost) string {
	var parts []string
	switch {
	case !c.Minutes.OK():
	case c.Least < c.Minutes:
		parts = append(parts, l.Say("{1} to {2} minutes", three(float64(c.Least)), three(float64(c.Minutes))))
	default:
		parts = append(parts, l.Say("{1} minutes", three(float64(c.Minutes))))
	}
	if c.Money.OK() {
		parts = append(parts, l.Say("{1} a year", three(float64(c.Money))))
	}
	return strings.Join(parts, ", ")
}

// ChangeSays is where the tests a month change the order.
func ChangeSays(l *wording.Language, n choose.NeedChoice, c choose.Change) string {
	name := func(i int) string {
		if i < 0 {
			return l.Say("nothing within your money")
		}
		return WayMethod(l, n.Ways[i].Use) + ", " + WayWords(l, n.Ways[i].Use)
	}
	return l.Say("Below {1} answers a month {2}; above, {3}.", three(c.AnswersAMonth), name(c.From), name(c.To))
}

// LoosenedSays is where the permitted error changes what is taken. Shares are rounded to where it holds.
func LoosenedSays(l *wording.Language, n choose.NeedChoice, x choose.Loosened) string {
	name := func(i int) string { return WayMethod(l, n.Ways[i].Use) + ", " + WayWords(l, n.Ways[i].Use) }
	stricter := math.Max(math.Floor(100*x.Times), 1)
	var s string
	switch {
	case x.Times > 1:
		s = l.Say("Permit {1} times that error, and it would be {2}.", three(math.Ceil(100*x.Times)/100), name(x.To))
	case x.From < 0:
		s = l.Say("Permit less than {1} % of that error, and nothing that was tried does.", three(stricter))
	default:
		s = l.Say("Permit less than {1} % of that error, and it would be {2}.", three(stricter), name(x.From))
	}
	if n.MayDoWithLess(x) {
		s += " " + l.Say("Averages are worked out as read there; corrected by their record they may do with less.")
	}
	return s
}

// PairSays is what a pair does.
func PairSays(l *wording.Language, n choose.NeedChoice, s unit.Scale) string {
	p := n.Pair
	if p == nil {
		return ""
	}
	day, confirm := n.Ways[p.Everyday].Use, n.Ways[p.Confirm].Use
	between := l.Say("between {1} and {2}", three(p.From), three(p.To))
	if p.From == 0 {
		between = l.Say("up to {1}", three(p.To))
	}
	where := l.Say("of waters that keep to the need")
	if n.Need.Usual != [2]float64{} {
		where = l.Say("of waters as they usually are")
	}
	return l.Say("Or {1} ({2}) every day and {3} to confirm: a result {4} {5} stands, {9} about {6} in 100 are confirmed; {7} a year instead of {8}.", WayMethod(l, day), WayWords(l, day), WayMethod(l, confirm), between, clean(s.String()), InHundred(l, p.Share), three(p.Money), three(p.Alone), where)
}

// Follows says from what the verdict on a way follows that was not tried itself; nothing
// of one that was.
func Follows(l *wording.Language, w choose.Way) string {
	if w.Tried {
		return ""
	}
	if w.LeftOut {
		return l.Say("follows from knowns left out in turn")
	}
	return l.Say("follows from what was tried")
}

// ErrorWords is a way's error: "±0.21 to 0.58 of 0.99".
func ErrorWords(l *wording.Language, w choose.Way) string {
	v, permitted := speech{l}.besidePermitted(num.None, w.Error.Low, w.Error.High, w.Error.Permitted)
	if !v.OK() {
		return ""
	}
	s := speech{l}.plusMinus(v, "")
	if w.Error.Permitted.OK() {
		s += " " + l.Say("of {1}", permitted)
	}
	return s
}

// ChooseText tells a person what to use: a sentence a need, then the ways beside it.
func ChooseText(w io.Writer, c choose.Choice, next []choose.Experiment, s unit.Scale) error {
	var b strings.Builder
	for _, n := range c.Needs {
		fmt.Fprintln(&b, ChosenSays(n))
	}
	for _, n := range c.Needs {
		b.WriteString("\n" + english.Say("“{1}”, {2} to {3} {4}", clean(n.Need.Name), typed(n.Need.Low, 0), typed(n.Need.High, 0), clean(s.String())))
		if n.Need.TestsAMonth > 0 {
			b.WriteString(", " + english.Say("{1} answers a month", typed(n.Need.TestsAMonth, 0)))
		}
		fmt.Fprintln(&b, ":")
		wayTable(&b, n)
		for _, x := range n.Changes {
			fmt.Fprintln(&b, "  "+ChangeSays(nil, n, x))
		}
		for _, x := range n.Loosen {
			fmt.Fprintln(&b, "  "+LoosenedSays(nil, n, x))
		}
		if p := PairSays(nil, n, s); p != "" {
			fmt.Fprintln(&b, "  "+p)
		}
		for _, x := range n.Beside {
			fmt.Fprintln(&b, "  "+Say(x))
		}
	}
	nextText(&b, next)
	for i, n := range SayAll(c.Notes) {
		if i == 0 {
			fmt.Fprintln(&b)
		}
		fmt.Fprintln(&b, "Note:", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// waysShown is how many ways of one need a terminal shows.
const waysShown = 8

func wayTable(b *strings.Builder, n choose.NeedChoice) {
	shown := n.Ways[:min(len(n.Ways), waysShown)]
	wide := [2]int{}
	for _, w := range shown {
		wide[0] = max(wide[0], len([]rune(WayMethod(nil, w.Use))))
		wide[1] = max(wide[1], len([]rune(WayWords(nil, w.Use))))
	}
	for i, w := range shown {
		mark := " "
		if i == n.Use {
			mark = "→"
		}
		verdict := w.Verdict
		if w.Can() && !w.Inside() {
			verdict += ", " + english.Say("beyond a limit")
		}
		if x := Follows(nil, w); x != "" {
			verdict += ", " + x
		}
		line := fmt.Sprintf("%s %s  %s  %s", mark, pad(WayMethod(nil, w.Use), wide[0]), pad(WayWords(nil, w.Use), wide[1]), verdict)
		for _, x := range []string{ErrorWords(nil, w), costWords(english, w.Cost)} {
			if x != "" {
				line += "; " + x
			}
		}
		fmt.Fprintln(b, line)
	}
	if more := len(n.Ways) - len(shown); more > 0 {
		fmt.Fprintf(b, "  and %s behind these (--json has them).\n", verb(more, "1 way", count(more)+" ways"))
	}
}

// VerdictClass is how a verdict on a way is coloured: whether it does, not how.
func VerdictClass(verdict string) string {
	if verdict == assess.FitWhenCorrected {
		verdict = assess.Fit
	}
	return classOf(verdict)
}

// ChosenHead is what to use for a need, without the need's name: a title.
func ChosenHead(l *wording.Language, n choose.NeedChoice) string {
	w, ok := n.Used()
	if !ok {
		return l.Say("Nothing to use: {1}.", speech{l}.words(n.Because))
	}
	return l.Say("Use {1}, {2}.", WayMethod(l, w.Use), WayWords(l, w.Use))
}

// NeedRange is what a need asks for: range, permitted errors, how often.
func NeedRange(l *wording.Language, n choose.NeedChoice, s unit.Scale) string {
	var permitted []string
	for _, p := range n.Need.Permitted {
		permitted = append(permitted, l.Say("±{1} at {2}", brief(p.Error), short(num.Number(p.At))))
	}
	if len(permitted) > 3 {
		permitted = append(permitted[:1], l.Say("to {1}", permitted[len(permitted)-1]))
	}
	out := l.Say("{1} to {2} {3}; permitted {4}", short(num.Number(n.Need.Low)), short(num.Number(n.Need.High)), clean(s.String()), strings.Join(permitted, ", "))
	if n.Need.TestsAMonth > 0 {
		out += "; " + l.Say("{1} answers a month", typed(n.Need.TestsAMonth, 0))
	}
	return out
}

// AlongFigure is the error of single results along the need, by the method of a way.
func AlongFigure(l *wording.Language, w choose.Way, n knownwater.Need, s unit.Scale) chart.Along {
	scale := clean(s.String())
	f := assess.NeedFinding{Along: w.Along}
	return alongFigure(speech{l}, WayMethod(l, w.Use), w.Stepped(), f, n, scale)
}
