package num

// quickPhi is Φ from −quickEnd to quickEnd in steps of 1/quickSteps.
const (
	quickEnd   = 8.0
	quickSteps = 512 // a unit
)

var quickPhi = func() []float64 {
	phi := make([]float64, int(2*quickEnd*quickSteps)+2)
	for i := range phi {
		phi[i] = Phi(float64(i)/quickSteps - quickEnd)
	}
	return phi
}()

// QuickPhi is Φ(x) and its slope φ(x) by straight lines through a table: Φ good to 1e-6
// absolutely, the slope to 1e-3 of what it is at most; beyond 8 either way Φ is 0 or 1 and
// the slope 0. For what is averaged or solved by the thousand.
func QuickPhi(x float64) (p, slope float64) {
	switch {
	case x >= quickEnd:
		return 1, 0
	case x <= -quickEnd:
		return 0, 0
	case x != x:
		return x, x
	}
	at := (x + quickEnd) * quickSteps
	i := int(at)
	step := quickPhi[i+1] - quickPhi[i]
	return quickPhi[i] + (at-float64(i))*step, step * quickSteps
}
