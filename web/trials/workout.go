package trials

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
)

// Findings is a trial's findings if they are there within the time given. They
// are worked out to the end even if nobody waits any longer.
func (s *Pages) Findings(ctx context.Context, by knownwater.Who, trial int64, o trials.FindingsOptions, wait time.Duration) (trials.TrialFindings, bool, error) {
	key, work := s.workOut(by, trial, o)
	return s.underway.Within(ctx, wait, key, work)
}

// Await works findings out, however long that takes.
func (s *Pages) Await(ctx context.Context, by knownwater.Who, trial int64, o trials.FindingsOptions) {
	key, work := s.workOut(by, trial, o)
	<-s.underway.Start(ctx, key, work).Done
}

func (s *Pages) workOut(by knownwater.Who, trial int64, o trials.FindingsOptions) (string, func(context.Context) (trials.TrialFindings, error)) {
	return fmt.Sprintf("trial %d %v %v %d %v", trial, o, by.Role, by.Person, by.Name), func(ctx context.Context) (trials.TrialFindings, error) {
		return s.Bench.Findings(ctx, by, trial, o)
	}
}

// workingPage says that findings are not there yet.
type workingPage struct{ Trial trials.Trial }

// findingsOr answers the findings of the trial in the path, or writes the page
// that says why there are none (yet).
func (s *Pages) findingsOr(w http.ResponseWriter, r *http.Request, o trials.FindingsOptions) (trials.TrialFindings, bool) {
	by, id := page.WhoIs(r), form.PathID(r, "id")
	st, ready, err := s.Findings(r.Context(), by, id, o, page.Patience)
	if err != nil {
		s.Fail(w, r, err)
		return st, false
	}
	if ready {
		return st, true
	}
	t, err := s.Bench.Trial(r.Context(), by, id)
	if err != nil {
		s.Fail(w, r, err)
		return st, false
	}
	w.Header().Set("Refresh", "2") // works without script
	s.Show(w, r, http.StatusOK, "working", page.Frame{Heading: "Findings: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: workingPage{t}})
	return st, false
}
