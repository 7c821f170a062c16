package num

import "math"

// RoundedBelow is the chance that a normal of mean 0 and standard deviation sd that is shown in steps, whose phase
// is of no account, lies at x or below, and its slope there: of the normal and a rectangular from −step/2 to step/2
// together (JCGM 100:2008, 4.3.7 and F.2.2.1, has the rectangular; JCGM 101:2008, 9.2.4, an example in which it rules),
//
//	sd·(G((x + step/2)/sd) − G((x − step/2)/sd))/step,  G(z) = z·Φ(z) + φ(z)
func RoundedBelow(x, sd, step float64) (p, slope float64) {
	sd = math.Max(sd, 1e-6*step)
	if step < 1e-3*sd {
		return Phi(x / sd), NormalPDF(x/sd) / sd
	}
	high, low := (x+step/2)/sd, (x-step/2)/sd
	above, below := Phi(high), Phi(low)
	p = sd * (high*above - low*below + NormalPDF(high) - NormalPDF(low)) / step
	return math.Min(1, math.Max(0, p)), (above - below) / step
}

// RoundingShared is the variance, in steps², of what rounding does alike to readings of one value that scatter by so
// many steps: of their averages it stays, however many they are. It is that of the mean rounding error over where the
// steps may lie, Σ exp(−4π²k²s²)/(2π²k²) by the Fourier series of a sawtooth; of small s s² + 1/12 − s/√π, of others its
// first term, good to 3e-5, and from 0.6 on nothing.
func RoundingShared(s float64) float64 {
	switch {
	case s > 0.6:
		return 0
	case s < 0.2:
		return s*s + 1.0/12 - s/math.Sqrt(math.Pi)
	}
	return math.Exp(-4*math.Pi*math.Pi*s*s) / (2 * math.Pi * math.Pi)
}
