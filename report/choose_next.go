package report

import (
	"fmt"
	"strings"

	"knownwater/science/choose"
	"knownwater/wording"
)

// NextSays is the next experiment for an open question, in a sentence.
func NextSays(l *wording.Language, x choose.Experiment) string {
	var levels []string
	each := 0
	dilution := ""
	for _, v := range x.Vials {
		levels = append(levels, typed(v.Level, 0))
		each = v.Readings
		if v.Dilution != 1 {
			dilution = " " + l.Say("diluted ×{1}", speech{l}.figureOf(v.Dilution, ""))
		}
	}
	s := l.Say("{1} more {2} of {3} by {4}{5}", capital(speech{l}.numeral(each)), verb(each, "vial", "vials"), knownWords(speech{l}, levels), clean(x.Method), dilution)
	if x.Waters > 1 {
		s += " " + l.Say("in {1}", clean(x.Matrix))
	}
	if x.Report != "" {
		s += " (" + clean(x.Report) + ")"
	}
	s += " " + l.Say("would settle “{1}” in {2} of 100 cases", clean(x.Need), InHundred(l, x.PSettles))
	if x.Even < x.PSettles {
		s += " " + l.Say("(as many spread over all knowns: {1})", InHundred(l, x.Even))
	}
	var cost []string
	if x.Minutes.OK() {
		cost = append(cost, l.Say("{1} minutes", three(float64(x.Minutes))))
	}
	if x.Money.OK() {
		cost = append(cost, l.Say("money {1}", three(float64(x.Money))))
	}
	if len(cost) > 0 {
		s += ": " + strings.Join(cost, ", ")
	}
	s += "."
	if x.Changes {
		s += " " + l.Say("Were it fit, it would be used.")
	}
	return s
}

func knownWords(l speech, levels []string) string {
	if len(levels) == 1 {
		return l.Say("the known {1}", levels[0])
	}
	return l.Say("each of the knowns {1}", l.and(levels))
}

// ForecastCommand is the command that looks at an experiment as a plan of its own, ready to
// be changed.
func ForecastCommand(x choose.Experiment) string {
	s := "knownwater forecast --methods methods.toml --need need.toml"
	each := 0
	for _, v := range x.Vials {
		s += " --level " + typed(v.Level, 0)
		each = v.Readings
	}
	return s + fmt.Sprintf(" --vials %d --blanks %d", each, each)
}

func nextText(b *strings.Builder, next []choose.Experiment) {
	for i, x := range next {
		if i == 0 {
			fmt.Fprintln(b, "\nNext, of what an evening holds:")
		}
		fmt.Fprintln(b, "  "+NextSays(nil, x))
	}
	if len(next) > 0 {
		fmt.Fprintln(b, "  "+english.Say("As a plan of its own, to change: {1}", ForecastCommand(next[0])))
	}
}
