package intake

import (
	"strings"
	"testing"
)

func TestNear(t *testing.T) {
	known := []string{"analyte", "basis", "method", "salinity", "temperature_c", "unit", "minutes", "hands_on_minutes", "range"}
	for word, want := range map[string]string{"temperature": "temperature_c", "mehtod": "method", "salinty": "salinity", "unti": "unit", "Analyte": "analyte", "units": "unit",
		"smell": "", "x": "", "": "", "colour": "", "minute": "minutes", strings.Repeat("analyte", 1000): ""} {
		if got := near(word, known); got != want {
			t.Errorf("near %q is %q, want %q", word, got, want)
		}
	}
}
