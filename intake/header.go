package intake

import (
	"slices"
	"strings"

	"knownwater/science/unit"
)

// layout is which columns a table must have, which others have a meaning, and
// what else people call them.
type layout struct {
	wanted, known []string
	synonyms      map[string]string
	wide          bool              // instead of method and reading it may have a column a method
	called        map[string]string // what somebody said that a heading is
	asked         bool              // somebody can be asked what a heading is (--column)
}

func (l layout) names(name string) bool {
	return slices.Contains(l.wanted, name) || slices.Contains(l.known, name)
}

// heading is a cell of the header: the column that it names, if any, and the
// unit in its brackets.
type heading struct {
	text   string // as written
	column string // "" where it is none of the layout's
	name   string // the text without a unit in brackets
	unit   string
	out    bool // somebody said that it is of no account
}

// heading understands a cell of a header. Capitals, underscores and a colon
// behind do not matter.
func (l layout) heading(text string) heading {
	h := heading{text: text, name: text}
	if as, ok := l.said(text); ok {
		h.name, h.unit = unitInBrackets(text)
		switch as {
		case ColumnOut:
			h.out = true
		case ColumnMethod:
		default:
			h.column = as
		}
		return h
	}
	if column := l.column(text); column != "" {
		h.column = column
		return h
	}
	if name, u := unitInBrackets(text); u != "" {
		h.name, h.unit = name, u
		h.column = l.column(name)
	}
	return h
}

func (l layout) column(text string) string {
	t := strings.TrimSuffix(strings.ToLower(strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '_' || r == '\u00a0' || r == '\t' || r == '\n' }), " ")), ":")
	if name := strings.ReplaceAll(strings.TrimSpace(t), " ", "_"); l.names(name) {
		return name
	}
	return l.synonyms[t]
}

// unitInBrackets parts "Meter (mg/L NO3)" into name and unit; brackets around
// anything else belong to the name.
func unitInBrackets(text string) (name, u string) {
	t := strings.TrimSpace(text)
	for _, b := range []string{"()", "[]", "{}"} {
		if i := strings.LastIndexByte(t, b[0]); i > 0 && t[len(t)-1] == b[1] {
			if in := strings.TrimSpace(t[i+1 : len(t)-1]); isUnit(in) {
				return strings.TrimSpace(t[:i]), in
			}
		}
	}
	return t, ""
}

// isUnit says whether a text is a unit of any analyte: mg/L, ppm, mg/L as N, dKH.
func isUnit(text string) bool {
	return text != "" && len(text) <= 40 && unit.IsUnit(text)
}

// shape is how a row would do as a header.
type shape int

const (
	noHeader  shape = iota
	longTable       // a row a reading
	wideTable       // a column a method
	oneMethod       // a row a reading, of a method that the file does not name
)

// shapeOf says what table the headings are the header of, and how many of them
// name a column.
func (l layout) shapeOf(hs []heading) (s shape, hits int) {
	have := map[string]bool{}
	others := 0
	for _, h := range hs {
		switch {
		case h.column != "":
			have[h.column] = true
			hits++
		case h.name != "" && !h.out:
			others++
		}
	}
	all := true
	for _, w := range l.wanted {
		all = all && have[w]
	}
	switch {
	case all:
		return longTable, hits
	case l.wide && have["level"] && have["reading"]:
		return oneMethod, hits
	case l.wide && have["level"] && !have["method"] && others > 0:
		return wideTable, hits
	}
	return noHeader, hits
}

// computed are headings of columns that somebody worked out from the others.
var computed = map[string]bool{"mean": true, "average": true, "avg": true, "median": true, "sd": true, "stdev": true, "std": true, "std dev": true,
	"s.d.": true, "rsd": true, "cv": true, "error": true, "bias": true, "recovery": true, "difference": true, "diff": true, "delta": true,
	"n": true, "count": true, "min": true, "max": true, "sum": true, "total": true, "% error": true, "% recovery": true, "error %": true, "recovery %": true}

func isComputed(name string) bool { return computed[strings.ToLower(strings.TrimSpace(name))] }
