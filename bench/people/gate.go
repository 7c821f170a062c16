package people

import (
	"context"
	"net/netip"
	"slices"
	"sync"
	"time"

	"knownwater"
)

// How a caller's tries are paced. Nobody is locked out: whoever tries too much is
// slowed, by address, and a check of a passphrase, which costs 64 MiB, is done for
// one caller at a time, those first that tried wrong least. So an attack from many
// addresses waits behind a person who comes with the right words, and one address
// is looked at 23 times in its first 12 s and 15 times a minute later on, at most.
const (
	atOnce     = 5                      // wrong tries that are not slowed
	slowAfter  = 20                     // wrong tries after which an address is slowed much
	shortGap   = 500 * time.Millisecond // between tries from the sixth on
	longGap    = 4 * time.Second        // after slowAfter
	longestGap = 4 * time.Second        // a caller who would have to wait longer is told to come again
	forgiven   = 15 * time.Minute       // without a wrong try
	mostQueued = 200
	mostCaller = 10_000 // callers remembered
)

// gate paces tries.
type gate struct {
	mu      sync.Mutex
	callers map[string]*caller
	busy    bool
	queue   []*waiting // by arrival
	latest  bool       // among equals the one that came last is next
}

// caller is an address that tries.
type caller struct {
	wrong   int       // wrong tries, not yet forgiven
	trying  int       // under way
	last    time.Time // of a wrong one, by the bench's clock
	next    time.Time // no try is looked at before
	touched time.Time
}

// waiting is one try in the queue.
type waiting struct {
	of   *caller
	turn chan bool // true: go on; false: make room
}

// tries are the wrong ones of a caller with those that may become wrong.
func (w *waiting) tries() int { return w.of.wrong + w.of.trying }

func newGate() *gate { return &gate{callers: map[string]*caller{}} }

// addressOf is what counts as one caller: an address, of IPv6 the network of a
// household, inside which a machine takes as many addresses as it likes.
func addressOf(from string) string {
	a, err := netip.ParseAddr(from)
	if err != nil {
		return from
	}
	if a = a.Unmap(); a.Is6() {
		if p, err := a.WithZone("").Prefix(64); err == nil {
			return p.String()
		}
	}
	return a.String()
}

func tooMany(wait time.Duration) error {
	return knownwater.Refuse(knownwater.TooMany, "too many wrong tries came from here: wait %d seconds", int(wait.Seconds())+1)
}

// enter waits until a try from an address may be looked at. done says how it
// ended. known is how many wrong ones of it are written down.
func (g *gate) enter(ctx context.Context, from string, now time.Time, known func() int) (done func(wrong bool), err error) {
	key := addressOf(from)
	g.mu.Lock()
	c := g.callers[key]
	if c == nil {
		g.forget()
		c = &caller{wrong: known(), last: now}
		g.callers[key] = c
	}
	if now.Sub(c.last) >= forgiven {
		c.wrong = 0
	}
	c.touched = time.Now()
	wait := time.Until(c.next)
	if wait > longestGap {
		g.mu.Unlock()
		return nil, tooMany(wait)
	}
	c.trying++
	switch n := c.wrong + c.trying; {
	case n > slowAfter:
		c.next = time.Now().Add(max(wait, 0) + longGap)
	case n > atOnce-1:
		c.next = time.Now().Add(max(wait, 0) + shortGap)
	}
	g.mu.Unlock()
	done = func(wrong bool) {
		g.mu.Lock()
		defer g.mu.Unlock()
		c.trying--
		if wrong {
			c.wrong++
			c.last = now
		}
	}
	if wait > 0 {
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			done(false)
			return nil, ctx.Err()
		}
	}
	return done, nil
}

// forget drops callers that are long gone, and where that does not make room the
// one that was seen longest ago.
func (g *gate) forget() {
	if len(g.callers) < mostCaller {
		return
	}
	var oldest string
	for key, c := range g.callers {
		if c.trying == 0 && (oldest == "" || c.touched.Before(g.callers[oldest].touched)) {
			oldest = key
		}
	}
	delete(g.callers, oldest)
}

// turn waits for the one place where a passphrase is checked; those go first that
// tried wrong least. Where too many wait, the one that tried wrong most makes room.
func (g *gate) turn(ctx context.Context, from string) (leave func(), err error) {
	g.mu.Lock()
	if !g.busy {
		g.busy = true
		g.mu.Unlock()
		return g.leave, nil
	}
	w := &waiting{of: g.callers[addressOf(from)], turn: make(chan bool, 1)}
	if w.of == nil { // forgotten since it entered
		w.of = &caller{trying: 1}
	}
	g.queue = append(g.queue, w)
	if len(g.queue) > mostQueued {
		worst := 0
		for i, q := range g.queue {
			if q.tries() >= g.queue[worst].tries() {
				worst = i
			}
		}
		g.take(worst, false)
	}
	g.mu.Unlock()
	select {
	case mine := <-w.turn:
		if mine {
			return g.leave, nil
		}
		return nil, tooMany(longGap)
	case <-ctx.Done():
		g.mu.Lock()
		defer g.mu.Unlock()
		if i := slices.Index(g.queue, w); i >= 0 {
			g.queue = slices.Delete(g.queue, i, i+1)
		} else if <-w.turn { // it became its turn just now
			go g.leave()
		}
		return nil, ctx.Err()
	}
}

func (g *gate) take(i int, turn bool) {
	g.queue[i].turn <- turn
	g.queue = slices.Delete(g.queue, i, i+1)
}

// leave gives the place to the next. Among those that tried wrong equally often
// it goes to the one that waits longest and to the one that came last by turns:
// whether a person comes before a crowd or after it, they are soon at an end.
func (g *gate) leave() {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.queue) == 0 {
		g.busy = false
		return
	}
	g.latest = !g.latest
	best := 0
	for i, q := range g.queue {
		if n := q.tries(); n < g.queue[best].tries() || g.latest && n == g.queue[best].tries() {
			best = i
		}
	}
	g.take(best, true)
}
