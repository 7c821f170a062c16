package report

import (
	"fmt"
	"slices"
	"strings"

	"knownwater/science/history"
)

// PlansSay are how often to test each known for which delay, a line each: of every method and
// known by the lot that was checked last.
func PlansSay(all []history.Checks) (lines []string) {
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
				parts = append(parts, planSays(p))
			}
		}
		lines = append(lines, fmt.Sprintf("How often to test %s, known %s? If it read %s %% of what it does now, that would show, with one vial %s.", clean(c.Method), brief(c.Known), either(ratios), strings.Join(parts, "; ")))
	}
	slices.Reverse(lines)
	return lines
}

func planSays(p history.Plan) string {
	every := "week"
	if p.Weeks > 1 {
		every = things(p.Weeks, "week")
	}
	shows := make([]string, len(p.Shows))
	for i, weeks := range p.Shows {
		shows[i] = WeeksSay(weeks)
	}
	return fmt.Sprintf("every %s, after %s (a false alarm once in %s years)", every, either(shows), brief(twoDigits(p.Years)))
}

func either(list []string) string {
	last := len(list) - 1
	return strings.Join(list[:last], ", ") + " or " + list[last]
}

// WeeksSay is a time in weeks, or where that is long in years.
func WeeksSay(weeks float64) string {
	if !(weeks < 520) {
		return "more than ten years"
	}
	if weeks > 104 {
		return fmt.Sprintf("%.0f years", weeks/52)
	}
	return things(int(weeks), "week")
}
