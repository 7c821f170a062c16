package waters

import (
	"net/http"
	"slices"

	"knownwater"
	"knownwater/bench/waters"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// blindPage codes vials, and shows whoever fills them what each is to hold.
type blindPage struct {
	Form   *form.Form
	Waters []knownwater.Water
	Vials  []blindLine
}

type blindLine struct {
	waters.Vial
	Holds string
}

// mostCoded vials are listed.
const mostCoded = 60

func (s *Pages) blind(w http.ResponseWriter, r *http.Request) {
	s.showBlind(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showBlind(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	p := blindPage{Form: f}
	all, err := s.Bench.Waters(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Waters = slices.DeleteFunc(all, func(x knownwater.Water) bool { return x.Retired })
	vials, err := s.Bench.BlindVials(r.Context(), page.WhoIs(r), mostCoded)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	for _, v := range vials {
		l := blindLine{v, v.Name}
		if v.Role == knownwater.Checked {
			l.Holds = "known, " + render.TwoDigits(v.Known)
		}
		p.Vials = append(p.Vials, l)
	}
	s.Show(w, r, status, "blind", page.Frame{Heading: "Blind vials", Part: "waters", Page: p})
}

func (s *Pages) prepareBlind(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	known := knownwater.Sample{Role: knownwater.Checked, Known: f.Number("known", "what the known holds, such as 12"), UKnown: f.Number("u_known", form.WantNumber)}
	n := f.Whole("count", 20)
	if f.Text("known") == "" {
		f.Reject("known", "nothing", "what the known holds")
	}
	var samples []knownwater.Sample
	for range n {
		samples = append(samples, known)
	}
	for _, id := range f.IDs("water") {
		samples = append(samples, knownwater.Sample{Role: knownwater.Routine, Water: id})
	}
	if !f.Bad() {
		_, err = s.Bench.PrepareBlind(r.Context(), page.WhoIs(r), samples)
	}
	if f.Refused(err) {
		s.showBlind(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Coded. Fill the vials, write the code alone on each, and mix them.")
	http.Redirect(w, r, "/checks/blind", http.StatusSeeOther)
}
