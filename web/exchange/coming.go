package exchange

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"sync"

	"knownwater"
)

// coming is a data set on its way in: as long as its request lasts.
type coming struct {
	Title    string
	Done, Of int
	stop     context.CancelCauseFunc
}

// arrivals are the data sets on their way in, for the page and for whoever stops them.
type arrivals struct {
	mu  sync.Mutex
	all []*coming
}

var errStopped = errors.New("stopped")

// add notes one and answers what to tell of its readings, and what ends it.
func (a *arrivals) add(title string, of int, stop context.CancelCauseFunc) (done func(readings, of int), end func()) {
	c := &coming{Title: title, Of: of, stop: stop}
	a.mu.Lock()
	defer a.mu.Unlock()
	a.all = append(a.all, c)
	done = func(readings, of int) {
		a.mu.Lock()
		defer a.mu.Unlock()
		c.Done, c.Of = readings, of
	}
	end = func() {
		a.mu.Lock()
		defer a.mu.Unlock()
		a.all = slices.DeleteFunc(a.all, func(x *coming) bool { return x == c })
	}
	return done, end
}

// now are the data sets as they stand.
func (a *arrivals) now() (list []coming) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, c := range a.all {
		list = append(list, *c)
	}
	return list
}

// stop stops what is on its way in: it goes away again.
func (s *Pages) stop(w http.ResponseWriter, r *http.Request) {
	for _, c := range s.arrivals.now() {
		c.stop(errStopped)
	}
	s.Tell(r, "Stopped. Nothing of it is kept.")
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
}

// stopped is the answer to whoever sent what somebody stopped: the database says it in
// several ways, by when in a batch it was.
func stopped(ctx context.Context, err error) error {
	if err != nil && errors.Is(context.Cause(ctx), errStopped) {
		return &knownwater.Refusal{Kind: knownwater.WrongState, Words: "This was stopped on the page of copies. Nothing of it is kept."}
	}
	return err
}
