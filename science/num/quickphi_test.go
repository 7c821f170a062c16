package num

import (
	"math"
	"testing"
)

// The table against the function itself, between its places too.
func TestQuickPhi(t *testing.T) {
	for x := -9.0; x <= 9; x += 0.00317 {
		p, slope := QuickPhiSlope(x)
		if math.Abs(p-Phi(x)) > 1e-6 || math.Abs(slope-NormalPDF(x)) > 1e-3*NormalPDF(0) {
			t.Fatalf("at %v: %v, slope %v, want %v, %v", x, p, slope, Phi(x), NormalPDF(x))
		}
	}
	if p, _ := QuickPhiSlope(math.NaN()); !math.IsNaN(p) {
		t.Error("of no number")
	}
	if p, _ := QuickPhiSlope(math.Inf(-1)); p != 0 {
		t.Error("below everything")
	}
}
