package report

import (
	"fmt"
	"slices"
	"strings"

	"knownwater/science/history"
	"knownwater/wording"
)

// PlansSay are how often to test each known for which delay, a line each: of every method and
// known by the lot that was checked last.
func PlansSay(l *wording.Language, all []history.Checks) (lines []string) {
	type row struct {
		method string
		known  float64
	}
	said := map[row]bool{}
	var ratios []string
	for _, r := range history.PlannedRatios {
		ratios = append(ratios, fmt.Sprintf("%.0f", 100*r))
	}
	for _, c := range slices.Backward(all) {
		k := row{c.Method, c.Known}
		if said[k] {
			continue
		}
		plans := c.Plans(c.Delays())
		if plans == nil {
			continue
		}
		said[k] = true
		var parts []string
		for _, p := range plans {
			if p.Vials == 1 {
				parts = append(parts, planSays(speech{l}, p))
			}
		}
		lines = append(lines, l.Say("How often to test {1}, known {2}? If it read {3} % of what it does now, that would show in four of five cases, with one vial {4}.", clean(c.Method), brief(c.Known), either(speech{l}, ratios), strings.Join(parts, "; ")))
	}
	slices.Reverse(lines)
	return lines
}

func planSays(l speech, p history.Plan) string {
	every := "week"
	if p.Weeks > 1 {
		every = l.things(p.Weeks, "week")
	}
	shows := make([]string, len(p.Shows))
	for i, weeks := range p.Shows {
		shows[i] = WeeksSay(l.Language, weeks)
	}
	return l.Say("every {1}, within {2} (a false alarm once in {3} years)", every, either(l, shows), brief(twoDigits(p.Years)))
}

func either(l speech, list []string) string {
	last := len(list) - 1
	return l.Say("{1} or {2}", strings.Join(list[:last], ", "), list[last])
}

// WeeksSay is a time in weeks, or where that is long in years.
func WeeksSay(l *wording.Language, weeks float64) string {
	if !(weeks < 520) {
		return l.Say("more than ten years")
	}
	if weeks > 104 {
		return l.Say("{1} years", fmt.Sprintf("%.0f", weeks/52))
	}
	return speech{l}.things(int(weeks), "week")
}
