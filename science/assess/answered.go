package assess

import (
	"fmt"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
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
	AnswerYes      = "yes"
	AnswerNo       = "no"
	AnswerNotAsked = "not asked"
)

// mostKeyed bounds the readings that a question's key names.
const mostKeyed = 12

// keyed gives a question the words by which an answer finds it again: kind, method,
// water and readings. They do not depend on rows or on people's names.
func (q *Question) keyed() {
	parts := []string{q.Kind}
	for _, s := range []string{q.Method, q.matrix} {
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
	case len(q.mends) == 0:
		return nil
	case len(q.Says.Because) >= len(q.mends):
		return q.Says.Because[:len(q.mends)]
	}
	return []note.Note{{}}
}

// answers are the answers to a trial's questions, and which of them found one.
type answers struct {
	given []knownwater.Answer
	found []Answered
}

// to is the answer to a question that was not used yet; −1 where there is none.
func (a *answers) to(q Question) int {
	return slices.IndexFunc(a.given, func(x knownwater.Answer) bool { return x.Question == q.Key })
}

// take uses an answer up, so that it is told once and asked for no more.
func (a *answers) take(i int, q Question, word string) {
	x := a.given[i]
	a.given = slices.Delete(slices.Clone(a.given), i, i+1)
	a.found = append(a.found, Answered{x.Question, q.Kind, q.Method, q.Says, word, x.Why})
}

// mended is the trial with a yes put into effect; false where there is none to a
// question, or none that changes a number.
func (a *answers) mended(t knownwater.Trial, q Question) (knownwater.Trial, bool) {
	i := a.to(q)
	if i < 0 || !a.given[i].Yes || a.given[i].Choice < 0 || a.given[i].Choice >= len(q.mends) {
		return t, false
	}
	t = q.mends[a.given[i].Choice](t)
	a.take(i, q, AnswerYes)
	return t, true
}

// settle puts right what was answered with yes about readings as they stand, one
// question after the other: each may bring up or take away others.
func (a *answers) settle(t knownwater.Trial) knownwater.Trial {
	for again := len(a.given) > 0; again; {
		again = false
		for _, s := range sights(t, split(t)) {
			for _, q := range s.ask(a.denied) {
				if t, again = a.mended(t, q); again {
					break
				}
			}
			if again {
				break
			}
		}
	}
	return t
}

// denied says whether a question was answered with no.
func (a *answers) denied(q Question) bool {
	i := a.to(q)
	return i >= 0 && !a.given[i].Yes
}

// open are the questions that nobody has answered with no.
func (a *answers) open(qs []Question) []Question {
	var out []Question
	for _, q := range qs {
		if i := a.to(q); i >= 0 && !a.given[i].Yes {
			a.take(i, q, AnswerNo)
			continue
		}
		out = append(out, q)
	}
	return out
}

// all lists what became of every answer.
func (a *answers) all() []Answered {
	out := slices.Clone(a.found)
	for _, x := range a.given {
		out = append(out, Answered{Question: x.Question, Answer: AnswerNotAsked, Why: x.Why})
	}
	slices.SortStableFunc(out, func(x, y Answered) int { return strings.Compare(x.Question, y.Question) })
	return out
}

// withShare is the trial with a chart read under another sharing of its gaps.
func withShare(method string, share float64) mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Methods, t.Observations = slices.Clone(t.Methods), slices.Clone(t.Observations)
		for i, m := range t.Methods {
			if m.Name != method {
				continue
			}
			m.AtShare = share
			t.Methods[i] = m
			for k := range t.Observations {
				o := &t.Observations[k]
				if o.Method != method {
					continue
				}
				if seen, err := reading.Understand(o.Text, m); err == nil {
					o.Seen = seen
				}
			}
		}
		return t
	}
}
