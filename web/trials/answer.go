package trials

import (
	"net/http"
	"strconv"
	"strings"

	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// answer keeps an answer to a question of the findings, or takes one back. The readings
// stay; the findings are computed anew as the answer has it.
func (s *Pages) answer(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	found, err := s.Bench.Findings(ctx, by, id, trials.FindingsOptions{Version: s.Options.Version})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	a := trials.Answer{Question: f.Text("question"), Why: f.Text("why")}
	told := answerOf(f, &a)
	if q, ok := trials.Asked(found.Findings, a.Question); ok {
		a.Says = report.Say(q.Says)
		if q.Method != "" {
			a.Says = q.Method + ": " + a.Says
		}
	} else if i := answeredAt(found.Answers, a.Question); i >= 0 {
		a.Says = found.Answers[i].Says
	} else {
		s.Refuse(w, r, http.StatusUnprocessableEntity, wording.Key("The findings do not ask that any more."), wording.Key("Look at the findings again."))
		return
	}
	if !f.Bad() {
		err = s.Bench.KeepAnswer(ctx, by, id, a)
	}
	switch {
	case f.Bad() || f.Refused(err):
		told = page.Reader(r).Language.Say("Not kept: {1}", strings.Join(form.Sentences(page.Reader(r).Language, f.Loose(), 0), " "))
	case err != nil:
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, told)
	http.Redirect(w, r, "/trials/"+render.ID(id)+"/findings", http.StatusSeeOther)
}

// answerOf reads which button was pressed.
func answerOf(f *form.Form, a *trials.Answer) (told string) {
	word, choice, _ := strings.Cut(f.Get("answer"), " ")
	a.Word = word
	told = wording.Key("Kept, with your reason. The findings are computed as you say; the readings stand as they were.")
	switch word {
	case "yes":
		a.Choice, _ = strconv.Atoi(choice)
	case "water":
		a.Word = trials.AnswerYes
		a.Water = &unit.Water{Salinity: f.Number("salinity", form.WantNumber), Temperature: f.Number("temperature", form.WantNumber)}
	case trials.AnswerUnknown:
		told = wording.Key("Kept: the question stays open.")
		if a.Why == "" {
			a.Why = "nobody can tell"
		}
	case trials.AnswerOpen:
		told = wording.Key("Taken back; the question is open again.")
		if a.Why == "" {
			a.Why = "taken back at the findings"
		}
	}
	return told
}

func answeredAt(list []trials.Answer, key string) int {
	for i, a := range list {
		if a.Question == key {
			return i
		}
	}
	return -1
}
