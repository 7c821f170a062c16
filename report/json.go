package report

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"knownwater/science/assess"
	"knownwater/science/doubt"
)

// JSON writes the findings as docs/formats.md fixes them: one object, full
// precision, null where something cannot be computed, an empty list where
// there is nothing to list, and notes as sentences with their codes beside.
func JSON(w io.Writer, f assess.Findings) error { return writeJSON(w, wireOf(f), " ") }

// writeJSON prints one object and nothing else.
func writeJSON(w io.Writer, v any, indent string) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", indent)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("writing JSON: %w", err)
	}
	return nil
}

// The findings as they are handed out: a key declared here stands in place of
// the embedded one of the same name, or beside its codes.
type (
	wireFindings struct {
		Questions []wireQuestion `json:"questions"` // first of all
		Answers   []wireAnswered `json:"answers"`
		assess.Findings
		Methods    []wireMethod    `json:"methods"`
		Procedures []wireProcedure `json:"procedures"`
		Notes      []string        `json:"notes"`
	}
	wireMethod struct {
		assess.MethodFinding
		Shape wireShape  `json:"shape"`
		Needs []wireNeed `json:"needs"`
		Notes []string   `json:"notes"`
	}
	wireShape struct {
		assess.Shape
		Why string `json:"why"`
	}
	wireProcedure struct {
		assess.Procedure
		Needs []wireNeed `json:"needs"`
	}
	wireNeed struct {
		assess.NeedFinding
		Why     string `json:"why"`
		AtShare string `json:"at_share,omitempty"`
	}
	wireQuestion struct {
		doubt.Question
		Text string `json:"text"`
	}
	wireAnswered struct {
		doubt.Answered
		Text string `json:"text"`
	}
)

func wireOf(f assess.Findings) wireFindings {
	f = listed(f)
	w := wireFindings{Findings: f, Methods: make([]wireMethod, len(f.Methods)), Questions: wireQuestions(f.Questions), Answers: wireAnswers(f.Answers), Notes: SayAll(f.Notes)}
	for i, m := range f.Methods {
		w.Methods[i] = wireMethod{MethodFinding: m, Shape: wireShape{m.Shape, strings.Join(WordsAll(m.Shape.Why), "; ")}, Needs: wireNeeds(m.Needs), Notes: SayAll(m.Notes)}
	}
	w.Procedures = make([]wireProcedure, len(f.Procedures))
	for i, p := range f.Procedures {
		w.Procedures[i] = wireProcedure{p, wireNeeds(p.Needs)}
	}
	return w
}

func wireNeeds(needs []assess.NeedFinding) []wireNeed {
	out := make([]wireNeed, len(needs))
	for j, n := range needs {
		out[j] = wireNeed{NeedFinding: n, Why: sayTogether(n.Why), AtShare: sayTogether(n.AtShare)}
	}
	return out
}

func wireQuestions(qs []doubt.Question) []wireQuestion {
	out := make([]wireQuestion, len(qs))
	for i, q := range qs {
		q.At = some(q.At)
		out[i] = wireQuestion{q, Say(q.Says)}
	}
	return out
}

func wireAnswers(as []doubt.Answered) []wireAnswered {
	out := make([]wireAnswered, len(as))
	for i, a := range as {
		out[i] = wireAnswered{a, Say(a.Says)}
	}
	return out
}

// listed is a copy in which no list is nil, so that none leaves as null.
func listed(f assess.Findings) assess.Findings {
	f.Methods, f.Notes = some(f.Methods), some(f.Notes)
	for i := range f.Methods {
		m := &f.Methods[i]
		m.Levels, m.Readers, m.Steps, m.Pairs = some(m.Levels), some(m.Readers), some(m.Steps), some(m.Pairs)
		m.Techniques, m.Needs, m.ReadBack = some(m.Techniques), some(m.Needs), some(m.ReadBack)
		m.Notes = some(m.Notes)
		m.Shape.Parameters, m.Shape.At, m.Shape.Mean, m.Shape.Why = some(m.Shape.Parameters), some(m.Shape.At), some(m.Shape.Mean), some(m.Shape.Why)
		for j := range m.Levels {
			m.Levels[j].Seen = some(m.Levels[j].Seen)
		}
		m.Lots = some(m.Lots)
		listNeeds(m.Needs)
		for j := range m.Techniques {
			m.Techniques[j].Levels, m.Techniques[j].ByLevel = some(m.Techniques[j].Levels), some(m.Techniques[j].ByLevel)
		}
	}
	f.Procedures = some(f.Procedures)
	for i := range f.Procedures {
		p := &f.Procedures[i]
		p.Branches, p.Needs = some(p.Branches), some(p.Needs)
		listNeeds(p.Needs)
	}
	return f
}

func listNeeds(needs []assess.NeedFinding) {
	for i := range needs {
		n := &needs[i]
		n.Why, n.Along, n.ByLot, n.Averages = some(n.Why), some(n.Along), some(n.ByLot), some(n.Averages)
	}
}

// some is a copy of a list that is never nil.
func some[T any](list []T) []T { return append([]T{}, list...) }

func keysOf[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }
