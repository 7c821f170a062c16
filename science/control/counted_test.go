package control

import (
	"math"
	"testing"
)

// Weights of a step at one place, a drift from another, and a drift that has stopped, by hand: 3 at check 2, 10 over checks 4 to 7, 5 at 8.
func TestOnsetCounted(t *testing.T) {
	begin, sizes := []int{0, 4, 8}, []float64{-1, 1}
	weights := func(rows int) [][]float64 {
		out := make([][]float64, rows)
		for i := range out {
			out[i] = []float64{math.Inf(-1), math.Inf(-1)}
		}
		return out
	}
	for _, drift := range []float64{10, 8} { // to a step of 3
		steps, drifts, stopped := weights(12), weights(3), weights(9)
		steps[2][1], drifts[1][1], stopped[3+2][0] = math.Log(3), math.Log(drift), math.Log(5)
		o := onsetFrom(steps, drifts, stopped, excursion{}, begin, sizes, math.Log(2))
		if o.Best != 8 || o.From != 2 || o.To != 8 || o.Drifts != (drift > 9) || o.Back || !(math.Abs(o.Odds-1.5) < 1e-9) || o.Shift != 1 || o.ShiftLow != -1 || o.ShiftHigh != 1 {
			t.Errorf("drift of %v: %+v", drift, o)
		}
	}
}

// Beside them a step that began at check 6 and was taken back, of 40 or of 20: of that 0.8565 left nothing, 0.1 as much as 6 and 0.0435 as −6.
func TestReturnedCounted(t *testing.T) {
	none := []float64{math.Inf(-1), math.Inf(-1)}
	steps, drifts, stopped := make([][]float64, 12), [][]float64{none, {none[0], math.Log(10)}, none}, make([][]float64, 9)
	for i := range steps {
		steps[i] = none
	}
	for i := range stopped {
		stopped[i] = none
	}
	steps[2], stopped[5] = []float64{none[0], math.Log(3)}, []float64{math.Log(5), none[0]}
	for _, returned := range []float64{40, 20} {
		back := excursion{begins: make([]float64, 12), left: make([]float64, len(leftSizes))}
		for i := range back.begins {
			back.begins[i] = none[0]
		}
		back.begins[6] = math.Log(returned)
		back.left[0], back.left[nothingLeft], back.left[len(leftSizes)-1] = 0.0435, 0.8565, 0.1
		o := onsetFrom(steps, drifts, stopped, back, []int{0, 4, 8}, []float64{-1, 1}, math.Log(2))
		if o.Best != 6 || o.Back != (returned > 25) || o.Drifts != true || !(math.Abs(o.Odds-(3+returned)/2) < 1e-9) {
			t.Errorf("%v taken back: %+v", returned, o)
		}
		if returned == 40 && (o.Shift != 0 || o.ShiftLow != leftSizes[0] || o.ShiftHigh != -leftSizes[0]) {
			t.Errorf("%+v", o)
		}
	}
}

// What is left of a shift is too much from half of it on, or from what is aimed at; all of leftSizes equally likely, counted.
func TestLeftCounted(t *testing.T) {
	lefts := make([]float64, len(leftSizes))
	for l, s := range leftSizes {
		if s > 3 { // likelier upwards
			lefts[l] = math.Log(2)
		}
	}
	for _, x := range []struct{ shift, limit float64 }{{2, 1}, {-2, 1}, {5, 1.5}, {-5, 1.5}} {
		up, down, whole := 0.0, 0.0, 0.0
		for l, s := range leftSizes {
			p := 0.5 * math.Exp(lefts[l])
			whole += p
			if s >= x.limit {
				up += p
			}
			if s <= -x.limit {
				down += p
			}
		}
		if x.shift < 0 {
			up, down = down, up
		}
		all, above, below := leftOf([]float64{math.Log(0.5), -1000}, lefts, []float64{x.shift, 1}, 1.5) // the other has no chance
		if !(math.Abs(math.Exp(all)-whole) < 1e-9 && math.Abs(math.Exp(above)-up) < 1e-9 && math.Abs(math.Exp(below)-down) < 1e-9) {
			t.Errorf("a shift of %v: %v of %v too much, %v on the other side; by counting %v, %v, %v", x.shift, math.Exp(above), math.Exp(all), math.Exp(below), up, whole, down)
		}
	}
	if all, above, below := leftOf([]float64{math.Inf(-1)}, lefts, []float64{2}, 1.5); !math.IsInf(all, -1) || !math.IsInf(above, -1) || !math.IsInf(below, -1) {
		t.Errorf("of a shift that cannot be: %v, %v, %v", all, above, below)
	}
}
