package report

import "testing"

func TestCutKeepsWhatIsInBrackets(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		want string
	}{
		{"Reef meter (never diluted)", 26, "Reef meter (never diluted)"},
		{"Reef meter (never diluted)", 24, "Reef me… (never diluted)"},
		{"Reef meter (never diluted)", 20, "Reef meter… diluted)"}, // no room for a name before it
		{"Reef meter of the second bench", 20, "Reef meter…ond bench"},
		{"Violett-Karte (unverdünnt)", 22, "Violett-… (unverdünnt)"},
	} {
		if got := cut(c.text, c.n); got != c.want {
			t.Errorf("%q to %d: %q, want %q", c.text, c.n, got, c.want)
		}
	}
}
