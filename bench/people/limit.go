package people

import (
	"sync"
	"time"
)

// limits counts tries in memory, and lets one passphrase be checked at a time.
type limits struct {
	oneTry chan struct{}
	mu     sync.Mutex
	tries  map[[2]string][]time.Time
}

// mostAddresses bounds the memory that strangers can fill.
const mostAddresses = 10000

func newLimits() *limits {
	return &limits{oneTry: make(chan struct{}, 1), tries: map[[2]string][]time.Time{}}
}

// Allow counts one try of what from an address and says whether it is still
// within limit tries in the last per; if not, when the next one may come.
// For any rate limit that the pages want; kept in memory.
func (b *Operations) Allow(what, from string, limit int, per time.Duration) (ok bool, wait time.Duration) {
	return b.limits.allow([2]string{what, from}, limit, per, b.store.Clock())
}

func (l *limits) allow(key [2]string, limit int, per time.Duration, now time.Time) (bool, time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.tries) >= mostAddresses {
		l.forget(now.Add(-per))
	}
	recent := since(l.tries[key], now.Add(-per))
	if len(recent) >= limit {
		l.tries[key] = recent
		return false, recent[len(recent)-limit].Add(per).Sub(now)
	}
	l.tries[key] = append(recent, now)
	return true, 0
}

// forget drops every key without a try after then; all of them where that does
// not make room.
func (l *limits) forget(then time.Time) {
	for k, ts := range l.tries {
		if len(since(ts, then)) == 0 {
			delete(l.tries, k)
		}
	}
	if len(l.tries) >= mostAddresses {
		clear(l.tries)
	}
}

func since(ts []time.Time, then time.Time) []time.Time {
	for len(ts) > 0 && !ts[0].After(then) {
		ts = ts[1:]
	}
	return ts
}
