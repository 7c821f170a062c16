package control

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// Duplicates agree, and a recovery of all that was added is held, in 95 of 100 cases, whatever
// both tests share, and where they do not share all of it; a tenth of it lost shows as often as its size over the scatter says.
func TestPairs(t *testing.T) {
	rng := num.Source(61)
	const many = 4000
	agree, held, sloped, shown := 0, 0, 0, 0
	for range many {
		shared := 3 * rng.NormFloat64()
		x, y := 10+shared+0.3*rng.NormFloat64(), 10+shared+0.4*rng.NormFloat64()
		if Duplicates(x, 0.3, y, 0.4).Fine {
			agree++
		}
		if p := Recovery(x, 0.3, y+5, 0.4, 0, 5); p.Fine && p.Low < p.Value && p.Value < p.High {
			held++
		}
		if Recovery(x, 0.3, y+5*(1+0.1*rng.NormFloat64()), 0.4, 0.5, 5).Fine { // a slope known to a tenth
			sloped++
		}
		if !Recovery(x, 0.3, y+3.5, 0.4, 0, 5).Fine { // 1.5 of a scatter of 0.5 lost
			shown++
		}
	}
	for name, c := range map[string]struct {
		n    int
		want float64
	}{"agree": {agree, 0.95}, "recovery held": {held, 0.95}, "recovery by a slope in doubt held": {sloped, 0.95}, "loss shown": {shown, num.Phi(3 - 1.96)}} {
		if p := float64(c.n) / many; math.Abs(p-c.want) > 0.015 {
			t.Errorf("%s: %.3f, want %.3f", name, p, c.want)
		}
	}
	if d := Duplicates(10, 0.3, 11.2, 0.4); d.Fine || math.Abs(d.Most-0.98) > 0.001 || math.Abs(d.Value-1.2) > 1e-12 {
		t.Errorf("%+v", d)
	}
}
