package known

import (
	"fmt"
	"testing"

	"knownwater/science/unit"
)

// benchShelf is an invented shelf: two stocks, glassware, pipettes, a scale.
func benchShelf() Shelf {
	scale := unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	s := Shelf{
		Scale:  scale,
		Room:   Room{Temperature: 22, Within: 3},
		Matrix: Matrix{Name: "salt mix", Salinity: 35, Background: 0.1, U: 0.05, How: "standard addition"},
		Stocks: []Stock{
			{Name: "bottle A", Scale: scale, Value: 1000, U: 2.9, Left: 500},
		},
		Devices: []Device{
			{Name: "flask 100", Kind: Flask, Nominal: 100, Class: "A"},
			{Name: "flask 250", Kind: Flask, Nominal: 250, Class: "A"},
			{Name: "pipette 10", Kind: OneMark, Nominal: 10, Class: "A"},
			{Name: "piston 5", Kind: Piston, Nominal: 5, Smallest: 0.5},
			{Name: "piston 1", Kind: Piston, Nominal: 1, Smallest: 0.1},
			{Name: "scale", Kind: Scale, Nominal: 500, Step: 0.01},
		},
		Limits: DefaultLimits,
	}
	s.Limits.Volume, s.Limits.SalinityCut = 250, 0.05
	return s
}

var tenLevels = []float64{0, 0.6, 1.5, 3, 6, 9, 12, 16, 20, 30, 40}

func TestSearchPrints(t *testing.T) {
	plan, faults := Search(benchShelf(), tenLevels)
	if faults != nil {
		t.Fatal(faults)
	}
	fmt.Println(plan.Score, plan.RelativeU, plan.Steps, plan.Waste, plan.Searched)
	for _, st := range append(plan.Set.Intermediates, plan.Set.Standards...) {
		fmt.Println(st.Solution.Name, unit.Format(st.Value.Value, st.U), st.UShared, st.Salinity, st.Largest, st.Chain, st.Notes)
	}
	fmt.Println(plan.Set.Notes)
}

func BenchmarkSearchTenLevels(b *testing.B) {
	s := benchShelf()
	for range b.N {
		if _, faults := Search(s, tenLevels); faults != nil {
			b.Fatal(faults)
		}
	}
}
