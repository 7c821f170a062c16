package plan

import "math"

// Supply is what is on the shelf of a method and what more would cost.
type Supply struct {
	Left                   int // tests left; below 0: not known, counted as none
	PackPrice, RefillPrice float64
	PackTests, RefillTests int
}

// Bill is what a number of tests takes.
type Bill struct {
	Buy   int     // packs or refills
	Money float64 // for them
	Value float64 // worth of all the tests at the cheaper price a test
}

// Bill works out what n tests take: first what is left, then refills where they
// are cheaper a test than packs, else packs. A supply without a price or a size
// costs nothing that is known: not a number.
func (s Supply) Bill(n int) Bill {
	price, tests := s.PackPrice, s.PackTests
	if s.RefillTests > 0 && s.RefillPrice > 0 && (tests <= 0 || s.RefillPrice/float64(s.RefillTests) <= price/float64(tests)) {
		price, tests = s.RefillPrice, s.RefillTests
	}
	if tests <= 0 {
		return Bill{Money: math.NaN(), Value: math.NaN()}
	}
	short := max(0, n-max(0, s.Left))
	buy := (short + tests - 1) / tests
	return Bill{buy, float64(buy) * price, float64(n) * price / float64(tests)}
}
