package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// sentence is a statement in two breaths: what follows, then why.
type sentence struct{ Head, Say string }

func (s sentence) String() string { return strings.TrimSpace(s.Head + " " + s.Say) }

// scaleOf is the unit with its basis, as it stands beside every number.
func scaleOf(f assess.Findings) string { return clean(trialScale(f).String()) }

// trialScale is the scale of all concentrations of findings.
func trialScale(f assess.Findings) unit.Scale {
	return unit.Scale{Analyte: f.Analyte, Unit: f.Unit, Basis: f.Basis}
}

// clean makes a name harmless on one line of any medium: no control
// characters, no direction overrides, no line breaks.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case unicode.IsControl(r), r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x2028, r == 0x2029, r == 0x200E, r == 0x200F:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return strings.TrimSpace(s)
}

// full makes a remark of the engine a sentence: a capital first, a stop last.
func full(s string) string {
	s = capital(clean(s))
	if s != "" && !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// nameOf is a method with what sets it apart: its dilution and its water.
func nameOf(m assess.MethodFinding) string { return english.nameOf(m) }

func (l speech) nameOf(m assess.MethodFinding) string {
	s := cut(clean(m.Method), 80)
	if b := l.branchOf(m); b != "" {
		s += " (" + b + ")"
	}
	return s
}

func (l speech) branchOf(m assess.MethodFinding) string {
	var parts []string
	if m.Dilution != 0 && m.Dilution != 1 {
		parts = append(parts, l.Say("diluted ×{1}", typed(m.Dilution, 0)))
	}
	if m.Matrix != "" {
		parts = append(parts, l.Say("in {1}", clean(m.Matrix)))
	}
	return strings.Join(parts, ", ")
}

// kindOf says in words how a method shows its answer.
func kindOf(m assess.MethodFinding) string {
	if k := reading.Of(knownwater.Kind(m.Kind)); k.Shown != "" {
		return k.Shown
	}
	return clean(m.Kind)
}

// verdictOn is the sentence on one need. It judges single results, not averages.
func verdictOn(n assess.NeedFinding, scale string) sentence {
	raw, corrected := withinWords(n.Raw, scale), withinWords(n.Corrected, scale)
	if raw != "" && corrected != "" && n.Raw.WorstAt == n.Corrected.WorstAt && n.Raw.Permitted == n.Corrected.Permitted {
		v, _ := english.besidePermitted(n.Corrected.Error95, n.Corrected.Low, n.Corrected.High, n.Corrected.Permitted)
		corrected = english.Say("{1} there", v.plusMinus(""))
	}
	switch n.Verdict {
	case assess.Fit:
		return sentence{"Fit as it is read.", english.Say("Of 100 single results, 95 lie within {1}.", raw)}
	case assess.FitWhenCorrected:
		corrected = withinWords(n.Corrected, scale)
		s := english.Say("Corrected by its own record, 95 of 100 single results lie within {1}", corrected)
		if raw != "" {
			s += ". " + english.Say("As read, only within {1}", raw)
		}
		return sentence{"Fit when corrected, not as it is read.", s + "."}
	case assess.NotFit:
		s := english.Say("As read, 95 of 100 single results lie only within {1}", raw)
		if corrected != "" {
			return sentence{"Not fit, corrected or not.", s + "; " + english.Say("corrected, within") + " " + corrected + "."}
		}
		return sentence{"Not fit as it is read.", s + ". " + english.Say("Whether a correction would help cannot be computed here.")}
	}
	switch n.Verdict {
	case assess.HeldBack:
		return sentence{"Held back.", "The answer to a question at the top could overturn the verdict; answer that first."}
	case assess.NotTried:
		return sentence{"Not tried.", "Nothing here speaks of what is needed."}
	}
	s := undecidedOn(raw, corrected)
	if n.Raw.Verdict == assess.NotFit {
		s.Head = english.Say("Not fit as it is read; whether a correction puts it right is undecided.")
	}
	return s
}

func undecidedOn(raw, corrected string) sentence {
	switch {
	case raw == "" && corrected == "":
		return sentence{"Undecided.", "These readings do not say within which error single results lie."}
	case corrected == "":
		return sentence{"Undecided.", english.Say("As read, 95 of 100 single results lie within {1}; what a correction would do cannot be computed from these readings.", raw)}
	case raw == "":
		return sentence{"Undecided.", english.Say("Corrected, 95 of 100 single results lie within {1}; as read it cannot be computed.", corrected)}
	}
	return sentence{"Undecided.", english.Say("As read, 95 of 100 single results lie within {1}; corrected, within {2}.", raw, corrected)}
}

// withinWords is "±0.62 mg/L NO3 of the truth (95 % interval 0.50 to 0.81) at 4,
// the worst place, where ±1 is permitted".
func withinWords(e assess.ErrorWithin, scale string) string {
	v, permitted := english.besidePermitted(e.Error95, e.Low, e.High, e.Permitted)
	if !v.OK() {
		return ""
	}
	s := v.plusMinus(scale)
	if v.Est != "" && v.To != "" {
		s = english.Say("±{1} {2} of the truth (95 % interval {3})", v.Est, scale, v.To)
	}
	if e.WorstAt.OK() && e.Permitted.OK() {
		s += " " + english.Say("at {1}, the worst place, where ±{2} is permitted", short(e.WorstAt), permitted)
	}
	return s
}

// short writes a chosen or computed concentration to three digits at most.
func short(n num.Number) string {
	if !n.OK() {
		return none
	}
	return unit.TrueMinus(fmt.Sprintf("%.3g", float64(n)))
}

// settle says what would decide an undecided verdict.
func settle(n assess.NeedFinding) string {
	if n.Verdict != assess.Undecided {
		return ""
	}
	switch {
	case n.MoreTests.OK() && n.MoreTests <= 1:
		return english.Say("One more test like these settles it in 4 of 5 cases.")
	case n.MoreTests.OK():
		return english.Say("About {1} more tests like these, spread evenly over the knowns, settle it in 4 of 5 cases.", count(int(math.Ceil(float64(n.MoreTests)))))
	case len(n.Why) > 0:
		return "" // the reason says it
	}
	return english.Say("More tests of the same kind are not expected to settle it, or their number cannot be computed.")
}

// The class of a verdict: how it is filled in figures and coloured in words.
func classOf(verdict string) string {
	switch verdict {
	case assess.Fit, assess.SameForNeed:
		return "within"
	case assess.NotFit:
		return "outside"
	case assess.FitWhenCorrected:
		return "known" // judged through the knowns
	case assess.Undecided, assess.HeldBack, assess.NotTried:
		return "undecided"
	}
	return ""
}

// techniqueWords says how two techniques compare: equivalence against the need at each of
// its knowns, and what the interval is where that cannot be said.
func techniqueWords(t assess.TechniqueFinding, scale string) sentence {
	d := signed(t.Difference, t.Low, t.High)
	by := english.Say("{1} instead of {2} changes the average reading by {3} {4}", clean(t.To), clean(t.From), d.String(), scale)
	if n := len(t.ByLevel); n > 1 {
		by = english.Say("{1} instead of {2} changes the reading by {3} {4} on average over all {5} knowns tried", clean(t.To), clean(t.From), d.String(), scale, strconv.Itoa(n))
	}
	if !d.OK() {
		by = english.Say("what {1} instead of {2} changes cannot be computed from these readings", clean(t.To), clean(t.From))
	}
	most := nearestOut(t)
	here := signed(most.Difference, most.Low90, most.High90).To
	switch t.Verdict {
	case assess.SameForNeed:
		if len(t.ByLevel) == 1 {
			return sentence{"Same for the need:", english.Say("{1}; its 90 % interval, {2}, lies inside the margin of ±{3}.", by, here, short(most.Permitted))}
		}
		return sentence{"Same for the need:", english.Say("{1}; at every known of the need the 90 % interval of what it changes lies inside the margin, nearest to its edge at {2}: {3} of ±{4}.", by, short(num.Number(most.Level)), here, short(most.Permitted))}
	case assess.Different:
		return sentence{"Different:", by + inside(t, most) + "."}
	case assess.NoNeedGiven:
		return sentence{"Not judged:", english.Say("{1}. No need covers a level that both were tried at, so there is no margin that could say whether this matters.", by)}
	}
	return sentence{"Undecided:", by + inside(t, most) + ". " + english.Say("Too few readings, or steps too coarse, to call them equivalent or different.")}
}

// nearestOut is the known of a need at which a difference may be most of what is permitted.
func nearestOut(t assess.TechniqueFinding) (at assess.TechniqueAt) {
	most := -1.0
	for _, l := range t.ByLevel {
		if share := max(-float64(l.Low90), float64(l.High90)) / float64(l.Permitted); share > most {
			most, at = share, l
		}
	}
	return at
}

// inside says the margin, and where the difference reaches farthest out of it.
func inside(t assess.TechniqueFinding, most assess.TechniqueAt) string {
	switch {
	case !t.Margin.OK():
		return ""
	case len(t.ByLevel) == 1:
		return "; " + english.Say("the need’s margin is ±{1}", short(most.Permitted))
	}
	return "; " + english.Say("at {1} by {2} (90 %), where the need’s margin is ±{3}", short(num.Number(most.Level)), signed(most.Difference, most.Low90, most.High90).To, short(most.Permitted))
}

// ratioWords compares two spreads.
func ratioWords(t assess.TechniqueFinding) string {
	r := number(t.SDRatio, t.SDRatioLow, t.SDRatioHi)
	if !r.OK() {
		return ""
	}
	s := english.Say("{1} scatters {2} times as much as {3}.", capital(clean(t.To)), r.String(), clean(t.From))
	if t.SDRatioLow.OK() && t.SDRatioHi.OK() && t.SDRatioLow < 1 && t.SDRatioHi > 1 {
		s += " " + english.Say("Which one scatters more is not settled.")
	}
	return s
}

// readBackWords says what one reading really says.
func readBackWords(r assess.ReadBack, scale string) string { return english.readBackWords(r, scale) }

func (l speech) readBackWords(r assess.ReadBack, scale string) string {
	v := l.number(r.Level, r.Low, r.High)
	switch {
	case len(r.Parts) > 1:
		var parts []string
		for _, p := range r.Parts {
			parts = append(parts, l.number(num.None, p[0], p[1]).String())
		}
		return strings.Join(parts, l.Say(", or")+" ") + " " + scale
	case r.Open != nil && *r.Open == "below" && r.High <= 0:
		return l.Say("less than any water tried gave")
	case r.Open != nil && *r.Open == "below" && r.High.OK():
		return l.Say("below {1}", twoOf(r.High)+" "+scale)
	case r.Open != nil && *r.Open == "above" && r.Low.OK():
		return l.Say("above {1}", twoOf(r.Low)+" "+scale)
	case r.Open != nil:
		return l.Say("open {1}: no limit can be given", l.Say(clean(*r.Open)))
	case !v.OK():
		return l.Say("cannot be turned round")
	case v.Est == "":
		return v.To + " " + scale
	}
	if v.To == "" {
		return v.Est + " " + scale
	}
	return v.To + " " + scale + ", " + l.Say("best {1}", v.Est)
}
