package posterior

import (
	"reflect"
	"sync"
	"testing"
)

// TestFitsAtOnce: sources that cross the groups, which chains walk side by side, fitted
// three times at once: the random numbers come from the data, so that all say the same.
func TestFitsAtOnce(t *testing.T) {
	var cells []Cell
	for g := range 3 {
		for r := range 2 {
			y := float64(g+1) + 0.1*float64(r) + 0.05*float64(g*r)
			cells = append(cells, Cell{Group: g, Seen: [][2]float64{{y - 0.05, y + 0.05}}, Count: 1, Member: []int{r}})
		}
	}
	d := open(Data{Groups: 3, Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}}, Cells: cells})
	var all [3]*Posterior
	var side sync.WaitGroup
	for i := range all {
		side.Go(func() { all[i], _ = Fit(d) })
	}
	side.Wait()
	for _, p := range all[1:] {
		if p == nil || !reflect.DeepEqual(p.Wide.Mean, all[0].Wide.Mean) {
			t.Error("fitted at once, and not the same")
		}
	}
}
