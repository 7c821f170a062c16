package report

import (
	"encoding/json"
	"fmt"
	"io"

	"knownwater/science/assess"
)

// JSON writes the findings as docs/formats.md fixes them: one object, full
// precision, null where something cannot be computed, and an empty list where
// there is nothing to list.
func JSON(w io.Writer, f assess.Findings) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(listed(f)); err != nil {
		return fmt.Errorf("writing the findings as JSON: %w", err)
	}
	return nil
}

// listed is a copy in which no list is nil, so that none leaves as null.
func listed(f assess.Findings) assess.Findings {
	f.Methods, f.Slips, f.Notes = some(f.Methods), some(f.Slips), some(f.Notes)
	for i := range f.Methods {
		m := &f.Methods[i]
		m.Levels, m.Readers, m.Steps, m.Pairs = some(m.Levels), some(m.Readers), some(m.Steps), some(m.Pairs)
		m.Techniques, m.Needs, m.ReadBack = some(m.Techniques), some(m.Needs), some(m.ReadBack)
		m.Slips, m.Notes = some(m.Slips), some(m.Notes)
		m.Shape.Parameters, m.Shape.At, m.Shape.Mean = some(m.Shape.Parameters), some(m.Shape.At), some(m.Shape.Mean)
		for j := range m.Levels {
			m.Levels[j].Seen = some(m.Levels[j].Seen)
		}
		for j := range m.Needs {
			m.Needs[j].Along = some(m.Needs[j].Along)
		}
		for j := range m.Techniques {
			m.Techniques[j].Levels = some(m.Techniques[j].Levels)
		}
	}
	return f
}

// some is a copy of a list that is never nil.
func some[T any](list []T) []T { return append([]T{}, list...) }
