package main

import "testing"

// The demo's log over a few seeds: a tank that stays is not said to have changed, its steps
// hold 0, the lot’s ratio is found, the doubled level is held by its interval; with a link withheld nothing is
// said across.
func TestWaterOrMethod(t *testing.T) {
	var c, withheld counts
	for run := range 2 {
		c.add(tryHistory(run))
	}
	withheld.add(tryWithheld(0))
	for k, name := range []string{"B1", "A1", "A2"} {
		if mean := c.Sum[k] / float64(c.Runs); mean < 12.5 || mean > 16 {
			t.Errorf("lot %s: a tank at 14 is put at %.1f", name, mean)
		}
	}
	if c.Sum[6] < 0.85*c.Sum[7] || c.Sum[8] > 1 || c.Sum[9] < c.Sum[10]-1 || c.Sum[13] < 2 || c.Sum[15] < 1 {
		t.Errorf("steps that hold 0: %.0f of %.0f; said to change: %.0f; lot held: %.0f of %.0f; rise called: %.0f", c.Sum[6], c.Sum[7], c.Sum[8], c.Sum[9], c.Sum[10], c.Sum[15])
	}
	if w := withheld.Sum; w[0] != w[1] || w[2] != w[3] || w[4] != 0 || w[1] == 0 || w[3] == 0 {
		t.Errorf("withheld: %v", w)
	}
}
