package store

import (
	"context"
	"sync"
	"testing"
)

// Values that cost 3 each within 7: two stay, the oldest goes.
func TestMemoForgetsTheOldest(t *testing.T) {
	m := NewMemo[int](7, func(string) int { return 3 })
	made := 0
	of := func(k int) string { return m.Of(k, func() string { made++; return string(rune('a' + k)) }) }
	for _, k := range []int{0, 1, 1, 2, 2, 1} {
		if got, want := of(k), string(rune('a'+k)); got != want {
			t.Errorf("%d: %q, want %q", k, got, want)
		}
	}
	if _, there := m.Find(0); made != 3 || there || m.size != 6 {
		t.Errorf("%d made, oldest there %t, size %d", made, there, m.size)
	}
	if of(0); made != 4 {
		t.Errorf("the oldest was not made anew: %d", made)
	}
}

// One that costs more than all may is still remembered: a page may ask for it again at once.
func TestMemoKeepsOneBigThing(t *testing.T) {
	m := NewMemo[int](2, func(int) int { return 100 })
	m.Of(1, func() int { return 1 })
	if _, there := m.Find(1); !there {
		t.Error("forgotten at once")
	}
}

func TestMemoWaitsItsTurn(t *testing.T) {
	m := NewMemo[int, int](2, nil)
	m.turn <- struct{}{} // somebody computes
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := m.OneAtATime(ctx, 1, func() (int, bool) { return 1, true }); err == nil {
		t.Error("did not wait")
	}
	<-m.turn
	if v, err := m.OneAtATime(context.Background(), 1, func() (int, bool) { return 2, false }); v != 2 || err != nil {
		t.Errorf("what is not whole: %d, %v", v, err)
	}
	if v, err := m.OneAtATime(context.Background(), 1, func() (int, bool) { return 1, true }); v != 1 || err != nil {
		t.Errorf("%d, %v", v, err)
	}
}

// TestMemoAtOnce: many ask for the same few things; each gets its own, and nobody
// counts beside another.
func TestMemoAtOnce(t *testing.T) {
	m := NewMemo[int](3, func(int) int { return 1 })
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for i := range 200 {
				if v := m.Of(i%5, func() int { return i % 5 }); v != i%5 {
					t.Errorf("asked for %d, got %d", i%5, v)
				}
				if v, err := m.OneAtATime(t.Context(), 5+i%2, func() (int, bool) { return 5 + i%2, true }); v != 5+i%2 || err != nil {
					t.Errorf("asked for %d, got %d, %v", 5+i%2, v, err)
				}
			}
		})
	}
	all.Wait()
	if m.size > 3 || len(m.kept) != m.size {
		t.Errorf("%d remembered, %d counted", len(m.kept), m.size)
	}
}
