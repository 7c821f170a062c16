// Package note holds the doubts inside a result: why a number is missing or
// weak. A note is a code with its numbers and names and no sentence; package
// report has the sentence of every code.
package note

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"

	"knownwater/science/num"
)

// Note is one doubt. Values stand under names, one or several to a name, so
// that its sentence need not know how they were worked out.
type Note struct {
	Code    string                  `json:"code"`
	Numbers map[string][]num.Number `json:"numbers,omitempty"`
	Names   map[string][]string     `json:"names,omitempty"`
	Because []Note                  `json:"because,omitempty"` // the reasons behind it
}

// New is a note without values; the methods add them.
func New(code string) Note { return Note{Code: code} }

// Told is a remark that came in words, from a person or from the file that was
// read: it has no code of its own.
func Told(text string) Note { return New(CodeTold).Name("text", text) }

// CodeTold is the code of Told.
const CodeTold = "told"

// Number is the note with numbers under a name.
func (n Note) Number(name string, values ...float64) Note {
	list := make([]num.Number, len(values))
	for i, v := range values {
		list[i] = num.Number(v)
	}
	n.Numbers = with(n.Numbers, name, list)
	return n
}

// Name is the note with names under a name.
func (n Note) Name(name string, values ...string) Note {
	n.Names = with(n.Names, name, slices.Clone(values))
	return n
}

// Since is the note with a reason more.
func (n Note) Since(reasons ...Note) Note {
	n.Because = append(slices.Clip(slices.Clone(n.Because)), reasons...)
	return n
}

func with[T any](m map[string]T, name string, v T) map[string]T {
	m = maps.Clone(m)
	if m == nil {
		m = map[string]T{}
	}
	m[name] = v
	return m
}

// UnmarshalJSON takes words, too, as notes stood in files once.
func (n *Note) UnmarshalJSON(text []byte) error {
	if len(text) > 0 && text[0] == '"' {
		var words string
		err := json.Unmarshal(text, &words)
		*n = Told(words)
		return err
	}
	type plain Note
	return json.Unmarshal(text, (*plain)(n))
}

// Equal says whether two notes say the same.
func (n Note) Equal(o Note) bool { return reflect.DeepEqual(n, o) }

// Add appends a note unless the list has it already.
func Add(list []Note, n Note) []Note {
	if slices.ContainsFunc(list, n.Equal) {
		return list
	}
	return append(list, n)
}

// ToldAll are remarks that came in words.
func ToldAll(texts []string) []Note {
	out := make([]Note, len(texts))
	for i, t := range texts {
		out[i] = Told(t)
	}
	return out
}
