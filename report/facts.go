package report

import (
	"math"
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/wording"
)

// factsOf is the title block: where the page comes from.
func factsOf(f assess.Findings, t knownwater.Trial, scale string) []fact {
	total := 0
	var reader, technique, session, vial, matrix, lot = set{}, set{}, set{}, set{}, set{}, set{}
	for _, o := range t.Observations {
		total += max(o.Count, 1)
		reader.add(o.Reader)
		technique.add(o.Technique)
		session.add(o.Session)
		vial.add(o.Vial)
		matrix.add(o.Matrix)
		lot.add(o.Lot)
	}
	if total == 0 {
		for _, m := range f.Methods {
			total += m.N
		}
	}
	tested := english.Say("{1} readings", count(total))
	if n := len(vial); n > 0 {
		tested += " " + english.Say("of {1} vials", count(n))
	}
	facts := []fact{
		{Label: "Numbers are", Value: english.Say("{1} of {2}", scale, orNone(clean(f.Analyte)))},
		{Label: "Tested", Value: tested},
		{Label: "Knowns", Value: knownsOf(f), All: true},
		{Label: "Water", Value: waterOf(f, matrix)},
		{Label: "Readers", Value: listOr(reader, "not recorded")},
		{Label: "Technique", Value: listOr(technique, "not recorded")},
	}
	if n := len(session); n > 0 {
		facts = append(facts, fact{Label: "Sessions", Value: count(n)})
	}
	if n := len(lot); n > 0 {
		facts = append(facts, fact{Label: "Lots", Value: listOr(lot, "")})
	}
	return facts
}

// set holds different texts.
type set map[string]bool

func (s set) add(text string) {
	if text != "" {
		s[text] = true
	}
}

func orNone(s string) string {
	if s == "" {
		return wording.Key("an unnamed analyte")
	}
	return s
}

func listOr(s set, otherwise string) string { return english.listOr(s, otherwise) }

func (l speech) listOr(s set, otherwise string) string {
	names := make([]string, 0, len(s))
	for n := range s {
		names = append(names, clean(n))
	}
	sort.Strings(names)
	names = slices.Compact(names)
	for i, n := range names {
		names[i] = cut(n, 40)
	}
	switch {
	case len(names) == 0:
		return otherwise
	case len(names) > 8:
		return l.Say("{1}, among them {2}", count(len(names)), strings.Join(names[:3], ", "))
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
		s = english.Say("{1}, from {2} to {3}", count(len(levels)), typed(levels[0], 0), typed(levels[len(levels)-1], 0))
	}
	switch {
	case len(levels) == 0:
		return "none"
	case stated == 0:
		return s + "; " + english.Say("no uncertainty was stated, so they are taken as exact")
	case stated < len(levels):
		return s + "; " + english.Say("some with no stated uncertainty")
	}
	return s + "; " + english.Say("each with its stated uncertainty")
}

func waterOf(f assess.Findings, matrices set) string {
	s := listOr(matrices, "")
	if s != "" {
		s += "; "
	}
	return english.Say("{1}salinity {2}, {3} °C", s, typed(f.Salinity, 0), typed(f.Temperature, 0))
}
