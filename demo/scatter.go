package demo

import (
	"math"
	"math/rand/v2"
)

// scatter is how single readings scatter around a mean.
type scatter interface {
	// read draws one: vial is a standard normal draw, reader a fixed offset on the scatter's own
	// scale, technique multiplies what a technique multiplies.
	read(mean, vial, reader, technique float64, rng *rand.Rand) float64
	// moments are the expectation of a single reading and of its square, the mean itself being
	// normal with standard deviation shift.
	moments(mean, shift, reader, technique float64) (first, second float64)
}

// logScatter is normal on ln(y + k), as matching colours by eye is: y + k is log-normal, of which
// E = e^(μ + σ²/2), E of the square e^(2μ + 2σ²).
type logScatter struct{ k, vial, reading float64 }

func (s logScatter) read(mean, vial, reader, technique float64, rng *rand.Rand) float64 {
	return math.Exp(math.Log(mean+s.k)+technique*s.vial*vial+reader+technique*s.reading*rng.NormFloat64()) - s.k
}

func (s logScatter) moments(mean, shift, reader, technique float64) (first, second float64) {
	v := technique * technique * (s.vial*s.vial + s.reading*s.reading)
	first = (mean + s.k) * math.Exp(reader+v/2)
	square := ((mean+s.k)*(mean+s.k) + shift*shift) * math.Exp(2*reader+2*v)
	return first - s.k, square - 2*s.k*first + s.k*s.k
}

// lineScatter is normal with σ² = base² + (share·a)², a = slope·y + zero, all on a's scale.
type lineScatter struct{ base, share, zero, slope float64 }

func (s lineScatter) read(mean, vial, reader, technique float64, rng *rand.Rand) float64 {
	a := mean*s.slope + s.zero
	return mean + math.Hypot(s.base, s.share*a)/s.slope*rng.NormFloat64()
}

func (s lineScatter) moments(mean, shift, reader, technique float64) (first, second float64) {
	a := mean*s.slope + s.zero
	squareOfA := a*a + s.slope*s.slope*shift*shift
	return mean, mean*mean + shift*shift + (s.base*s.base+s.share*s.share*squareOfA)/(s.slope*s.slope)
}

// glare multiplies some of the readings.
type glare struct {
	lineScatter
	chance, by float64
}

func (s glare) read(mean, vial, reader, technique float64, rng *rand.Rand) float64 {
	y := s.lineScatter.read(mean, vial, reader, technique, rng)
	if rng.Float64() < s.chance {
		y *= s.by
	}
	return y
}

func (s glare) moments(mean, shift, reader, technique float64) (first, second float64) {
	first, second = s.lineScatter.moments(mean, shift, reader, technique)
	return first * (1 - s.chance + s.chance*s.by), second * (1 - s.chance + s.chance*s.by*s.by)
}
