package demo

import (
	"math/rand/v2"
	"slices"
	"sync"

	"knownwater/science/num"
)

// Truth is what is true of the shed: what no real bench ever gets to see.
type Truth struct {
	About   string        `json:"about"`
	Seed    uint64        `json:"seed"`
	Swapped string        `json:"swapped"`
	Late    string        `json:"late"`
	Methods []TrueMethod  `json:"methods"`
	Sides   []TrueCompare `json:"techniques"`
}

// TrueMethod is the truth of one method and dilution.
type TrueMethod struct {
	Method   string      `json:"method"`
	Dilution float64     `json:"dilution"`
	Levels   []TrueLevel `json:"levels"`
}

// TrueLevel is the truth at one known: Mean is the expected reading of the
// three people together, SD the whole spread of single readings about it.
type TrueLevel struct {
	Level    float64 `json:"level"` // as stated
	True     float64 `json:"true"`
	Mean     float64 `json:"mean"`
	SD       float64 `json:"sd"`
	Bias     float64 `json:"bias"`
	Recovery float64 `json:"recovery"`
}

// TrueCompare is the truth of one technique against the reference.
type TrueCompare struct {
	Method     string  `json:"method"`
	To         string  `json:"to"`
	Difference float64 `json:"difference"`
	SDRatio    float64 `json:"sd_ratio"`
}

// truthDraws gives the true means to less than 1 % of a single reading's standard deviation; the
// truth does not depend on the trial's seed.
const (
	truthDraws = 20000
	truthSeed  = 20
)

// TruthOf is the truth behind Trial(seed). The methods are worked out side by side, each
// level from a source of its own.
func TruthOf(seed uint64) Truth {
	t := Truth{
		About:   "Invented. What is true of the Saltmarsh Shed's methods and knowns, to hold the findings against.",
		Seed:    seed,
		Swapped: "two vials of Elm, added 6 and 20, in session S3",
		Late:    "one reading of Birch at added 12 in session S2 was taken 11 minutes late",
		Methods: make([]TrueMethod, len(actList)),
	}
	sides := make([][]TrueCompare, len(actList))
	var all sync.WaitGroup
	for i, a := range actList {
		all.Go(func() { t.Methods[i], sides[i] = trueMethod(i, a), trueSides(i, a) })
	}
	all.Wait()
	t.Sides = slices.Concat(sides...)
	return t
}

func trueMethod(i int, a act) TrueMethod {
	m := TrueMethod{Method: a.method.Name, Dilution: a.dilution}
	for j, c := range a.levels {
		mean, sd := moments(a, c, 0, num.Source(truthSeed, uint64(i), uint64(j)))
		true := trueLevel(c)
		m.Levels = append(m.Levels, TrueLevel{stated(c), true, mean, sd, mean - true, 100 * mean / true})
	}
	return m
}

// trueSides compares a method's techniques, where it was tried side by side.
func trueSides(i int, a act) (sides []TrueCompare) {
	if a.dilution != 1 || a.vial == 0 {
		return nil
	}
	book, _ := moments(a, sideLevel, 0, num.Source(truthSeed, uint64(i), 100))
	for k := 1; k < len(techniques); k++ {
		mean, _ := moments(a, sideLevel, k, num.Source(truthSeed, uint64(i), 100)) // the same draws, so that the difference is sharp
		sides = append(sides, TrueCompare{a.method.Name, techniques[k].name, mean - book, techniques[k].scatter})
	}
	return sides
}

// moments are the mean and the standard deviation of single readings, by simulation.
func moments(a act, added float64, technique int, rng *rand.Rand) (mean, sd float64) {
	tech := techniques[technique]
	response := a.response(trueLevel(added) * tech.yield)
	y := make([]float64, truthDraws)
	for i := range y {
		y[i] = a.dilution * a.read(response+a.session*rng.NormFloat64(), rng.NormFloat64(), a.readers[i%3], tech.scatter, rng)
	}
	return num.MeanSD(y)
}
