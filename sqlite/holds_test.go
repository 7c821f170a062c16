package sqlite

import "testing"

func TestHolds(t *testing.T) {
	db := mustOpen(t, newPath(t))
	for _, c := range []struct {
		words []string
		text  string
		want  int
	}{
		{nil, "anything", 1},
		{[]string{"äpfel", "ROT"}, "Rote ÄPFEL", 1},
		{[]string{"rot", "grün"}, "Rote Äpfel", 0},
		{[]string{`a"b`, "%"}, `x A"B_`, 0},
		{[]string{`a"b`, "_"}, `x A"B_`, 1},
	} {
		if got := count(t, db, `select holds(?, ?)`, Words(c.words), c.text); got != c.want {
			t.Errorf("%q holds %q: %d, want %d", c.text, c.words, got, c.want)
		}
	}
}
