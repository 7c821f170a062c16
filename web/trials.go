package web

import (
	"net/http"

	"knownwater/bench"
)

type trialsPage struct {
	Trials  []bench.Trial
	Mine    []bench.MyTrial
	Form    *form
	Methods int
}

func (s *Server) trials(w http.ResponseWriter, r *http.Request) {
	s.showTrials(w, r, http.StatusOK, &form{})
}

func (s *Server) showTrials(w http.ResponseWriter, r *http.Request, status int, f *form) {
	ctx, by := r.Context(), whoIs(r)
	p := trialsPage{Form: f}
	var err error
	if by.Role == bench.Owner {
		var methods []bench.Method
		if p.Trials, err = s.bench.Trials(ctx); err == nil {
			methods, err = s.bench.Methods(ctx)
			p.Methods = len(methods)
		}
	} else {
		p.Mine, err = s.bench.MyTrials(ctx, by)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, status, "trials", frame{Title: "Trials", Part: "trials", Page: p})
}

// newTrial begins a plan that is empty but for its title and sensible sizes.
func (s *Server) newTrial(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	t, err := s.bench.NewTrial(r.Context(), whoIs(r), startingPlan(f.text("title")))
	if s.formFaults(f, err) {
		s.showTrials(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/trials/"+itoa(t.ID)+"/plan", http.StatusSeeOther)
}

// trialPage is one trial: how far it is, what comes next, the story of its key.
type trialPage struct {
	Trial   bench.Trial
	History []bench.Event
	Names   map[int64]string // of persons
	Mine    *bench.MyTrial
	Wrong   string // why a key could not be opened
	Why     string
}

func (s *Server) trial(w http.ResponseWriter, r *http.Request) {
	s.showTrial(w, r, http.StatusOK, "", "")
}

func (s *Server) showTrial(w http.ResponseWriter, r *http.Request, status int, wrong, why string) {
	ctx, by, id := r.Context(), whoIs(r), pathID(r, "id")
	p := trialPage{Wrong: wrong, Why: why, Names: map[int64]string{}}
	var err error
	if p.Trial, err = s.bench.Trial(ctx, by, id); err != nil {
		s.fail(w, r, err)
		return
	}
	if p.History, err = s.bench.History(ctx, id); err != nil {
		s.fail(w, r, err)
		return
	}
	people, err := s.bench.People(ctx)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for _, x := range people {
		p.Names[x.ID] = x.Name
	}
	if by.Person != 0 {
		mine, err := s.bench.MyTrials(ctx, by)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		for i := range mine {
			if mine[i].Trial == id {
				p.Mine = &mine[i]
			}
		}
	}
	s.show(w, r, status, "trial", frame{Title: p.Trial.Plan.Title, Part: "trials", Page: p})
}

func (s *Server) dropTrial(w http.ResponseWriter, r *http.Request) {
	if err := s.bench.DropTrial(r.Context(), whoIs(r), pathID(r, "id")); err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "The plan is gone.")
	http.Redirect(w, r, "/trials", http.StatusSeeOther)
}

// openKey opens the key; early it needs a reason, which is asked for here.
func (s *Server) openKey(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	id := pathID(r, "id")
	_, err = s.bench.OpenKey(r.Context(), whoIs(r), id, f.text("why"))
	if faults, ok := asFaults(err); ok {
		s.showTrial(w, r, http.StatusUnprocessableEntity, sentence(faults[0]), f.text("why"))
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "The key is open. From now on every reading and every exclusion is marked as made with the key open.")
	http.Redirect(w, r, "/trials/"+itoa(id)+"/findings", http.StatusSeeOther)
}

func (s *Server) finish(w http.ResponseWriter, r *http.Request) {
	id := pathID(r, "id")
	if _, err := s.bench.Finish(r.Context(), whoIs(r), id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "The trial is finished: no more readings, and its readers may see the findings.")
	http.Redirect(w, r, "/trials/"+itoa(id), http.StatusSeeOther)
}
