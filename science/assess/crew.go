package assess

import (
	"slices"
	"sync"
)

// workers is how many pieces of work are done at once.
const workers = 2

// crew does pieces of work side by side, as many at a time as there are workers, in the order in
// which they are handed in. A piece may hand in others, also as the next ones.
type crew struct {
	stop  func() bool // asked before each piece whether to give up; nil: never
	mu    sync.Mutex
	news  *sync.Cond // a piece was handed in, or is done
	queue []func()
	busy  int
}

func newCrew(stop func() bool) *crew {
	c := &crew{stop: stop}
	c.news = sync.NewCond(&c.mu)
	return c
}

// add hands in a piece of work.
func (c *crew) add(piece func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.queue = append(c.queue, piece)
	c.news.Signal()
}

// next hands in a piece that comes before all others.
func (c *crew) next(piece func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.queue = slices.Insert(c.queue, 0, piece)
	c.news.Signal()
}

// work does all that was handed in, and what that hands in.
func (c *crew) work() {
	var all sync.WaitGroup
	for range workers {
		all.Go(c.one)
	}
	all.Wait()
}

func (c *crew) one() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for {
		for len(c.queue) == 0 && c.busy > 0 {
			c.news.Wait()
		}
		if len(c.queue) == 0 {
			return
		}
		piece := c.queue[0]
		c.queue = c.queue[1:]
		c.busy++
		c.mu.Unlock()
		if c.stop == nil || !c.stop() {
			piece()
		}
		c.mu.Lock()
		c.busy--
		c.news.Broadcast()
	}
}
