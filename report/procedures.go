package report

import (
	"fmt"
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
		s := "By lot: " + strings.Join(parts, ", ")
		if n.UntriedLot != nil {
			s += "; a lot that was not tried: " + *n.UntriedLot
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
		parts = append(parts, fmt.Sprintf("%s by %s: %s (±%s)", plural(a.N, "test"), who, a.Verdict, number(a.Error95, a.Low, a.High).To))
	}
	if len(parts) > 0 {
		out = append(out, "Averages of "+strings.Join(parts, "; ")+".")
	}
	if n.WithinLimits != nil && !*n.WithinLimits {
		out = append(out, "It takes longer or costs more than the need allows.")
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
