package guard

import (
	"sync"
	"time"
)

// limiter lets each key do burst things at once and refills at perSecond. It
// forgets keys that are full again, so that it cannot grow without end.
type limiter struct {
	burst, perSecond float64

	mu   sync.Mutex
	left map[string]allowance
}

type allowance struct {
	n  float64
	at time.Time
}

func newLimiter(burst, perSecond float64) *limiter {
	return &limiter{burst: burst, perSecond: perSecond, left: map[string]allowance{}}
}

// allow takes one from the key's allowance, or says that none is left.
func (l *limiter) allow(key string, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.left) > mostKeys {
		l.forget(now)
	}
	a := l.at(key, now)
	ok := a.n >= 1
	if ok {
		a.n--
	}
	l.left[key] = a
	return ok
}

// mostKeys is how many callers are remembered before full ones are dropped.
const mostKeys = 4096

func (l *limiter) at(key string, now time.Time) allowance {
	a, known := l.left[key]
	if !known {
		return allowance{l.burst, now}
	}
	a.n = min(l.burst, a.n+max(0, now.Sub(a.at).Seconds())*l.perSecond)
	a.at = now
	return a
}

func (l *limiter) forget(now time.Time) {
	for k := range l.left {
		if l.at(k, now).n >= l.burst {
			delete(l.left, k)
		}
	}
	if len(l.left) > mostKeys { // a flood from many addresses: start again
		clear(l.left)
	}
}
