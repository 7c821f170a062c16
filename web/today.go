package web

import (
	"context"
	"net/http"
	"slices"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/web/calibrations"
	"knownwater/web/page"
	"knownwater/web/render"
)

// todayPage is what waits: each thing to do with its reason.
type todayPage struct {
	Now     time.Time
	Lede    string
	Do      []page.ToDo
	Running []trials.Trial
	Mine    []trials.MyTrial
	Found   []foundTrial
	Methods int
	Empty   bool
}

// foundTrial is what a trial has found, once it is worked out.
type foundTrial struct {
	Trial    int64
	Title    string
	State    trials.State
	Ready    bool
	Picks    []string // which method to use, need by need
	Readings int
}

// Waits says that some of what was found is still being worked out.
func (p todayPage) Waits() bool {
	return slices.ContainsFunc(p.Found, func(f foundTrial) bool { return !f.Ready })
}

// mostFound is how many trials are told of on today's page.
const mostFound = 3

// waitForFindings is how long today's page waits for findings.
const waitForFindings = 30 * time.Millisecond

// trialsTold are the trials whose findings stand on today's page.
func trialsTold(all []trials.Trial) (out []trials.Trial) {
	for _, t := range all {
		if (t.State == trials.Opened || t.State == trials.Finished) && t.Progress.Taken > 0 && len(out) < mostFound {
			out = append(out, t)
		}
	}
	return out
}

// findingsOf tells what a trial has found, if that is worked out by now.
func (s *Server) findingsOf(as render.Reader, r *http.Request, trial int64, title string, state trials.State) (foundTrial, error) {
	f := foundTrial{Trial: trial, Title: title, State: state}
	st, ready, err := s.trials.Findings(r.Context(), page.WhoIs(r), trial, trials.FindingsOptions{Version: s.Options.Version}, waitForFindings)
	if err == nil && ready {
		f.Ready, f.Picks, f.Readings = true, report.Picks(as.Language, st.Findings, st.Data), st.Taken
	}
	return f, err
}

func (s *Server) today(w http.ResponseWriter, r *http.Request) {
	p, err := s.todayOf(s.ReaderOn(r, "today"), r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if p.Empty && p.Methods == 0 && page.WhoIs(r).Role == knownwater.Owner {
		s.start.Begin(w, r)
		return
	}
	s.Show(w, r, http.StatusOK, "today", page.Frame{Heading: "The bench today", Part: "today", Page: p})
}

func (s *Server) todayOf(as render.Reader, r *http.Request) (todayPage, error) {
	ctx, by := r.Context(), page.WhoIs(r)
	p := todayPage{Now: s.Now()}
	var err error
	if by.Person != 0 {
		if p.Mine, err = s.Bench.MyTrials(ctx, by); err != nil {
			return p, err
		}
	}
	for _, m := range p.Mine {
		if m.Done == m.Of {
			continue
		}
		p.Do = append(p.Do, page.Do(as.Language.Say("now"), as.Language.Say("Read for “{1}”", m.Title), as.Language.Say("{1} of yours to go.", as.Count(m.Of-m.Done, "reading")), as.Language.Say("Go to the bench"), "/trials/"+render.ID(m.Trial)+"/run"))
	}
	if by.Role != knownwater.Owner {
		p.Lede = readerLede(as, p.Mine)
		if err := s.waysToRead(as, r, &p); err != nil {
			return p, err
		}
		return p, s.foundByMine(as, r, &p)
	}
	all, err := s.Bench.Trials(ctx)
	if err != nil {
		return p, err
	}
	methods, err := s.Bench.Methods(ctx)
	if err != nil {
		return p, err
	}
	people, err := s.Bench.People(ctx)
	if err != nil {
		return p, err
	}
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return p, err
	}
	p.Methods = len(methods)
	p.Do = append(p.Do, setUp(as, methods, people, needs, all)...)
	for _, t := range all {
		if d, ok := next(as, t); ok {
			p.Do = append(p.Do, d)
		}
		if t.State == trials.Running || t.State == trials.SealedUp {
			p.Running = append(p.Running, t)
		}
	}
	due, err := s.standards.Due(ctx, as)
	if err != nil {
		return p, err
	}
	p.Do = append(p.Do, due...)
	if err := s.waysToRead(as, r, &p); err != nil {
		return p, err
	}
	for _, t := range trialsTold(all) {
		f, err := s.findingsOf(as, r, t.ID, t.Plan.Title, t.State)
		if err != nil {
			return p, err
		}
		p.Found = append(p.Found, f)
	}
	p.Empty = len(all) == 0
	ready := len(methods) > 0 && len(people) > 0 && len(needs) > 0
	p.Lede = ownerLede(as, all, p.Running, p.Found, ready)
	return p, nil
}

// waters leads to what is tested again and again, where there is any.
func (s *Server) waters(as render.Reader, r *http.Request, p *todayPage) error {
	all, err := s.Bench.Waters(r.Context())
	n := 0
	for _, w := range all {
		if !w.Retired {
			n++
		}
	}
	if n > 0 {
		p.Do = append(p.Do, page.Do(as.Language.Say("tonight"), as.Language.Say("Test your waters"), as.Language.Say("What each reading says, with its interval, in ten seconds: {1}.", as.Count(n, "water")), as.Language.Say("Waters"), "/waters"))
	}
	return err
}

