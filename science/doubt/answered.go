package doubt

import (
	"fmt"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
)

// Answered is a question that a person has answered. What was handed in stays as it
// is: a yes puts the readings right for the computation alone.
type Answered struct {
	Question string    `json:"question"` // its key
	Kind     string    `json:"kind"`
	Method   string    `json:"method"`
	Says     note.Note `json:"text_code"`
	Answer   string    `json:"answer"` // yes, no, or: not asked (the readings do not put this question)
	Why      string    `json:"why"`
}

// The words of an answer.
const (
	Yes      = "yes"
	No       = "no"
	NotAsked = "not asked"
)

// mostKeyed bounds the readings that a question's key names.
const mostKeyed = 12

// Keyed gives a question the words by which an answer finds it again: kind, method,
// water and readings. They do not depend on rows or on people's names.
func (q *Question) Keyed() {
	parts := []string{q.Kind}
	for _, s := range []string{q.Method, q.Matrix} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	var places []string
	for _, p := range q.At {
		places = append(places, p.Reading+" at "+short(p.Level))
	}
	slices.Sort(places)
	if n := len(places); n > mostKeyed {
		places = append(places[:mostKeyed], fmt.Sprintf("%d more", n-mostKeyed))
	}
	if len(places) > 0 {
		parts = append(parts, strings.Join(places, ", "))
	}
	q.Key = strings.Join(parts, ": ")
}

// Choices are what a yes may mean, the likeliest first; one without words where the
// question is a plain one, none where no computation follows from a yes.
func (q Question) Choices() []note.Note {
	switch {
	case len(q.Mends) == 0:
		return nil
	case len(q.Says.Because) >= len(q.Mends):
		return q.Says.Because[:len(q.Mends)]
	}
	return []note.Note{{}}
}

// Answers are the answers to a trial's questions, and which of them found one.
type Answers struct {
	given []knownwater.Answer
	found []Answered
}

// NewAnswers are those given, of which none was used yet.
func NewAnswers(given []knownwater.Answer) *Answers { return &Answers{given: given} }

// Any says whether there are any that were not used yet.
func (a *Answers) Any() bool { return len(a.given) > 0 }

// to is the answer to a question that was not used yet; −1 where there is none.
func (a *Answers) to(q Question) int {
	return slices.IndexFunc(a.given, func(x knownwater.Answer) bool { return x.Question == q.Key })
}

// take uses an answer up, so that it is told once and asked for no more.
func (a *Answers) take(i int, q Question, word string) {
	x := a.given[i]
	a.given = slices.Delete(slices.Clone(a.given), i, i+1)
	a.found = append(a.found, Answered{x.Question, q.Kind, q.Method, q.Says, word, x.Why})
}

// Mended is the trial with a yes put into effect; false where there is none to a
// question, or none that changes a number.
func (a *Answers) Mended(t knownwater.Trial, q Question) (knownwater.Trial, bool) {
	i := a.to(q)
	if i < 0 || !a.given[i].Yes || a.given[i].Choice < 0 || a.given[i].Choice >= len(q.Mends) {
		return t, false
	}
	t = q.Mends[a.given[i].Choice](t)
	a.take(i, q, Yes)
	return t, true
}

// Denied says whether a question was answered with no.
func (a *Answers) Denied(q Question) bool {
	i := a.to(q)
	return i >= 0 && !a.given[i].Yes
}

// Open says whether a question is open: nobody has answered it with no.
func (a *Answers) Open(q Question) bool {
	if !a.Denied(q) {
		return true
	}
	a.take(a.to(q), q, No)
	return false
}

// All lists what became of every answer.
func (a *Answers) All() []Answered {
	out := slices.Clone(a.found)
	for _, x := range a.given {
		out = append(out, Answered{Question: x.Question, Answer: NotAsked, Why: x.Why})
	}
	slices.SortStableFunc(out, func(x, y Answered) int { return strings.Compare(x.Question, y.Question) })
	return out
}

// short writes a number with at most four digits.
func short(v float64) string { return fmt.Sprintf("%.4g", v) }
