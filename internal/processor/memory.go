package processor

import (
	"runtime/debug"
	"runtime/metrics"
	"time"
)

// held is the memory that the process has from the system.
func held() uint64 {
	s := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64() - s[1].Value.Uint64()
}

// Peak runs f under a memory limit, as the command does for an input, and gives
// the most memory that was held meanwhile beyond what was held before.
func Peak(limit uint64, f func()) uint64 {
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(int64(limit)))
	debug.FreeOSMemory()
	before, done, seen := held(), make(chan struct{}), make(chan uint64)
	go func() {
		most := uint64(0)
		for tick := time.NewTicker(time.Millisecond); ; {
			select {
			case <-done:
				seen <- max(most, held())
				return
			case <-tick.C:
				most = max(most, held())
			}
		}
	}()
	f()
	close(done)
	return max(<-seen, before) - before
}
