package report

import (
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/wording"
)

// An open question can be answered where a bench shows the page: with buttons that
// send its key, the answer and a reason to an address. A page that goes out of the
// house has none.

// askingView is the form of one question.
type askingView struct {
	To, Key     string
	Field       string // id of the reason's field
	Yes         []buttonView
	No          string
	Water       bool // salinity and temperature are asked
	Salinity    string
	Temperature string
}

// buttonView is one way to say yes.
type buttonView struct {
	Value, Says string
}

// plainYes and plainNo are the answers of each kind of question, where the
// question itself does not name what a yes would mean.
var plainYes = map[string]string{
	doubt.OfSwap: wording.Key("Swapped"), doubt.OfSlip: wording.Key("A slip: leave out"), doubt.OfLevel: wording.Key("Leave that known out"), doubt.OfShare: wording.Key("Read it so"),
	doubt.OfRange: wording.Key("It ends there"), doubt.OfTwice: wording.Key("Entered twice: count each once"),
}

var plainNo = map[string]string{
	doubt.OfSwap: wording.Key("Not swapped"), doubt.OfSlip: wording.Key("It stands as read"), doubt.OfLevel: wording.Key("The known is right"),
	doubt.OfShare: wording.Key("No, as stated"), doubt.OfWater: wording.Key("It is meant so"),
	doubt.OfRange: wording.Key("It goes on"), doubt.OfTwice: wording.Key("Read as often as that"), doubt.OfOrder: wording.Key("Nothing changed"),
}

// mostWays bounds the buttons of a question: further explanations are far-fetched.
const mostWays = 3

func (l speech) asking(to, field string, q doubt.Question, f assess.Findings) *askingView {
	if to == "" {
		return nil
	}
	v := &askingView{To: to, Key: q.Key, Field: field, No: l.Say(plainNo[q.Kind])}
	if v.No == "" {
		v.No = l.Say("No")
	}
	if q.Kind == doubt.OfWater && q.Method == "" {
		v.Water, v.No = true, ""
		v.Salinity, v.Temperature = typed(f.Salinity, 0), typed(f.Temperature, 0)
		v.Yes = []buttonView{{"water", l.Say("That is the water")}}
		return v
	}
	ways := q.Choices()
	for i, way := range ways[:min(len(ways), mostWays)] {
		says := l.Say(plainYes[q.Kind])
		if s := l.choiceWords(way); s != "" {
			says = s
		}
		v.Yes = append(v.Yes, buttonView{"yes " + count(i), says})
	}
	return v
}

// choiceWords are what a yes would mean, on a button.
func (l speech) choiceWords(n note.Note) string {
	if n.Code == "" {
		return ""
	}
	return l.Say("Yes: {1}", l.say(n))
}

// answeredView is a question that was answered.
type answeredView struct{ Method, Text, Word, Why string }

func answeredOf(f assess.Findings) (out []answeredView) {
	for _, a := range f.Answers {
		if a.Answer == doubt.NotAsked {
			out = append(out, answeredView{Text: "“" + clean(a.Question) + "”", Word: "is not asked by these readings", Why: full(a.Why)})
			continue
		}
		out = append(out, answeredView{clean(a.Method), Say(a.Says), a.Answer, full(a.Why)})
	}
	return out
}
