package assess

import (
	"sync/atomic"
	"testing"
)

// Pieces that hand in others are all done, the first ones first; once it is to stop no more begin.
func TestCrewAtOnce(t *testing.T) {
	var done atomic.Int64
	c := newCrew(nil)
	var split func(depth int) func()
	split = func(depth int) func() {
		return func() {
			if done.Add(1); depth > 0 {
				c.add(split(depth - 1))
				c.add(split(depth - 1))
			}
		}
	}
	c.add(split(6))
	c.work()
	if done.Load() != 127 {
		t.Errorf("%d pieces of 127 done", done.Load())
	}

	var begun atomic.Int64
	c = newCrew(func() bool { return begun.Load() >= 3 })
	for range 50 {
		c.add(func() { begun.Add(1) })
	}
	c.work()
	if n := begun.Load(); n < 3 || n > 2+workers {
		t.Errorf("%d pieces begun, it was to stop after 3", n)
	}
}

// What is to come next goes before what waits.
func TestCrewNext(t *testing.T) {
	c, order := newCrew(nil), ""
	c.add(func() { order += "b" })
	c.next(func() { order += "a" })
	c.add(func() { order += "c" })
	c.one()
	if order != "abc" {
		t.Errorf("done in the order %s", order)
	}
}
