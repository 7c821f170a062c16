package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// design is a made-up trial of one method whose truth is known.
type design struct {
	name       string
	method     knownwater.Method
	levels     []float64
	blanks     int // vials of level 0; 0: as many as elsewhere
	vials      int // a level
	readers    int // a vial; 0: one reading, reader not noted
	response   func(c float64) float64
	sd0, share float64                      // repeatability² = sd0² + (share·mean)²
	sd         func(y float64) float64      // repeatability of its own, instead
	tail       func(rng *rand.Rand) float64 // a reading's scatter, in repeatabilities; nil: normal
	reader     float64                      // sd of readers and of vials, as a share of repeatability
	vial       float64
	uLevel     func(c float64) float64 // standard uncertainty of a known
	uneven     []int                   // vials by level, instead
	again      int                     // readings of each vial by one person
	lots       []float64               // by what each lot's readings are multiplied
	true       float64                 // what the hands' share at a swatch is, where the method states another
	corrected  bool                    // a signal: needs are for results turned round
	between    bool                    // samples are read half way between the knowns, not at them
	needs      []knownwater.Need
}

func (d design) repeatability(y float64) float64 {
	if d.sd != nil {
		return d.sd(y)
	}
	return math.Hypot(d.sd0, d.share*y)
}

// slips5 puts one reading of twenty fifteen repeatabilities off; t3 is Student's t
// with 3 degrees of freedom, so wide that its middle 95 % is that of a normal.
func slips5(rng *rand.Rand) float64 {
	z := rng.NormFloat64()
	if rng.Float64() < 0.05 {
		return z + math.Copysign(15, rng.NormFloat64())
	}
	return z
}

func t3(rng *rand.Rand) float64 {
	chi := 0.0
	for range 3 {
		z := rng.NormFloat64()
		chi += z * z
	}
	return rng.NormFloat64() / math.Sqrt(chi/3) * 1.959964 / 3.182446
}

// whole is the whole spread of a single reading with mean y.
func (d design) whole(y float64) float64 {
	return d.repeatability(y) * math.Sqrt(1+d.reader*d.reader+d.vial*d.vial)
}

// trial draws one trial. The knowns' true values differ from the stated ones
// by their uncertainty.
func (d design) trial(rng *rand.Rand) knownwater.Trial { return d.trialBy(d.people(rng), rng) }

// people are how the readers read, in units of repeatability.
func (d design) people(rng *rand.Rand) []float64 {
	people := make([]float64, max(1, d.readers))
	for r := range people {
		people[r] = d.reader * rng.NormFloat64()
	}
	return people
}

// unread is a trial of the design's method in which nothing was read yet.
func (d design) unread() knownwater.Trial {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	return knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{d.method}, Needs: d.needs}
}

func (d design) trialBy(people []float64, rng *rand.Rand) knownwater.Trial {
	t := d.unread()
	for i, c := range d.levels {
		u := 0.0
		if d.uLevel != nil {
			u = d.uLevel(c)
		}
		true := math.Max(0, c+u*rng.NormFloat64())
		n := d.vials
		if c == 0 && d.blanks > 0 {
			n = d.blanks
		}
		if d.uneven != nil {
			n = d.uneven[i%len(d.uneven)]
		}
		for v := range n {
			own := d.vial * rng.NormFloat64()
			for r := range max(1, d.readers) * max(1, d.again) {
				r %= max(1, d.readers)
				y := d.latent(true, own+people[r]*b2f(d.readers > 0), rng)
				if len(d.lots) > 0 {
					y *= d.lots[v%len(d.lots)]
				}
				o := d.observe(c, u, y)
				if len(d.lots) > 0 {
					o.Lot = fmt.Sprintf("lot %d", v%len(d.lots)+1)
				}
				o.Vial = fmt.Sprintf("v%v-%d", c, v)
				if d.readers > 0 {
					o.Reader = fmt.Sprintf("r%d", r)
				}
				t.Observations = append(t.Observations, o)
			}
		}
	}
	return t
}

// latent draws one reading at a true concentration, before it is shown.
func (d design) latent(c, shared float64, rng *rand.Rand) float64 {
	y := d.response(c)
	scatter := rng.NormFloat64
	if d.tail != nil {
		scatter = func() float64 { return d.tail(rng) }
	}
	return y + d.repeatability(y)*(shared+scatter())
}

func (d design) observe(c, u, y float64) knownwater.Observation {
	shown := d.method
	if d.true > 0 {
		shown.AtShare = d.true
	}
	text := reading.Show(y, shown)
	seen, err := reading.Understand(text, d.method)
	if err != nil {
		panic(err)
	}
	return knownwater.Observation{Method: d.method.Name, Level: c, ULevel: u, Text: text, Seen: seen, Dilution: 1, Count: 1}
}

func straight(c float64) float64 { return c }

var (
	demoLevels = []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	display    = knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 0.01}
	drops      = knownwater.Method{Name: "drops", Kind: knownwater.Drops, DropValue: 1}
)

func source(table, run int) *rand.Rand { return num.Source(20261124, uint64(table), uint64(run)) }
