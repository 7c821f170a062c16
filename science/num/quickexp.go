package num

import "math"

// quickParts is into how many parts the tables of Exp and Log cut a doubling.
const quickParts = 128

var exp2Parts = func() (bits [quickParts]uint64) {
	for i := range bits {
		bits[i] = math.Float64bits(math.Exp2(float64(i) / quickParts))
	}
	return bits
}()

// Exp is e^x to 2e-15 of itself, in half the time that math.Exp takes: 2^(k/128) from a table and five terms of the series of what is
// left, which is at most ln2/256 (P. T. P. Tang, ACM Trans. Math. Softw. 15 (1989) 144).
func Exp(x float64) float64 {
	const (
		round    = 0x1.8p52 // added and taken off again, it leaves a whole number
		ln2, low = 0x1.62e42fee00000p-1 / quickParts, 0x1.a39ef35793c76p-33 / quickParts
	)
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	k := x*(quickParts/math.Ln2) + round
	n := int64(math.Float64bits(k))
	k -= round
	r := x - k*ln2 - k*low
	part := math.Float64frombits(exp2Parts[n&(quickParts-1)] + uint64(n>>7)<<52)
	return part + part*(r+r*r*(1.0/2+r*(1.0/6+r*(1.0/24))))
}

var logParts = func() (t [quickParts]struct{ over, log float64 }) {
	for i := range t {
		t[i].over = float64(float32(1 / (1 + (float64(i)+0.5)/quickParts)))
		t[i].log = -math.Log(t[i].over)
	}
	return t
}()

// Log is the natural logarithm to 1e-15 of its own size or of 1, whichever is more, in half the time that math.Log takes: by a table
// of the reciprocals of 1 to 2, and six terms of the series of what is left, which is at most 1/256.
func Log(x float64) float64 {
	if !(x > 1e-300 && x < 1e300) {
		return math.Log(x)
	}
	bits := math.Float64bits(x)
	part := &logParts[bits>>45&(quickParts-1)]
	r := math.Float64frombits(bits&(1<<52-1)|1023<<52)*part.over - 1
	series := r - r*r*(1.0/2-r*(1.0/3-r*(1.0/4-r*(1.0/5-r*(1.0/6)))))
	return float64(int64(bits>>52)-1023)*math.Ln2 + (part.log + series)
}
