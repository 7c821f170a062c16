package page

import (
	"context"
	"errors"
	"testing"
	"time"
)

// A work says how far it has come, is stopped through its own context, and begins anew when
// asked for again; those who wait for the old one are told.
func TestUnderwayStopped(t *testing.T) {
	var u Underway[int]
	said := make(chan struct{})
	endless := func(ctx context.Context) (int, error) {
		Progress(ctx)(2, 5)
		close(said)
		<-ctx.Done()
		return 0, ctx.Err()
	}
	asked, gone := context.WithCancel(context.Background())
	w := u.Start(asked, "k", endless)
	gone() // whoever asked does not end it
	<-said
	if done, all := u.HowFar("k"); done != 2 || all != 5 {
		t.Errorf("%d of %d", done, all)
	}
	select {
	case <-w.Done:
		t.Fatal("it ended with whoever asked")
	case <-time.After(20 * time.Millisecond):
	}
	u.Stop("k")
	v, ready, err := u.Within(context.Background(), time.Minute, "k", func(context.Context) (int, error) { return 7, nil })
	if v != 7 || !ready || err != nil {
		t.Errorf("asked for again: %d %v %v", v, ready, err)
	}
	<-w.Done
	if !errors.Is(w.Err, context.Canceled) {
		t.Errorf("the old one: %v", w.Err)
	}
	u.Stop("unheard of")
	if done, all := u.HowFar("k"); done != 0 || all != 0 {
		t.Errorf("after its end: %d of %d", done, all)
	}
	Progress(context.Background())(1, 2) // nobody to tell
}
