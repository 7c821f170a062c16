package posterior

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// What sharings and kinds of scatter weigh adds up to one, summed up or walked.
func TestWeightsAddUpToOne(t *testing.T) {
	shares := func(readers int) Data {
		d := chartData([]float64{4, 9, 20}, 3, readers, 0, 0, 5, false)
		d.Shares = []float64{0.5, 0.3, 0.2}
		for i := range d.Cells {
			s := d.Cells[i].Seen[0]
			d.Cells[i].Seen = [][2]float64{s, {s[0] - 0.1, s[1] + 0.1}, {s[0] + 0.1, s[1] - 0.1}}
		}
		return d
	}
	for name, p := range map[string]*Posterior{"summed up": fitted(t, shares(1)), "walked": fitted(t, shares(3))} {
		near(t, name+": sharings", num.Mean(p.Share)*float64(len(p.Share)), 1, 1e-9)
		near(t, name+": kinds", num.Mean(p.Kind[:])*float64(kinds), 1, 1e-9)
	}
}

// Vials that nobody saw widen the means also where readers cross the levels: their part is the
// half-t of their prior, under both priors.
func TestVialsThatNobodySawBesideReaders(t *testing.T) {
	d := open(Data{Groups: 2, Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}}, OneVial: []bool{true, true}})
	for i, z := range normals(24, 15) {
		y := 10*float64(1+i%2) + z
		d.Cells = append(d.Cells, Cell{Group: i % 2, Seen: [][2]float64{{y, y}}, Member: []int{i / 2 % 2}, Count: 1})
	}
	p := fitted(t, d)
	for name, draws := range map[string]*Draws{"wide": p.Wide, "form": p.Form} {
		if len(draws.Unseen) != draws.Len() {
			t.Fatalf("%s: %d of %d draws have a part of vials", name, len(draws.Unseen), draws.Len())
		}
		near(t, name+": vials ÷ repeatability", num.QuantileOf(draws.Unseen, 0.5), num.TQuantile(0.75, 3), 0.05)
	}
}

// The slope at a point is that of the parabola through it and its neighbours, whatever their
// distances and wherever they lie, also at both ends, as long as nothing falls by more than 1.
func TestSlopeOfAParabola(t *testing.T) {
	x := []float64{2, 2.1, 2.35, 2.5, 2.9}
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 0.2 - 3*(v-2.65)*(v-2.65)
	}
	for i, v := range x {
		near(t, "slope", slopeAt(x, y, i), -6*(v-2.65), 1e-12)
	}
}

// Effects drawn one by one, again and again, have the distribution that they have drawn together:
// normal, its precision that of the readings and of their prior.
func TestEffectsOneByOne(t *testing.T) {
	d := open(Data{Groups: 2, Factors: []Factor{{Name: "reader", Members: 3, Scale: 1}}})
	for i, z := range normals(30, 21) {
		y := 10*float64(1+i%2) + z + 1.5*float64(i/2%3)
		d.Cells = append(d.Cells, Cell{Group: i % 2, Seen: [][2]float64{{y, y}}, Member: []int{i / 2 % 3}, Count: 1})
	}
	c := summed(t, d)
	n := c.columns
	want := make([]float64, n)
	for j := range want {
		want[j] = c.pull(j)
	}
	q := append([]float64{}, c.big...)
	for j := range n {
		q[j*n+j] += 1 / (c.tau[0] * c.tau[0])
	}
	if !cholesky(q, n) {
		t.Fatal("no precision")
	}
	solveLower(q, n, want)
	solveUpper(q, n, want)
	got, square := make([]float64, n), make([]float64, n)
	const draws = 40000
	for range draws {
		c.oneByOne()
		for j, a := range c.a {
			got[j] += a / draws
			square[j] += a * a / draws
		}
	}
	for j := range n {
		unit := make([]float64, n)
		unit[j] = 1
		solveLower(q, n, unit)
		solveUpper(q, n, unit)
		near(t, "an effect's mean", got[j], want[j], 0.03*math.Sqrt(unit[j]))
		near(t, "its standard deviation", math.Sqrt(square[j]-got[j]*got[j]), math.Sqrt(unit[j]), 0.05*math.Sqrt(unit[j]))
	}
}
