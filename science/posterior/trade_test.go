package posterior

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// The size of effects that the readings say little of, drawn again and again with all else held
// still, against its density summed up: linear·a − ½·square·a² of the readings with the half-t prior, a
// the effects' size.
func TestSizesOfEffects(t *testing.T) {
	for _, off := range []float64{0.05, 2} { // how far apart the readers are
		d := open(Data{Groups: 1, Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}}})
		for i, z := range normals(12, 9) {
			y := z + off*float64(i%2)
			d.Cells = append(d.Cells, Cell{Group: 0, Seen: [][2]float64{{y, y}}, Member: []int{i % 2}, Count: 1})
		}
		c := summed(t, d)
		c.a[0], c.a[1] = -0.2, 0.3
		linear, square := 0.0, 0.0
		for j := range c.a {
			linear += c.pull(j) * c.a[j]
			for h := range c.a {
				square += c.big[2*j+h] * c.a[j] * c.a[h]
			}
		}
		r := c.tau[0]
		var size grid // by log of the factor
		const gap = 0.01
		for by := -8.0; by < 6; by += gap {
			to := math.Exp(by)
			size.add(by, math.Exp(linear*to-0.5*square*to*to+by-2*math.Log1p(r*r*to*to/3)))
		}
		var got []float64
		for range 60000 {
			c.scale(0, 2)
			got = append(got, math.Log(c.tau[0]/r))
		}
		for _, p := range []float64{0.05, 0.25, 0.5, 0.75, 0.975} {
			near(t, "log of the effects' size", num.QuantileOf(got, p), size.quantile(p, gap), 0.06)
		}
	}
}

// Where the data speak for one prior the walk goes under more of the other, so that both have their
// share of it: sixty readings that scatter alike at five levels leave the wide one a quarter else.
func TestBothPriorsAreWalked(t *testing.T) {
	d := open(Data{Groups: 5, Level: []float64{1, 2, 4, 8, 16}, Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}}})
	for i, z := range normals(60, 11) {
		y := float64(10*(i%5)) + z
		d.Cells = append(d.Cells, Cell{Group: i % 5, Seen: [][2]float64{{y, y}}, Member: []int{i / 5 % 2}, Count: 1})
	}
	l, err := lay(d.in(d.unit()))
	if err != nil {
		t.Fatal(err)
	}
	w := newWalk(newChain(l, l.units(), 4, 0))
	w.c.mix(evenMix([][priors]float64{w.burn(400)}))
	w.on(1000)
	for p := range w.weight {
		sum, square := 0.0, 0.0
		for _, x := range w.weight[p] {
			sum += x
			square += x * x
		}
		if worth := sum * sum / square / 1000; worth < 0.45 {
			t.Errorf("prior %d: the walk is worth %.2f of itself", p, worth)
		}
	}
}
