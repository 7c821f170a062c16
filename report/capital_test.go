package report

import "testing"

func TestCapital(t *testing.T) {
	for s, want := range map[string]string{"": "", "north tank: too few": "North tank: too few", "wide.csv is read": "wide.csv is read", "log.csv: one row": "log.csv: one row", "1.5 is little": "1.5 is little", "ömu": "Ömu"} {
		if got := capital(s); got != want {
			t.Errorf("%q: %q, want %q", s, got, want)
		}
	}
}
