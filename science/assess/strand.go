package assess

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/doubt"
)

// strand is all readings of one method at one dilution in one matrix.
type strand struct {
	method   knownwater.Method
	dilution float64
	matrix   string
	obs      []knownwater.Observation
}

// split sorts a trial's observations into strands, in the order of the
// methods, then of dilution and matrix. Within a strand observations stand in
// one order, whatever the file's.
func split(t knownwater.Trial) []strand {
	type key struct {
		method   string
		dilution float64
		matrix   string
	}
	found := map[key][]knownwater.Observation{}
	for _, o := range t.Observations {
		k := key{o.Method, o.Dilution, o.Matrix}
		found[k] = append(found[k], o)
	}
	order := map[string]int{}
	methods := map[string]knownwater.Method{}
	for i, m := range t.Methods {
		order[m.Name], methods[m.Name] = i, m
	}
	keys := make([]key, 0, len(found))
	for k := range found {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(order[a.method], order[b.method]), strings.Compare(a.method, b.method),
			cmp.Compare(a.dilution, b.dilution), strings.Compare(a.matrix, b.matrix))
	})
	var strands []strand
	for _, k := range keys {
		obs := found[k]
		slices.SortFunc(obs, compareObservations)
		strands = append(strands, strand{methods[k.method], k.dilution, k.matrix, obs})
	}
	return strands
}

func compareObservations(a, b knownwater.Observation) int {
	return cmp.Or(cmp.Compare(a.Level, b.Level), strings.Compare(a.Technique, b.Technique),
		strings.Compare(a.Session, b.Session), strings.Compare(a.Vial, b.Vial), strings.Compare(a.Reader, b.Reader),
		strings.Compare(a.Lot, b.Lot), cmp.Compare(a.Seen.Low, b.Seen.Low), cmp.Compare(a.Seen.High, b.Seen.High),
		strings.Compare(a.Text, b.Text), cmp.Compare(a.Count, b.Count))
}

// level is one known of a strand.
type level struct {
	value, u, shared, background float64
}

// levelsOf lists the knowns of a strand, rising. Where rows of one level state
// different uncertainties the largest counts.
func levelsOf(obs []knownwater.Observation) []level {
	var ls []level
	for _, o := range obs { // sorted by level
		if n := len(ls); n > 0 && ls[n-1].value == o.Level {
			ls[n-1].u = math.Max(ls[n-1].u, o.ULevel)
			ls[n-1].shared = math.Max(ls[n-1].shared, o.UShared)
			ls[n-1].background = math.Max(ls[n-1].background, o.UBackground)
			continue
		}
		ls = append(ls, level{o.Level, o.ULevel, o.UShared, o.UBackground})
	}
	return ls
}

// techniquesOf lists the techniques, the reference first: the one tried at the
// most levels, then the one with the most readings, then the first by name.
func techniquesOf(obs []knownwater.Observation) []string {
	levels, count := map[string]map[float64]bool{}, map[string]int{}
	for _, o := range obs {
		if levels[o.Technique] == nil {
			levels[o.Technique] = map[float64]bool{}
		}
		levels[o.Technique][o.Level] = true
		count[o.Technique] += o.Count
	}
	names := make([]string, 0, len(levels))
	for t := range levels {
		names = append(names, t)
	}
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(len(levels[b]), len(levels[a])), cmp.Compare(count[b], count[a]), strings.Compare(a, b))
	})
	return names
}

// readingsOf are the strands as questions look at them.
func readingsOf(strands []strand) []doubt.Readings {
	all := make([]doubt.Readings, len(strands))
	for i, s := range strands {
		all[i] = doubt.Readings{Method: s.method, Matrix: s.matrix, Obs: s.obs}
	}
	return all
}
