package posterior

import (
	"math"
	"testing"
)

// A normal tells 1 and 1; t of 3 degrees of freedom (ν+1)/(ν+3) of its mean in units of its
// scale, 3.182/1.960 of which are its normal-equivalent spread, and ν/(ν+3) of its log scale
// (Lange, Little and Taylor, J. Am. Stat. Assoc. 84 (1989) 881): six parts stand for it, so
// that within a tenth is all that is meant. Of the parts themselves the distance of Kullback
// and Leibler between two that differ a little is another way to the same numbers.
func TestInformation(t *testing.T) {
	m, u := Normal.Information()
	if math.Abs(m-1) > 1e-6 || math.Abs(u-1) > 1e-6 {
		t.Errorf("normal: %v and %v, want 1 and 1", m, u)
	}
	wantM, wantU := 4.0/6*math.Pow(3.182446/z975, 2), 0.5
	if m, u = Heavy.Information(); math.Abs(m/wantM-1) > 0.1 || math.Abs(u/wantU-1) > 0.1 {
		t.Errorf("heavy tails: %v and %v, want about %v and %v", m, u, wantM, wantU)
	}
	for k, s := range scatters() {
		m, u := Kind(k).Information()
		gotM := 2 * divergence(s, 0.02, 0) / (0.02 * 0.02)
		gotU := divergence(s, 0, 0.02) / (0.02 * 0.02)
		if math.Abs(gotM/m-1) > 0.02 || math.Abs(gotU/u-1) > 0.02 {
			t.Errorf("kind %d: %v and %v, by the distance %v and %v", k, m, u, gotM, gotU)
		}
	}
	few, more := 0.0, 0.0
	_, few = FewSlips.Information()
	if _, more = MoreSlips.Information(); !(more < few && few < 1 && more > 0.5) {
		t.Errorf("few slips %v, more slips %v: want less the more there are", few, more)
	}
}

// divergence is ∫ f·log(f/g) dx, half of there and half of back, g shifted by one and its log
// spread by another amount.
func divergence(s *scatter, shift, widen float64) float64 {
	sum := 0.0
	for x := -160.0; x < 160; x += 0.02 {
		for _, by := range []float64{1, -1} {
			e := math.Exp(by * widen)
			f, g := s.density(x), s.density((x-by*shift)/e)-by*widen
			sum += math.Exp(f) * (f - g) / 2 * 0.02
		}
	}
	return sum
}
