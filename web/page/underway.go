package page

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"
)

// Patience is how long a page waits for what is being worked out before it says so and
// looks again by itself.
const Patience = 1500 * time.Millisecond

// Underway is what is being worked out beside the pages, each once, however often it is
// asked for. The zero value is ready.
type Underway[V any] struct {
	mu  sync.Mutex
	all map[string]*Work[V]
}

// Work is one of them.
type Work[V any] struct {
	Done  chan struct{}
	Value V
	Err   error

	cancel context.CancelFunc
	told   told
}

// told is how far a work has come.
type told struct{ done, all atomic.Int64 }

type howFarKey struct{}

// Progress is where a work says how far it has come; its context is asked for it.
func Progress(ctx context.Context) func(done, all int) {
	t, ok := ctx.Value(howFarKey{}).(*told)
	if !ok {
		return func(int, int) {}
	}
	return func(done, all int) {
		t.done.Store(int64(done))
		t.all.Store(int64(all))
	}
}

// HowFar is how far a work has come by its own count; 0 of 0 where it does not say or is
// not underway.
func (u *Underway[V]) HowFar(key string) (done, all int) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if w, ok := u.all[key]; ok {
		return int(w.told.done.Load()), int(w.told.all.Load())
	}
	return 0, 0
}

// Stop cancels a work: what asks for it again begins anew.
func (u *Underway[V]) Stop(key string) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if w, ok := u.all[key]; ok {
		w.cancel()
		delete(u.all, key)
	}
}

// Within is what was worked out if it is there within the time given. It is worked out to
// the end even if nobody waits any longer.
func (u *Underway[V]) Within(ctx context.Context, wait time.Duration, key string, work func(context.Context) (V, error)) (v V, ready bool, err error) {
	w := u.Start(ctx, key, work)
	late := time.NewTimer(wait)
	defer late.Stop()
	select {
	case <-w.Done:
		return w.Value, true, w.Err
	case <-ctx.Done():
		return v, false, ctx.Err()
	case <-late.C:
		return v, false, nil
	}
}

// Start begins a work, or finds it begun.
func (u *Underway[V]) Start(ctx context.Context, key string, work func(context.Context) (V, error)) *Work[V] {
	u.mu.Lock()
	defer u.mu.Unlock()
	if w, ok := u.all[key]; ok {
		return w
	}
	w := &Work[V]{Done: make(chan struct{})}
	ctx, w.cancel = context.WithCancel(context.WithValue(context.WithoutCancel(ctx), howFarKey{}, &w.told))
	if u.all == nil {
		u.all = map[string]*Work[V]{}
	}
	u.all[key] = w
	go func() {
		defer func() {
			if r := recover(); r != nil {
				w.Err = fmt.Errorf("working out %s: %v", key, r)
			}
			w.cancel()
			u.mu.Lock()
			if u.all[key] == w { // else it was stopped, and another may be underway
				delete(u.all, key)
			}
			u.mu.Unlock()
			close(w.Done)
		}()
		w.Value, w.Err = work(ctx)
	}()
	return w
}
