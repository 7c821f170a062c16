package form

import "testing"

func TestWithPoints(t *testing.T) {
	for _, c := range []struct{ typed, points, commas string }{
		{"4,73", "4.73", "4.73"}, {"4.73", "4.73", "4.73"}, {"6,5..15,2", "6.5..15.2", "6.5..15.2"}, {"6.5..15", "6.5..15", "6.5..15"}, {"<0,5", "<0.5", "<0.5"},
		{"7d", "7d", "7d"}, {"-0,02", "-0.02", "-0.02"}, {"0,125", "0.125", "0.125"}, {"1,5000", "1.5000", "1.5000"}, {"1500,125", "1500.125", "1500.125"},
		{"1,500", "1,500", "1.500"},       // fifteen hundred to some
		{"1,234.5", "1,234.5", "1,234.5"}, // groups
		{"1.234,5", "1.234,5", "1.234,5"},
		{"1,234,567", "1,234,567", "1,234,567"}, {"blau", "blau", "blau"}, {"", "", ""},
	} {
		if got := WithPoints(c.typed, false); got != c.points {
			t.Errorf("%q by somebody who writes points is %q, wanted %q", c.typed, got, c.points)
		}
		if got := WithPoints(c.typed, true); got != c.commas {
			t.Errorf("%q by somebody who writes commas is %q, wanted %q", c.typed, got, c.commas)
		}
	}
}
