package num

// QuickEnd is from where on, either way, QuickPhi is 0 or 1.
const (
	QuickEnd   = 8.0
	quickSteps = 512 // a unit
)

var quickPhi = func() []float64 {
	phi := make([]float64, int(2*QuickEnd*quickSteps)+2)
	for i := range phi {
		phi[i] = Phi(float64(i)/quickSteps - QuickEnd)
	}
	return phi
}()

// QuickPhi is Φ(x) by straight lines through a table, good to 1e-6 absolutely; beyond QuickEnd
// either way it is 0 or 1. For what is drawn, averaged or solved by the thousand.
func QuickPhi(x float64) float64 {
	p, _ := QuickPhiSlope(x)
	return p
}

// QuickPhiSlope is that with its slope φ(x), good to 1e-3 of what it is at most; beyond
// QuickEnd either way 0.
func QuickPhiSlope(x float64) (p, slope float64) {
	switch {
	case x >= QuickEnd:
		return 1, 0
	case x <= -QuickEnd:
		return 0, 0
	case x != x:
		return x, x
	}
	at := (x + QuickEnd) * quickSteps
	i := int(at)
	step := quickPhi[i+1] - quickPhi[i]
	return quickPhi[i] + (at-float64(i))*step, step * quickSteps
}
