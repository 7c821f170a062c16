package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/unit"
)

// Answer is what an owner says to a question about a trial's readings. The readings
// stay as they are; the findings are computed as the answer has it.
type Answer struct {
	knownwater.Stamp
	ID       int64
	Question string // its key
	Says     string // as it was asked
	Word     string // one of Answers
	Why      string
	AnswerSpec
}

// AnswerSpec is what an answer says beside yes or no.
type AnswerSpec struct {
	Choice int         `json:"choice,omitempty"` // of several things that a yes may mean
	Water  *unit.Water `json:"water,omitempty"`  // the water that nobody had stated
}

// The words of an answer: unknown leaves the question open, and so does open, which
// takes an answer back.
const (
	AnswerYes     = "yes"
	AnswerNo      = "no"
	AnswerUnknown = "unknown"
	AnswerOpen    = "open"
)

// KeepAnswer keeps an answer to a question of an open trial, with a reason. A question
// that the findings do not ask can be answered with open alone, which takes an earlier
// answer back. Owner.
func (b *Operations) KeepAnswer(ctx context.Context, by knownwater.Who, trial int64, a Answer) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	var fs knownwater.Faults
	store.Line(&fs, "question", &a.Question, true)
	store.Line(&fs, "why", &a.Why, true)
	if a.Water != nil {
		if err := a.Water.Valid(); err != nil {
			fs = append(fs, knownwater.Fault{Column: "salinity", Found: err.Error(), Want: "salinity in practical units, temperature in °C"})
		}
	}
	switch a.Word {
	case AnswerYes, AnswerNo, AnswerUnknown, AnswerOpen:
	default:
		fs = append(fs, knownwater.Fault{Column: "answer", Found: "no answer", Want: "yes, no, or that it cannot be told"})
	}
	if err := store.OrNil(fs); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		if _, err := t.trialToJudge(by, trial); err != nil {
			return err
		}
		at, name, device := t.Stamp(by)
		spec, err := store.ToJSON(a.AnswerSpec)
		if err != nil {
			return err
		}
		if err := t.Exec(insertAnswer, trial, a.Question, a.Says, a.Word, spec, a.Why, at, name, device); err != nil {
			return err
		}
		return t.Note(by, trial, answerEvents[a.Word]+": “"+a.Says+"”", a.Why)
	})
}

// answerEvents are an answer's words in a trial's story.
var answerEvents = map[string]string{
	AnswerYes: "answered with yes", AnswerNo: "answered with no", AnswerUnknown: "said that it cannot be told", AnswerOpen: "took an answer back",
}

// Asked is the question of a key, as a trial's findings ask it now; ok is false where
// they do not.
func Asked(f assess.Findings, key string) (q doubt.Question, ok bool) {
	for _, q := range f.Questions {
		if q.Key == key {
			return q, true
		}
	}
	return q, false
}

func scanAnswer(scan func(...any) error) (a Answer, err error) {
	err = scan(&a.ID, &a.Question, &a.Says, &a.Word, store.JSON(&a.AnswerSpec), &a.Why, store.Time(&a.At), &a.Name, &a.Device)
	return a, err
}

// answers are those that stand of a trial, up to one: the last to each question,
// unless it was taken back.
func (t tx) answers(trial, until int64) ([]Answer, error) {
	return store.All(t.Tx, answersOf, scanAnswer, trial, until)
}

// answer puts answers into a data set.
func answer(d *knownwater.Trial, list []Answer) {
	for _, a := range list {
		switch {
		case a.Word == AnswerYes && a.Water != nil:
			d.Water, d.WaterStated = *a.Water, true
		case a.Word == AnswerYes || a.Word == AnswerNo:
			d.Answers = append(d.Answers, knownwater.Answer{Question: a.Question, Yes: a.Word == AnswerYes, Choice: a.Choice, Why: a.Why})
		}
	}
}
