package waters

import (
	"net/http"
	"time"

	"knownwater"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// slipPage is one page for whoever brought the water: numbers, what to do, cautions.
type slipPage struct {
	Water  knownwater.Water
	Day    time.Time
	Lines  []slipLine
	Needs  []knownwater.NeedEntry
	ReadIn string // the unit of what was read, where it is another one
}

type slipLine struct {
	line
	Do string
}

// mostOnSlip results stand on a slip: those of the latest day of testing.
const mostOnSlip = 12

func (s *Pages) slip(w http.ResponseWriter, r *http.Request) {
	as := s.ReaderOn(r, "slip")
	p, err := s.waterOf(r.Context(), as, form.PathID(r, "id"), everyAnalyte)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	out := slipPage{Water: p.Water, Needs: p.Needs, ReadIn: p.ReadIn, Day: s.Now()}
	for i, l := range p.Lines {
		if i == 0 {
			out.Day = l.TakenAt
		}
		if l.TakenAt.Local().Format(time.DateOnly) != out.Day.Local().Format(time.DateOnly) || len(out.Lines) == mostOnSlip {
			break
		}
		if l.Standing == knownwater.ResultLeftOut {
			continue
		}
		out.Lines = append(out.Lines, slipLine{l, doOf(as, l)})
	}
	s.Show(w, r, http.StatusOK, "slip", page.Frame{Heading: "Slip: {1}", Of: []string{p.Water.Spec.Name}, Part: "waters", Page: out})
}

// doOf is what to do on a result, in a sentence.
func doOf(as render.Reader, l line) string {
	switch {
	case l.Waits != "":
		return as.Language.Say("Wait: the method is being looked at. Do nothing on this number yet.")
	case l.Class == "within":
		return as.Language.Say("Leave it: all of the interval lies in what you want.")
	case l.Class == "outside":
		return as.Language.Say("Act on it: all of the interval lies outside of what you want. Correct slowly, in small steps, and test again before the next.")
	case l.Class == "undecided":
		return as.Language.Say("Test again before you do anything: the interval lies partly inside and partly outside of what you want.")
	}
	return as.Language.Say("Nobody said what is wanted of this water, so nothing follows from the number.")
}
