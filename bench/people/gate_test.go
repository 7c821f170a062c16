package people

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"knownwater"
)

// checking is how long a look at a passphrase takes in these tests: as on a small computer.
const checking = 100 * time.Millisecond

// try is one try at a passphrase: the gate is passed, a look is had at the words, and how it
// ended is told. Its clock is that of a bubble (testing/synctest), which stands still while
// anybody works: nothing here hangs on how busy the machine is.
func try(ctx context.Context, g *gate, from string, right bool) (looked bool, err error) {
	done, err := g.enter(ctx, from, time.Now(), func() int { return 0 })
	if err != nil {
		return false, err
	}
	leave, err := g.turn(ctx, from)
	if err != nil {
		done(false)
		return false, err
	}
	time.Sleep(checking)
	leave()
	done(!right)
	return true, nil
}

// One address that tries as fast as it can is looked at 23 times in its first 12 seconds
// and 15 times a minute later on, at most (see the constants of the gate); another one waits
// for the look that is being had and for no more.
func TestGateSlowsOneAddress(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate()
		ctx, stop := context.WithCancel(t.Context())
		var all sync.WaitGroup
		var early, late, refused atomic.Int32
		begun := time.Now()
		for range 60 {
			all.Go(func() {
				for ctx.Err() == nil {
					switch looked, err := try(ctx, g, "10.0.0.9", false); {
					case errors.Is(err, &knownwater.Refusal{Kind: knownwater.TooMany}):
						refused.Add(1)
						time.Sleep(50 * time.Millisecond)
					case !looked:
					case time.Since(begun) <= 12*time.Second:
						early.Add(1)
					case time.Since(begun) > 60*time.Second:
						late.Add(1)
					}
				}
			})
		}
		time.Sleep(6 * time.Second)
		asked := time.Now()
		if looked, err := try(ctx, g, "10.0.0.8", true); !looked || time.Since(asked) > 3*checking {
			t.Errorf("another address: %t, %v, after %v", looked, err, time.Since(asked))
		}
		time.Sleep(174 * time.Second)
		stop()
		all.Wait()
		t.Logf("%d in the first 12 s, %d in two minutes later", early.Load(), late.Load())
		if n := early.Load(); n < atOnce || n > 23 {
			t.Errorf("%d tries were looked at in 12 s, want %d to 23", n, atOnce)
		}
		if n := late.Load(); n == 0 || n > 2*15+1 {
			t.Errorf("%d tries were looked at in the second and third minute, want at most 31", n)
		}
		if refused.Load() == 0 {
			t.Error("nobody was told to come again")
		}
		// The person at that address gets in, soon after the attack is over.
		asked = time.Now()
		for {
			looked, _ := try(t.Context(), g, "10.0.0.9", true)
			if looked {
				break
			}
			time.Sleep(200 * time.Millisecond)
		}
		if took := time.Since(asked); took > longestGap+longGap {
			t.Errorf("the right words are shut out for %v", took)
		}
	})
}

// While 40 addresses try as fast as they may, three at a time each, people at other
// addresses get in, and so does one behind an attacker's address with few tries.
func TestGateLocksNobodyOut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate()
		ctx, stop := context.WithCancel(t.Context())
		var all sync.WaitGroup
		var looked [40]atomic.Int32
		for i := range looked {
			for range 3 {
				all.Go(func() {
					for ctx.Err() == nil {
						if ok, _ := try(ctx, g, fmt.Sprintf("10.0.1.%d", i), false); ok {
							looked[i].Add(1)
						}
						time.Sleep(10 * time.Millisecond)
					}
				})
			}
		}
		for k, after := range []time.Duration{time.Second, 10 * time.Second, time.Minute} {
			time.Sleep(after)
			asked := time.Now()
			ok, err := try(ctx, g, fmt.Sprintf("10.0.2.%d", k), true)
			if took := time.Since(asked); !ok || took > 5*checking {
				t.Errorf("a person after %v: %t, %v, waited %v", after, ok, err, took)
			}
		}
		stop()
		all.Wait()
		for i := range looked {
			if n := looked[i].Load(); n < atOnce || n > 23+15 {
				t.Errorf("%d tries of one address were looked at in 71 s, want %d to 38", n, atOnce)
			}
		}
	})
}
