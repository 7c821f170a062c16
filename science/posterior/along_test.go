package posterior

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/num"
)

// peopleAt is a trial of exact readings by some people, three each at eight levels, whose scatter and whose differences go as given; these
// are by how much each reads otherwise, in units of differ.
func peopleAt(scatter, differ func(c float64) float64, people []float64, unit float64, first uint64) Data {
	levels := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	d := open(Data{Groups: len(levels), Level: levels, Factors: []Factor{{Name: "reader", Members: len(people), Scale: 1}}})
	d.Technique = make([]int, len(levels))
	z := normals(len(levels)*len(people)*3, first)
	for g, c := range levels {
		for j, who := range people {
			for range 3 {
				y := unit * (c + who*differ(c) + scatter(c)*z[0])
				z = z[1:]
				d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Member: []int{j}, Count: 1})
			}
		}
	}
	return d
}

// What people differ by goes along with what it was made to go along with, in any unit and whoever is called first; where nobody differs
// it goes along with the scatter, in all but few trials.
func TestEffectsGoAlong(t *testing.T) {
	even, rising := func(float64) float64 { return 0.3 }, func(c float64) float64 { return 0.01 + 0.05*c }
	for _, c := range []struct {
		name            string
		scatter, differ func(c float64) float64
		want            float64 // the power; −1: with the scatter
	}{
		{"in proportion, even scatter", even, func(c float64) float64 { return 0.1 * c }, 1},
		{"in proportion, scatter too", rising, rising, -1},
		{"by as much, scatter that rises", rising, even, 0},
		{"by as much, scatter too", even, even, -1},
		{"by the root", even, func(c float64) float64 { return 0.5 * math.Sqrt(c) }, 0.5},
	} {
		for _, x := range []struct {
			people []float64
			unit   float64
		}{{[]float64{-1, 0.2, 1}, 1}, {[]float64{-1, 0.2, 1}, 62}, {[]float64{-0.9, 1}, 1}} {
			l, err := lay(peopleAt(c.scatter, c.differ, x.people, x.unit, 3))
			if err != nil {
				t.Fatal(err)
			}
			l.goAlong()
			if got := l.Factors[0].Along != nil; got != (c.want >= 0) {
				t.Errorf("%s, %v: along with something else than the scatter: %v", c.name, x, got)
			}
			if c.want < 0 {
				continue
			}
			if x.unit != 1 || len(x.people) < 3 { // these take their time
				continue
			}
			d := sample(l).Wide // the power that the draws have
			power := 0.0
			for _, way := range d.Way[0] {
				power += Powers[way] / float64(d.Len())
			}
			if math.Abs(power-c.want) > 0.15 {
				t.Errorf("%s, %v: along with the power %.2f, not %.1f", c.name, x, power, c.want)
			}
		}
	}
	apart := peopleAt(even, even, []float64{-1, 1}, 1, 3) // one reads the lower levels, the other the upper ones, both two of them
	apart.Cells = slices.DeleteFunc(apart.Cells, func(c Cell) bool { return c.Group > 4 && c.Member[0] == 0 || c.Group < 3 && c.Member[0] == 1 })
	l, err := lay(apart)
	if err != nil {
		t.Fatal(err)
	}
	if l.goAlong(); len(l.Factors[0].Along) != len(Powers) {
		t.Error("who reads levels alone differs there by a multiple of the scatter")
	}
	otherwise := 0
	for first := range uint64(60) {
		l, err := lay(peopleAt(even, even, []float64{0, 0, 0}, 1, first))
		if err != nil {
			t.Fatal(err)
		}
		if l.goAlong(); l.Factors[0].Along != nil {
			otherwise++
		}
	}
	if otherwise > 5 { // 2 % of many
		t.Errorf("of 60 trials of people who do not differ %d go along with something else than the scatter", otherwise)
	}
}

// The largest likelihood is that of readings: no other effects, means and spreads make it larger, and those that it
// is at come as near as the search does. Worked out reading by reading.
func TestLikelihoodOfEffects(t *testing.T) {
	d := peopleAt(func(c float64) float64 { return 0.2 + 0.02*c }, func(c float64) float64 { return 0.1 * c }, []float64{-1, 0.2, 1}, 1, 4)
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	of := l.averages(0)
	for name, h := range map[string][]float64{"scatter": nil, "level": l.along(1, of)} {
		at := func(p []float64) float64 { // means, log spreads, two effects
			sum, n := 0.0, l.Groups
			effect := []float64{p[2*n], p[2*n+1], -p[2*n] - p[2*n+1]}
			for _, c := range l.Cells {
				s := math.Exp(p[n+c.Group])
				height := s
				if h != nil {
					height = h[c.Group]
				}
				z := (c.Seen[0][0] - p[c.Group] - height*effect[c.Member[0]]) / s
				sum -= 0.5*z*z + math.Log(s)
			}
			return sum
		}
		p := make([]float64, 2*l.Groups+2)
		for g := range l.Groups {
			p[g], p[l.Groups+g] = l.group[g].mean, l.group[g].guess
		}
		now, rng := at(p), num.Source(8)
		for step := 0.3; step > 1e-5; step *= 0.8 { // a search that knows nothing
			for range 40 {
				for i := range p {
					was := p[i]
					p[i] += step * rng.NormFloat64()
					if v := at(p); v > now {
						now = v
					} else {
						p[i] = was
					}
				}
			}
		}
		if got := of.likelihood(h); math.Abs(got-now) > 2e-3 {
			t.Errorf("%s: %.5f, by search %.5f", name, got, now)
		}
	}
}
