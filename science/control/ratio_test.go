package control

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// vialOf is a vial of a known of 10 whose readings scatter by cv of their mean, read by a record
// that is off by off in each draw.
func vialOf(seen interval.Interval, cv float64, off []float64) Vial {
	v := Vial{Seen: seen}
	for _, q := range Ratios {
		var at []Normal
		for _, o := range off {
			at = append(at, Normal{10 * q * (1 + o), 10 * q * cv})
		}
		v.At = append(v.At, at)
	}
	return v
}

// The ratio of two lots is held by its interval in 95 of 100, whatever the record is off by,
// for numbers and for steps; and its width is that of two means in logarithms.
func TestRatio(t *testing.T) {
	if Ratios[half] != 1 {
		t.Fatal(Ratios[half])
	}
	rng := num.Source(31)
	off := []float64{-0.1, -0.05, 0, 0.05, 0.1}
	for _, tiles := range [][]interval.Interval{nil, card(2)} {
		held, rows, width := 0, 300, 0.0
		for range rows {
			own, q, truth := off[rng.IntN(len(off))], 0.9+0.2*rng.Float64(), 0.75+0.5*rng.Float64()
			vials := func(by float64) (out []Vial) {
				for range 6 {
					out = append(out, vialOf(read(10*by*(1+own)*(1+0.1*rng.NormFloat64()), tiles), 0.1, off))
				}
				return out
			}
			mid, low, high := Ratio(vials(q), vials(q*truth))
			if !(low < mid && mid < high) {
				t.Fatal(low, mid, high)
			}
			if low <= truth && truth <= high {
				held++
			}
			width += math.Log(high/low) / float64(rows)
		}
		want := 2 * 1.96 * 0.1 * math.Sqrt(2.0/6)
		t.Logf("steps %v: held in %d of %d, width %.3f, of two means %.3f", tiles != nil, held, rows, width, want)
		if held < rows*92/100 || held > rows*98/100 {
			t.Errorf("held in %d of %d", held, rows)
		}
		if tiles == nil && math.Abs(width/want-1) > 0.05 {
			t.Errorf("width %.3f, that of two means is %.3f", width, want)
		}
	}
	if m, _, _ := Ratio(nil, []Vial{vialOf(read(10, nil), 0.1, off)}); !math.IsNaN(m) {
		t.Error("a ratio without vials")
	}
	// what the record is off by is the same for both and falls out
	a, b := []Vial{vialOf(read(9.4, nil), 0.1, []float64{0})}, []Vial{vialOf(read(8, nil), 0.1, []float64{0})}
	x, _, _ := Ratio(a, b)
	y, _, _ := Ratio([]Vial{vialOf(read(9.4, nil), 0.1, []float64{0.1})}, []Vial{vialOf(read(8, nil), 0.1, []float64{0.1})})
	if math.Abs(x/y-1) > 1e-5 {
		t.Errorf("%g by a record that is right, %g by one that is off", x, y)
	}
	// vials the other way round give one over it
	z, _, _ := Ratio(b, a)
	if math.Abs(x*z-1) > 1e-9 {
		t.Errorf("%g and %g", x, z)
	}
}
