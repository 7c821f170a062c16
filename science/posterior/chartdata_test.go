package posterior

import (
	"math"
	"math/rand/v2"
)

var testSwatches = []float64{0, 3, 6, 12, 20, 35, 70}

// chartData are made-up readings of a chart or a fine display: a straight
// response, spread √(0.3² + (0.1c)²), vials and readers as shares of it.
func chartData(levels []float64, vials, readers int, vial, reader float64, seed uint64, display bool) Data {
	rng := rand.New(rand.NewPCG(9, seed))
	d := Data{Groups: len(levels), Level: levels, Technique: make([]int, len(levels)), MeanFloor: 0, MeanTop: 140, Coarse: true}
	if display {
		d.MeanFloor, d.MeanTop, d.Coarse = math.Inf(-1), math.Inf(1), false
	}
	if readers > 1 {
		d.Factors = append(d.Factors, Factor{Name: "reader", Members: readers, Scale: 1})
	}
	nested := vials > 1 && readers > 1
	if nested {
		d.Factors = append(d.Factors, Factor{Name: "vial", Members: vials * len(levels), Scale: 1, Nested: true})
	}
	effect := make([]float64, readers)
	for r := range effect {
		effect[r] = reader * rng.NormFloat64()
	}
	for g, c := range levels {
		s := math.Hypot(0.3, 0.1*c)
		for v := range vials {
			own := vial * rng.NormFloat64()
			for r := range readers {
				cell := Cell{Group: g, Count: 1, Seen: [][2]float64{seenAs(c+s*(effect[r]+own+rng.NormFloat64()), display)}}
				if readers > 1 {
					cell.Member = append(cell.Member, r)
				}
				if nested {
					cell.Member = append(cell.Member, g*vials+v)
				}
				d.Cells = append(d.Cells, cell)
			}
		}
	}
	return d
}

// seenAs is what a display of two decimals or the chart shows for y.
func seenAs(y float64, display bool) [2]float64 {
	if display {
		y = math.Round(y*100) / 100
		return [2]float64{y - 0.005, y + 0.005}
	}
	low := math.Inf(-1)
	for i := range testSwatches[1:] {
		quarter := (testSwatches[i+1] - testSwatches[i]) / 4
		for _, high := range []float64{testSwatches[i] + quarter, testSwatches[i+1] - quarter} {
			if y <= high {
				return [2]float64{low, high}
			}
			low = high
		}
	}
	if top := 70 + 35.0/4; y <= top {
		return [2]float64{low, top}
	}
	return [2]float64{70 + 35.0/4, math.Inf(1)}
}