// waysToRead leads a reader to the calibrations in use.
func (s *Server) waysToRead(as render.Reader, r *http.Request, p *todayPage) error {
	if err := s.waters(as, r, p); err != nil {
		return err
	}
	inUse, err := s.Bench.Calibrations(r.Context())
	for _, c := range inUse {
		p.Do = append(p.Do, page.Do(as.Language.Say("any time"), as.Language.Say("Test a water with “{1}”", c.Name), as.Language.Say("What it shows becomes a level with its interval, and can be kept."), as.Language.Say("Read"), calibrations.ReadPath(c)))
	}
	return err
}

// foundByMine adds what the finished trials found that this reader read for.
func (s *Server) foundByMine(as render.Reader, r *http.Request, p *todayPage) error {
	mine, err := s.Bench.ReadTrials(r.Context(), page.WhoIs(r), mostFound)
	if err != nil {
		return err
	}
	for _, m := range mine {
		f, err := s.findingsOf(as, r, m.Trial, m.Title, m.State)
		if err != nil {
			return err
		}
		p.Found = append(p.Found, f)
	}
	return nil
}

// setUp is what a new bench still needs, in the order in which it is needed.
func setUp(as render.Reader, methods []knownwater.MethodVersion, people []knownwater.Person, needs []knownwater.NeedEntry, all []trials.Trial) []page.ToDo {
	var out []page.ToDo
	if len(people) == 0 {
		out = append(out, page.Do(as.Language.Say("first"), as.Language.Say("Put the readers on the list"), as.Language.Say("A chart reading belongs to one pair of eyes."), as.Language.Say("Add people"), "/people"))
	}
	if len(methods) == 0 {
		out = append(out, page.Do(as.Language.Say("first"), as.Language.Say("Describe a method"), as.Language.Say("Its kind, its swatches or last digit, its timed steps."), as.Language.Say("Describe one"), "/methods/new"))
	}
	if len(needs) == 0 {
		out = append(out, page.Do(as.Language.Say("first"), as.Language.Say("Write down a need"), as.Language.Say("What error would change what you do? Write it before you test."), as.Language.Say("Write it"), "/needs"))
	}
	if len(methods) > 0 && len(people) > 0 && len(all) == 0 {
		out = append(out, page.Do(as.Language.Say("next"), as.Language.Say("Plan a trial"), as.Language.Say("See what it can decide before a drop is spilled."), as.Language.Say("Plan"), "/trials"))
	}
	return out
}

// next is what a trial waits for, if anything.
func next(as render.Reader, t trials.Trial) (page.ToDo, bool) {
	at := "/trials/" + render.ID(t.ID)
	name := "“" + t.Plan.Title + "”"
	switch t.State {
	case trials.Planned:
		return page.Do(as.Language.Say("plan"), as.Language.Say("Finish the plan of {1}", name), as.Language.Say("It is not sealed yet; until then everything can change."), as.Language.Say("Plan"), at+"/plan"), true
	case trials.SealedUp:
		return page.Do(as.Language.Say("ready"), as.Language.Say("Fill the vials of {1}", name), as.Language.Say("{1}, labels and preparation list are ready to print.", as.Count(t.Progress.Vials, "vial")), as.Language.Say("Open"), at), true
	case trials.Running:
		if t.Progress.StopMet {
			return page.Do(as.Language.Say("now"), as.Language.Say("Open the key of {1}", name), as.Language.Say("Its stop rule is met."), as.Language.Say("Open"), at), true
		}
		return page.Do(as.Language.Say("running"), as.Language.Say("Go on with {1}", name), as.Language.Say("{1} to go.", as.Count(t.Progress.Planned-t.Progress.Taken, "reading")), as.Language.Say("See"), at), true
	case trials.Opened:
		return page.Do(as.Language.Say("last"), as.Language.Say("Read and finish {1}", name), as.Language.Say("Its key is open; finishing it lets its readers see the findings."), as.Language.Say("Findings"), at+"/findings"), true
	}
	return page.ToDo{}, false
}

func readerLede(as render.Reader, mine []trials.MyTrial) string {
	left := 0
	for _, m := range mine {
		left += m.Of - m.Done
	}
	if left == 0 {
		return as.Language.Say("No vial waits for you. When the owner seals a trial that you read for, it stands here.")
	}
	return as.Language.Say("You have {1} to take. Nobody’s reading but your own is shown to you before the key is open.", as.Count(left, "reading"))
}

func ownerLede(as render.Reader, all, running []trials.Trial, found []foundTrial, ready bool) string {
	switch {
	case len(all) == 0 && ready:
		return as.Language.Say("Known water judges the tests on this bench. All that a first trial needs is here.")
	case len(all) == 0:
		return as.Language.Say("Known water judges the tests on this bench. Three things are needed first: who reads, what with, and what error would matter.")
	case len(running) == 0 && len(found) > 0:
		if len(found) == 1 {
			return as.Language.Say("No trial is running. What the last one found stands below.")
		}
		return as.Language.Say("No trial is running. What the last ones found stands below.")
	case len(running) == 0:
		return as.Language.Say("No trial is running.")
	}
	t := running[0]
	if t.Progress.StopMet {
		return as.Language.Say("“{1}” has all the readings that its plan asks for: its key may be opened.", t.Plan.Title)
	}
	return as.Language.Say("“{1}” has {2} to go.", t.Plan.Title, as.Count(t.Progress.Planned-t.Progress.Taken, "reading"))
}

// Prepare works out what today's page tells of the last trials, so that the
// first look at it need not wait.
func (s *Server) Prepare(ctx context.Context) {
	by := knownwater.Who{Role: knownwater.Owner}
	if all, err := s.Bench.Trials(ctx); err == nil {
		for _, t := range trialsTold(all) {
			s.trials.Await(ctx, by, t.ID, trials.FindingsOptions{Version: s.Options.Version})
		}
	}
}
