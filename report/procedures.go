package report

import (
	"strings"

	"knownwater/science/assess"
)

// beside says what stands beside a verdict on single results: lots, averages,
// minutes and money.
func beside(n assess.NeedFinding) []string {
	var out []string
	if len(n.ByLot) > 1 {
		var parts []string
		for _, l := range n.ByLot {
			parts = append(parts, clean(l.Lot)+" "+l.Verdict)
		}
		s := english.Say("By lot: {1}", strings.Join(parts, ", "))
		if n.UntriedLot != nil {
			s += "; " + english.Say("a lot that was not tried: {1}", *n.UntriedLot)
		}
		out = append(out, s+".")
	}
	var parts []string
	for _, a := range n.Averages {
		if a.Verdict == n.Verdict || !a.Error95.OK() {
			continue
		}
		who := "one reader"
		if a.Readers > 1 {
			who = plural(a.Readers, "reader")
		}
		parts = append(parts, english.Say("{1} by {2}: {3} (±{4})", plural(a.N, "test"), who, a.Verdict, number(a.Error95, a.Low, a.High).To))
	}
	if len(parts) > 0 {
		out = append(out, english.Say("Averages of {1}.", strings.Join(parts, "; ")))
	}
	if n.WithinLimits != nil && !*n.WithinLimits {
		out = append(out, english.Say("It takes longer or costs more than the need allows."))
	}
	return out
}

// lotsOf are the ratios of the lots.
func lotsOf(m assess.MethodFinding) string {
	var parts []string
	for _, l := range m.Lots {
		parts = append(parts, clean(l.Lot)+" × "+number(l.Ratio, l.Low, l.High).String())
	}
	return strings.Join(parts, "; ")
}
