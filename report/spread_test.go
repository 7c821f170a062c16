package report

import "testing"

// A spread is never printed as zero, however large its doubt.
func TestSpreadFarBelowItsDoubtIsNotZero(t *testing.T) {
	if got := spread(0.41, 0.13, 9.2); got.Est != "0.41" || got.To != "at most 9" {
		t.Errorf("%+v, want 0.41, at most 9", got)
	}
}
