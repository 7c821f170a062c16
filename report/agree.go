package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// AgreeSays is how two benches compare in one method, in a sentence.
func AgreeSays(g choose.Agreement, s unit.Scale) string {
	who := clean(g.Method)
	if g.Dilution != 1 {
		who += " ×" + figureOf(g.Dilution, "")
	}
	if g.Matrix != "" {
		who += " " + english.Say("in {1}", clean(g.Matrix))
	}
	switch g.Of {
	case "lot":
		who += ", " + english.Say("lot {1}", clean(g.Name))
	case "reader":
		who += ", " + english.Say("read by {1} at the {2} bench", clean(g.Name), []string{"first", "second"}[g.Bench])
	}
	worst := g.Levels[0]
	for _, l := range g.Levels {
		if math.Abs(float64(l.En)) > math.Abs(float64(worst.En)) {
			worst = l
		}
	}
	by := fmt.Sprintf("the largest difference, second less first, is %s %s, at %s (E_n %s)", signed(worst.Difference, worst.Low, worst.High), clean(s.String()), short(num.Number(worst.Level)), signedTwo(worst.En))
	switch g.Verdict {
	case assess.SameForNeed:
		return english.Say("{1}: the benches agree for “{2}”; {3}.", who, clean(g.NeedAt), by)
	case assess.Different:
		return english.Say("{1}: the benches differ: {2}.", who, by)
	}
	if math.Abs(float64(worst.En)) > 1 { // the difference's interval leaves 0 out, and the verdict does not
		return english.Say("{1}: these readings do not tell: {2}; of {3} the largest may be so by chance.", who, by, things(len(g.Levels), "known"))
	}
	return english.Say("{1}: these readings do not tell: {2}.", who, by)
}

// AgreeHead sums methods up in a title.
func AgreeHead(same, differ, undecided int) string {
	switch {
	case same+differ+undecided == 0:
		return english.Say("Nothing to compare")
	case differ == 0 && undecided == 0:
		return english.Say("The benches agree")
	case differ == 0 && same == 0:
		return english.Say("Undecided: these readings do not tell")
	}
	var parts []string
	for _, x := range []struct {
		n         int
		one, many string
	}{{same, "method agrees", "methods agree"}, {differ, "method differs", "methods differ"}, {undecided, "is undecided", "are undecided"}} {
		if x.n > 0 {
			parts = append(parts, numeral(x.n)+" "+verb(x.n, x.one, x.many))
		}
	}
	return capital(and(parts))
}

// AgreeDifference is a difference with its 95 % limits.
func AgreeDifference(l choose.AgreementAt) string {
	return fmt.Sprint(signed(l.Difference, l.Low, l.High))
}

// AgreeEn is E_n, signed.
func AgreeEn(l choose.AgreementAt) string { return signedTwo(l.En) }

func signedTwo(n num.Number) string {
	if n == 0 {
		return "0"
	}
	return unit.TrueMinus(fmt.Sprintf("%+.2g", float64(n)))
}

// AgreeText tells a person whether two benches agree.
func AgreeText(w io.Writer, all []choose.Agreement, s unit.Scale) error {
	var lines []string
	for _, g := range all {
		lines = append(lines, AgreeSays(g, s))
	}
	if len(lines) == 0 {
		lines = append(lines, english.Say("The two have no method at common levels: there is nothing to compare."))
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

// AgreeJSON is that for programs.
func AgreeJSON(all []choose.Agreement) any {
	type level struct {
		Level      float64    `json:"level"`
		Difference num.Number `json:"difference"`
		Low        num.Number `json:"low"`
		High       num.Number `json:"high"`
		En         num.Number `json:"e_n"`
		Permitted  num.Number `json:"permitted"`
	}
	type agreement struct {
		Method   string  `json:"method"`
		Dilution float64 `json:"dilution"`
		Matrix   string  `json:"matrix,omitempty"`
		Of       string  `json:"of"`
		Name     *string `json:"name"`
		Bench    int     `json:"bench"`
		Verdict  string  `json:"verdict"`
		Need     *string `json:"need"`
		Levels   []level `json:"levels"`
	}
	out := []agreement{}
	for _, g := range all {
		x := agreement{g.Method, g.Dilution, g.Matrix, g.Of, orNull(g.Name), g.Bench + 1, g.Verdict, orNull(g.NeedAt), []level{}}
		for _, l := range g.Levels {
			x.Levels = append(x.Levels, level{l.Level, l.Difference, l.Low, l.High, l.En, l.Permitted})
		}
		out = append(out, x)
	}
	return struct {
		Agreements []agreement `json:"agreements"`
	}{out}
}
