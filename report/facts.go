package report

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// factsOf is the title block: where the page comes from.
func factsOf(f assess.Findings, t knownwater.Trial, scale string) []fact {
	total := 0
	groups := map[string]map[string]bool{"reader": {}, "technique": {}, "session": {}, "vial": {}, "matrix": {}, "lot": {}}
	for _, o := range t.Observations {
		total += max(o.Count, 1)
		for k, v := range map[string]string{"reader": o.Reader, "technique": o.Technique, "session": o.Session, "vial": o.Vial, "matrix": o.Matrix, "lot": o.Lot} {
			if v != "" {
				groups[k][clean(v)] = true
			}
		}
	}
	if total == 0 {
		for _, m := range f.Methods {
			total += m.N
		}
	}
	tested := count(total) + " readings"
	if n := len(groups["vial"]); n > 0 {
		tested += " of " + count(n) + " vials"
	}
	facts := []fact{
		{Label: "Numbers are", Value: scale + " of " + orNone(clean(f.Analyte))},
		{Label: "Tested", Value: tested},
		{Label: "Knowns", Value: knownsOf(f), All: true},
		{Label: "Water", Value: waterOf(f, groups["matrix"])},
		{Label: "Readers", Value: listOr(groups["reader"], "not recorded")},
		{Label: "Technique", Value: listOr(groups["technique"], "not recorded")},
	}
	if n := len(groups["session"]); n > 0 {
		facts = append(facts, fact{Label: "Sessions", Value: count(n)})
	}
	if n := len(groups["lot"]); n > 0 {
		facts = append(facts, fact{Label: "Lots", Value: listOr(groups["lot"], "")})
	}
	return facts
}

func orNone(s string) string {
	if s == "" {
		return "an analyte not named"
	}
	return s
}

func listOr(set map[string]bool, otherwise string) string {
	names := make([]string, 0, len(set))
	for n := range set {
		names = append(names, n)
	}
	sort.Strings(names)
	for i, n := range names {
		names[i] = cut(n, 40)
	}
	switch {
	case len(names) == 0:
		return otherwise
	case len(names) > 8:
		return count(len(names)) + ", among them " + strings.Join(names[:3], ", ")
	}
	return strings.Join(names, ", ")
}

// knownsOf lists the knowns, and says so where their uncertainty is missing.
func knownsOf(f assess.Findings) string {
	u := map[float64]float64{}
	var levels []float64
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			if _, ok := u[l.Level]; !ok {
				levels = append(levels, l.Level)
			}
			u[l.Level] = math.Max(u[l.Level], l.ULevel)
		}
	}
	sort.Float64s(levels)
	var names []string
	stated := 0
	for _, l := range levels {
		if u[l] > 0 {
			stated++
		}
		if len(levels) <= 12 {
			names = append(names, typed(l, u[l]))
		}
	}
	s := strings.Join(names, ", ")
	if len(levels) > 12 {
		s = fmt.Sprintf("%s, from %s to %s", count(len(levels)), typed(levels[0], 0), typed(levels[len(levels)-1], 0))
	}
	switch {
	case len(levels) == 0:
		return "none"
	case stated == 0:
		return s + "; no uncertainty was stated, so they are taken as exact"
	case stated < len(levels):
		return s + "; some with no stated uncertainty"
	}
	return s + "; each with its stated uncertainty"
}

func waterOf(f assess.Findings, matrices map[string]bool) string {
	s := listOr(matrices, "")
	if s != "" {
		s += "; "
	}
	return fmt.Sprintf("%ssalinity %s, %s °C", s, typed(f.Salinity, 0), typed(f.Temperature, 0))
}
