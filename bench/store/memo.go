package store

import (
	"context"
	"sync"
)

// Memo remembers what was computed from what cannot change. What comes out of it
// is only read: others read it too. Its methods may be called from many
// goroutines at once.
type Memo[K comparable, V any] struct {
	most int         // of all that is remembered, in what cost counts
	cost func(V) int // nil: 1 each

	turn chan struct{} // for OneAtATime
	mu   sync.Mutex
	kept map[K]V
	used []K // oldest first
	size int
}

// NewMemo is a memo for values that cost most together; cost nil counts them.
func NewMemo[K comparable, V any](most int, cost func(V) int) *Memo[K, V] {
	if cost == nil {
		cost = func(V) int { return 1 }
	}
	return &Memo[K, V]{most: most, cost: cost, turn: make(chan struct{}, 1), kept: map[K]V{}}
}

// Find is what is remembered.
func (m *Memo[K, V]) Find(k K) (V, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	v, ok := m.kept[k]
	return v, ok
}

// Of is what is remembered, else what is computed now. Two at a time may compute
// the same; both get the one that was remembered first.
func (m *Memo[K, V]) Of(k K, compute func() V) V {
	if v, ok := m.Find(k); ok {
		return v
	}
	return m.keep(k, compute())
}

// OneAtATime is Of for what takes seconds: two would only take the processor from
// each other. It waits for its turn as long as ctx lasts. What compute says is not
// whole is not remembered.
func (m *Memo[K, V]) OneAtATime(ctx context.Context, k K, compute func() (v V, whole bool)) (V, error) {
	select {
	case m.turn <- struct{}{}:
		defer func() { <-m.turn }()
	case <-ctx.Done():
		var none V
		return none, ctx.Err()
	}
	if v, ok := m.Find(k); ok {
		return v, nil
	}
	v, whole := compute()
	if !whole {
		return v, nil
	}
	return m.keep(k, v), nil
}

func (m *Memo[K, V]) keep(k K, v V) V {
	m.mu.Lock()
	defer m.mu.Unlock()
	if again, ok := m.kept[k]; ok {
		return again
	}
	m.kept[k], m.used, m.size = v, append(m.used, k), m.size+m.cost(v)
	for m.size > m.most && len(m.used) > 1 {
		m.size -= m.cost(m.kept[m.used[0]])
		delete(m.kept, m.used[0])
		m.used = m.used[1:]
	}
	return v
}
