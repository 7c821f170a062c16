package history

import (
	"cmp"
	"maps"
	"slices"

	"knownwater/science/unit"
)

// Part is what a log holds of one analyte in one unit, with what is known of its methods.
type Part struct {
	Scale   unit.Scale // the zero one: of methods that nobody says what they measure
	Entries []Entry
	Methods Methods
}

// Split takes a log apart by what its methods measure, since nothing can be held against what measures another
// thing: the part with most readings of waters comes first. A method without a record belongs where the
// analyte is that it is described with, else to the part with which its samples share a word; one that neither
// ties anywhere stands in a part of its own, unless the log is of one analyte anyway.
func Split(log []Entry, m Methods) []Part {
	of, scales := m.scales(log)
	if len(scales) < 2 {
		p := Part{Entries: log, Methods: m}
		if len(scales) == 1 {
			p.Scale = scales[0]
		}
		return []Part{p}
	}
	m.tie(log, of, scales)
	at := map[unit.Scale]int{}
	var parts []Part
	for _, e := range log {
		s := of[e.Method]
		i, there := at[s]
		if !there {
			i = len(parts)
			at[s] = i
			own := m
			own.Records = maps.Clone(m.Records)
			maps.DeleteFunc(own.Records, func(name string, _ []Source) bool { return of[name] != s })
			parts = append(parts, Part{Scale: s, Methods: own})
		}
		parts[i].Entries = append(parts[i].Entries, e)
	}
	results := func(p Part) (n int) {
		for _, e := range p.Entries {
			if !e.Check && p.Scale != (unit.Scale{}) {
				n++
			}
		}
		return n
	}
	slices.SortStableFunc(parts, func(a, b Part) int {
		return cmp.Or(cmp.Compare(results(b), results(a)), cmp.Compare(a.Scale.Analyte, b.Scale.Analyte), cmp.Compare(a.Scale.String(), b.Scale.String()))
	})
	return parts
}

// scales are those of the methods of a log that have a record, and all of them in order of first appearance.
func (m Methods) scales(log []Entry) (of map[string]unit.Scale, all []unit.Scale) {
	of = map[string]unit.Scale{}
	for _, e := range log {
		records := m.Records[e.Method]
		if _, done := of[e.Method]; done || len(records) == 0 {
			continue
		}
		s := records[len(records)-1].Unit()
		of[e.Method] = s
		if !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	return of, all
}

// tie finds where methods without a record belong.
func (m Methods) tie(log []Entry, of map[string]unit.Scale, scales []unit.Scale) {
	paired := map[string][]unit.Scale{} // by the word of a pair
	for _, e := range log {
		if s, there := of[e.Method]; there && e.Pair != "" {
			paired[e.Pair] = append(paired[e.Pair], s)
		}
	}
	votes := map[string]map[unit.Scale]int{}
	for _, e := range log {
		if _, there := of[e.Method]; there {
			continue
		}
		if votes[e.Method] == nil {
			votes[e.Method] = map[unit.Scale]int{}
		}
		for _, s := range paired[e.Pair] {
			votes[e.Method][s]++
		}
	}
	for method, by := range votes {
		of[method] = unit.Scale{}
		most := 0
		for _, s := range scales { // in their order: the first of equals
			if by[s] > most {
				of[method], most = s, by[s]
			}
		}
		said := m.Measures[method]
		if said == "" {
			continue
		}
		if of[method].Analyte != said {
			of[method] = unit.Scale{Analyte: said}
		}
		if i := slices.IndexFunc(scales, func(s unit.Scale) bool { return s.Analyte == said }); of[method].Unit == "" && i >= 0 {
			of[method] = scales[i]
		}
	}
}
