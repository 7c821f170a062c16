package report

import (
	"fmt"
	"strings"

	"knownwater/science/choose"
)

// NextSays is the next experiment for an open question, in a sentence.
func NextSays(x choose.Experiment) string {
	var levels []string
	each := 0
	dilution := ""
	for _, v := range x.Vials {
		levels = append(levels, typed(v.Level, 0))
		each = v.Readings
		if v.Dilution != 1 {
			dilution = " diluted ×" + figureOf(v.Dilution, "")
		}
	}
	s := fmt.Sprintf("%s more %s of %s by %s%s", capital(numeral(each)), verb(each, "vial", "vials"), knownWords(levels), clean(x.Method), dilution)
	if x.Report != "" {
		s += " (" + clean(x.Report) + ")"
	}
	s += fmt.Sprintf(" would settle “%s” in %s of 100 cases", clean(x.Need), InHundred(x.PSettles))
	if x.Even < x.PSettles {
		s += fmt.Sprintf(" (as many spread over all knowns: %s)", InHundred(x.Even))
	}
	var cost []string
	if x.Minutes.OK() {
		cost = append(cost, three(float64(x.Minutes))+" minutes")
	}
	if x.Money.OK() {
		cost = append(cost, "money "+three(float64(x.Money)))
	}
	if len(cost) > 0 {
		s += ": " + strings.Join(cost, ", ")
	}
	s += "."
	if x.Changes {
		s += " Were it fit, it would be used."
	}
	return s
}

func knownWords(levels []string) string {
	if len(levels) == 1 {
		return "the known " + levels[0]
	}
	return "each of the knowns " + and(levels)
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
		fmt.Fprintln(b, "  "+NextSays(x))
	}
	if len(next) > 0 {
		fmt.Fprintln(b, "  As a plan of its own, to change: "+ForecastCommand(next[0]))
	}
}
