package control

import (
	"fmt"
	"sync"
	"testing"

	"knownwater/science/interval"
)

// Limits that are remembered are those that would be solved, whoever asks first; a ratio is
// another shift of another known.
func TestSolvedAtOnce(t *testing.T) {
	of := func(mean float64, seen ...float64) (r Row) {
		for _, y := range seen {
			r.Checks = append(r.Checks, Check{Seen: interval.Exact(y), Draws: []Normal{{mean - 0.1, 1}, {mean, 1}, {mean + 0.2, 1.1}}})
		}
		return r
	}
	rows := []Row{of(10, 10, 11, 9.5), of(10, 12, 13, 14, 13), of(12, 11), of(10)}
	var s Solved
	var wg sync.WaitGroup
	for range 4 {
		for _, r := range rows {
			wg.Go(func() {
				c, alone := Of(r, &s), Of(r, nil)
				if fmt.Sprint(c) != fmt.Sprint(alone) {
					t.Errorf("remembered %+v, solved %+v", c, alone)
				}
				if len(r.Checks) > 0 {
					if got, want := DelayFor(r, c.Limits, 0.8, &s), DelayFor(r, c.Limits, 0.8, nil); got != want {
						t.Errorf("delay %g, worked out %g", got, want)
					}
				}
			})
		}
	}
	wg.Wait()
	if len(s.done) != 1 || len(s.delays) != 2 { // limits are in standard deviations, so alike for 10 and 12; delays are not
		t.Errorf("%d limits and %d delays are remembered", len(s.done), len(s.delays))
	}
}
