package web

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"time"

	"knownwater/bench"
)

// patience is how long a page waits for findings that are being worked out
// before it says so and looks again by itself.
const patience = 1500 * time.Millisecond

// workings are findings that are being worked out beside the pages, each once,
// however often it is asked for.
type workings struct {
	mu  sync.Mutex
	now map[string]*working
}

type working struct {
	done     chan struct{}
	standing bench.Standing
	err      error
}

// standing is a trial's findings if they are there within the time given. They
// are worked out to the end even if nobody waits any longer.
func (s *Server) standing(ctx context.Context, by bench.Who, trial int64, o bench.FindingsOptions, wait time.Duration) (st bench.Standing, ready bool, err error) {
	w := s.workOut(ctx, by, trial, o)
	late := time.NewTimer(wait)
	defer late.Stop()
	select {
	case <-w.done:
		return w.standing, true, w.err
	case <-ctx.Done():
		return st, false, ctx.Err()
	case <-late.C:
		return st, false, nil
	}
}

func (s *Server) workOut(ctx context.Context, by bench.Who, trial int64, o bench.FindingsOptions) *working {
	key := fmt.Sprintf("%d %v %v %d %v", trial, o, by.Role, by.Person, by.Name)
	s.works.mu.Lock()
	defer s.works.mu.Unlock()
	if w, ok := s.works.now[key]; ok {
		return w
	}
	w := &working{done: make(chan struct{})}
	if s.works.now == nil {
		s.works.now = map[string]*working{}
	}
	s.works.now[key] = w
	go func() {
		defer func() {
			if r := recover(); r != nil {
				w.err = fmt.Errorf("working out trial %d: %v", trial, r)
			}
			s.works.mu.Lock()
			delete(s.works.now, key)
			s.works.mu.Unlock()
			close(w.done)
		}()
		w.standing, w.err = s.bench.Findings(context.WithoutCancel(ctx), by, trial, o)
	}()
	return w
}

// workingPage says that findings are not there yet.
type workingPage struct{ Trial bench.Trial }

// standingOr answers the findings of the trial in the path, or writes the page
// that says why there are none (yet).
func (s *Server) standingOr(w http.ResponseWriter, r *http.Request, o bench.FindingsOptions) (bench.Standing, bool) {
	by, id := whoIs(r), pathID(r, "id")
	st, ready, err := s.standing(r.Context(), by, id, o, patience)
	if err != nil {
		s.fail(w, r, err)
		return st, false
	}
	if ready {
		return st, true
	}
	t, err := s.bench.Trial(r.Context(), by, id)
	if err != nil {
		s.fail(w, r, err)
		return st, false
	}
	w.Header().Set("Refresh", "2") // works without script
	s.show(w, r, http.StatusOK, "working", frame{Title: "Findings: " + t.Plan.Title, Part: "trials", Page: workingPage{t}})
	return st, false
}

// Prepare works out what today's page tells of the last trials, so that the
// first look at it need not wait.
func (s *Server) Prepare(ctx context.Context) {
	by := bench.Who{Role: bench.Owner}
	if trials, err := s.bench.Trials(ctx); err == nil {
		for _, t := range told(trials) {
			<-s.workOut(ctx, by, t.ID, bench.FindingsOptions{Version: s.opt.Version}).done
		}
	}
}
