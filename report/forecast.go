package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"knownwater/science/num"
	"knownwater/science/plan"
	"knownwater/science/unit"
)

// Decided says in how many of the runs that were made a need was decided, and what
// that says of its chance.
func Decided(n plan.NeedOutlook) string {
	return english.Say("in {1} of {2} (95 % interval of the chance: {3} to {4} %)", strconv.Itoa(n.Decided()), things(n.Runs, "simulated trial"), fmt.Sprintf("%.0f", 100*n.Low), fmt.Sprintf("%.0f", 100*n.High))
}

// ForecastText says what a plan could decide.
func ForecastText(w io.Writer, o plan.Outlook, s unit.Scale) error {
	var b strings.Builder
	for _, m := range o.Methods {
		fmt.Fprintf(&b, "%s, %s:\n", forecastName(m), things(m.Readings, "reading"))
		for _, n := range m.Needs {
			fmt.Fprintf(&b, "  “%s” would be decided %s:\n    fit %d, not fit %d, undecided %d.\n", clean(n.Need), Decided(n), n.Fit, n.NotFit, n.Runs-n.Decided())
		}
		var seen []string
		for _, l := range m.SmallestBias {
			if v := num.Number(l.Bias); v.OK() {
				seen = append(seen, english.Say("±{1} at {2}", two(l.Bias), typed(l.Level, 0)))
			}
		}
		if len(seen) > 0 {
			of := ""
			if s.Unit != "" {
				of = fmt.Sprintf(" (%s)", s)
			}
			fmt.Fprintf(&b, "  The smallest bias that would show in about four of five trials%s: %s.\n", of, strings.Join(seen, ", "))
		}
	}
	for _, n := range SayAll(o.Notes) {
		fmt.Fprintf(&b, "Note: %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func forecastName(m plan.MethodOutlook) string {
	name := clean(m.Method)
	if m.Dilution > 1 {
		name += " ×" + typed(m.Dilution, 0)
	}
	return name
}

// ForecastJSON is a forecast as it is printed for programs.
func ForecastJSON(o plan.Outlook) any {
	type need struct {
		Need      string  `json:"need"`
		Runs      int     `json:"runs"`
		Fit       int     `json:"fit"`
		NotFit    int     `json:"not_fit"`
		Undecided int     `json:"undecided"`
		Low       float64 `json:"decided_low"`
		High      float64 `json:"decided_high"`
	}
	type level struct {
		Level float64    `json:"level"`
		Bias  num.Number `json:"smallest_bias"`
	}
	type method struct {
		Method   string     `json:"method"`
		Dilution float64    `json:"dilution"`
		Readings int        `json:"readings"`
		Spread   num.Number `json:"spread_within"`
		Levels   []level    `json:"levels"`
		Needs    []need     `json:"needs"`
	}
	methods := []method{}
	for _, m := range o.Methods {
		x := method{m.Method, m.Dilution, m.Readings, num.Number(m.SpreadWithin), []level{}, []need{}}
		for _, l := range m.SmallestBias {
			x.Levels = append(x.Levels, level{l.Level, num.Number(l.Bias)})
		}
		for _, n := range m.Needs {
			x.Needs = append(x.Needs, need{n.Need, n.Runs, n.Fit, n.NotFit, n.Runs - n.Decided(), n.Low, n.High})
		}
		methods = append(methods, x)
	}
	return struct {
		Runs    int      `json:"runs"`
		Wanted  int      `json:"wanted"`
		Methods []method `json:"methods"`
		Notes   []string `json:"notes"`
	}{o.Runs, o.Wanted, methods, SayAll(o.Notes)}
}
