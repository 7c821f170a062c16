package trials

import (
	"net/http"
	"net/url"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type trialsPage struct {
	Trials  []trials.Trial
	Away    []trials.Trial // put away, or taken out
	Mine    []trials.MyTrial
	Form    *form.Form
	Methods int
}

func (s *Pages) trials(w http.ResponseWriter, r *http.Request) {
	s.showTrials(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showTrials(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	ctx, by := r.Context(), page.WhoIs(r)
	p := trialsPage{Form: f}
	var err error
	if by.Role == knownwater.Owner {
		var methods []knownwater.MethodVersion
		if p.Trials, err = s.Bench.Trials(ctx); err == nil {
			methods, err = s.Bench.Methods(ctx)
			p.Methods = len(methods)
		}
		if err == nil {
			p.Away, err = s.Bench.TrialsAway(ctx, by)
		}
	} else {
		p.Mine, err = s.Bench.MyTrials(ctx, by)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "trials", page.Frame{Heading: "Trials", Part: "trials", Page: p})
}

// newTrial begins a plan that is empty but for its title and sensible sizes.
func (s *Pages) newTrial(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	t, err := s.Bench.NewTrial(r.Context(), page.WhoIs(r), startingPlan(f.Text("title")))
	if f.Refused(err) {
		s.showTrials(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/trials/"+render.ID(t.ID)+"/plan", http.StatusSeeOther)
}

// trialPage is one trial: how far it is, what comes next, the story of its key.
type trialPage struct {
	Trial   trials.Trial
	Stage   string // what comes next: plan, prepare, read, open (the key), findings, use
	History []trials.Event
	Names   map[int64]string // of persons
	Mine    *trials.MyTrial
	Wrong   string // why a key could not be opened
	Why     string
	Form    *form.Form // of its title and place
	Undo    bool       // there is a change of these to go back on
}

func (s *Pages) trial(w http.ResponseWriter, r *http.Request) {
	s.showTrial(w, r, http.StatusOK, "", "")
}

func (s *Pages) showTrial(w http.ResponseWriter, r *http.Request, status int, wrong, why string) {
	s.showTrialWith(w, r, status, trialPage{Wrong: wrong, Why: why})
}

// showTrialWith shows a trial with what was refused of it.
func (s *Pages) showTrialWith(w http.ResponseWriter, r *http.Request, status int, p trialPage) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	p.Names = map[int64]string{}
	var err error
	if p.Trial, err = s.Bench.Trial(ctx, by, id); err != nil {
		s.Fail(w, r, err)
		return
	}
	if p.History, err = s.Bench.History(ctx, id); err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Stage = stageOf(p.Trial)
	p.Undo = p.Trial.Placed != ""
	if p.Form == nil {
		p.Form = &form.Form{Values: url.Values{"title": {p.Trial.Plan.Title}}}
	}
	people, err := s.Bench.People(ctx)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	for _, x := range people {
		p.Names[x.ID] = x.Name
	}
	if by.Person != 0 {
		mine, err := s.Bench.MyTrials(ctx, by)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		for i := range mine {
			if mine[i].Trial == id {
				p.Mine = &mine[i]
			}
		}
	}
	s.Show(w, r, status, "trial", page.Frame{Title: p.Trial.Plan.Title, Part: "trials", Page: p})
}

// stageOf is what comes next in a trial, which its page leads with.
func stageOf(t trials.Trial) string {
	switch {
	case t.State == trials.Planned:
		return "plan"
	case t.State == trials.Finished:
		return "use"
	case t.State == trials.Opened:
		return "findings"
	case t.Progress.StopMet:
		return "open"
	case t.Progress.Taken == 0:
		return "prepare"
	}
	return "read"
}

func (s *Pages) dropTrial(w http.ResponseWriter, r *http.Request) {
	if err := s.Bench.DropTrial(r.Context(), page.WhoIs(r), form.PathID(r, "id")); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The plan is gone.")
	http.Redirect(w, r, "/trials", http.StatusSeeOther)
}

// openKey opens the key; early it needs a reason, which is asked for here.
func (s *Pages) openKey(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	id := form.PathID(r, "id")
	_, err = s.Bench.OpenKey(r.Context(), page.WhoIs(r), id, f.Text("why"))
	if faults := form.FaultsOf(err); faults != nil {
		s.showTrial(w, r, http.StatusUnprocessableEntity, form.Sentence(s.ReaderOn(r, "trial").Language, faults[0]), f.Text("why"))
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The key is open. From now on every reading and every exclusion is marked as made with the key open.")
	http.Redirect(w, r, "/trials/"+render.ID(id)+"/findings", http.StatusSeeOther)
}

func (s *Pages) finish(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	if _, err := s.Bench.Finish(r.Context(), page.WhoIs(r), id); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The trial is finished: no more readings, and its readers may see the findings.")
	http.Redirect(w, r, "/trials/"+render.ID(id), http.StatusSeeOther)
}
