package report

import "testing"

func TestAgreeHead(t *testing.T) {
	for _, c := range []struct {
		same, differ, open int
		want               string
	}{{0, 0, 0, "Nothing to compare"}, {3, 0, 0, "The benches agree"}, {0, 0, 2, "Undecided: these readings do not tell"},
		{1, 0, 1, "One method agrees and one is undecided"}, {2, 1, 0, "Two methods agree and one method differs"}, {0, 2, 2, "Two methods differ and two are undecided"}} {
		if got := AgreeHead(c.same, c.differ, c.open); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
