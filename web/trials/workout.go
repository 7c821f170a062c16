package trials

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
)

// patience is how long a page waits for findings that are being worked out
// before it says so and looks again by itself.
const patience = 1500 * time.Millisecond

// underway are findings that are being worked out beside the pages, each once,
// however often it is asked for.
type underway struct {
	mu  sync.Mutex
	all map[string]*computation
}

type computation struct {
	done  chan struct{}
	found trials.TrialFindings
	err   error
}

// Findings is a trial's findings if they are there within the time given. They
// are worked out to the end even if nobody waits any longer.
func (s *Pages) Findings(ctx context.Context, by knownwater.Who, trial int64, o trials.FindingsOptions, wait time.Duration) (st trials.TrialFindings, ready bool, err error) {
	w := s.workOut(ctx, by, trial, o)
	late := time.NewTimer(wait)
	defer late.Stop()
	select {
	case <-w.done:
		return w.found, true, w.err
	case <-ctx.Done():
		return st, false, ctx.Err()
	case <-late.C:
		return st, false, nil
	}
}

// Await works findings out, however long that takes.
func (s *Pages) Await(ctx context.Context, by knownwater.Who, trial int64, o trials.FindingsOptions) {
	<-s.workOut(ctx, by, trial, o).done
}

func (s *Pages) workOut(ctx context.Context, by knownwater.Who, trial int64, o trials.FindingsOptions) *computation {
	key := fmt.Sprintf("%d %v %v %d %v", trial, o, by.Role, by.Person, by.Name)
	s.underway.mu.Lock()
	defer s.underway.mu.Unlock()
	if w, ok := s.underway.all[key]; ok {
		return w
	}
	w := &computation{done: make(chan struct{})}
	if s.underway.all == nil {
		s.underway.all = map[string]*computation{}
	}
	s.underway.all[key] = w
	go func() {
		defer func() {
			if r := recover(); r != nil {
				w.err = fmt.Errorf("working out trial %d: %v", trial, r)
			}
			s.underway.mu.Lock()
			delete(s.underway.all, key)
			s.underway.mu.Unlock()
			close(w.done)
		}()
		w.found, w.err = s.Bench.Findings(context.WithoutCancel(ctx), by, trial, o)
	}()
	return w
}

// workingPage says that findings are not there yet.
type workingPage struct{ Trial trials.Trial }

// findingsOr answers the findings of the trial in the path, or writes the page
// that says why there are none (yet).
func (s *Pages) findingsOr(w http.ResponseWriter, r *http.Request, o trials.FindingsOptions) (trials.TrialFindings, bool) {
	by, id := page.WhoIs(r), form.PathID(r, "id")
	st, ready, err := s.Findings(r.Context(), by, id, o, patience)
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
	s.Show(w, r, http.StatusOK, "working", page.Frame{Title: "Findings: " + t.Plan.Title, Part: "trials", Page: workingPage{t}})
	return st, false
}
