package num

import (
	"sync"
	"testing"
)

// TestQuantilesAtOnce: quantiles that are looked for side by side are each sample's own.
func TestQuantilesAtOnce(t *testing.T) {
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			for n := range 50 {
				v := make([]float64, 401)
				for k := range v {
					v[k] = float64(1000*i + (k*(n+7))%401)
				}
				if got := QuantilesOf(v, 0.25, 0.5); got[0] != float64(1000*i+100) || got[1] != float64(1000*i+200) {
					t.Errorf("sample %d, round %d: %v", i, n, got)
				}
			}
		})
	}
	all.Wait()
}
