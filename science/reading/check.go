package reading

import (
	"fmt"
	"math"

	"knownwater"
)

// Check says what is wrong with a method, with the key of methods.toml that
// is to blame as the column of each fault; nil if nothing is.
func Check(m knownwater.Method) knownwater.Faults {
	var fs knownwater.Faults
	wrong := func(key, found, want string) {
		fs = append(fs, knownwater.Fault{Column: key, Found: found, Want: want})
	}
	if m.Name == "" {
		wrong("name", "a method without a name", "a name that the readings use")
	}
	switch m.Kind {
	case knownwater.Chart:
		checkChart(m, wrong)
	case knownwater.Drops:
		if !positive(m.DropValue) {
			wrong("drop_value", number(m.DropValue), "the concentration one drop stands for, above 0")
		}
	case knownwater.Display, knownwater.Absorbance, knownwater.Photo:
	case "":
		wrong("kind", "a method without a kind", "chart, display, drops, absorbance or photo")
	default:
		wrong("kind", Quote(string(m.Kind)), "chart, display, drops, absorbance or photo")
	}
	if m.Resolution != 0 && !positive(m.Resolution) {
		wrong("resolution", number(m.Resolution), "one step of the last digit, above 0")
	}
	if r := m.Range; r != nil && !(r.Low < r.High && finite(r.Low) && finite(r.High)) {
		wrong("range", fmt.Sprintf("[%g, %g]", r.Low, r.High), "the lower end, then the upper end")
	}
	if (m.DilutionOver != 0 || m.DilutionFactor != 0) && !(finite(m.DilutionFactor) && m.DilutionFactor > 1) {
		wrong("dilution_factor", number(m.DilutionFactor), "a factor above 1 (8 for 1 part sample and 7 parts pure water)")
	}
	for _, a := range []struct {
		key string
		v   float64
	}{
		{"dilution_over", m.DilutionOver}, {"pack_price", m.PackPrice}, {"refill_price", m.RefillPrice},
		{"pack_tests", float64(m.PackTests)}, {"refill_tests", float64(m.RefillTests)},
		{"minutes", m.Minutes}, {"hands_on_minutes", m.HandsOnMinutes},
	} {
		if !finite(a.v) || a.v < 0 {
			wrong(a.key, number(a.v), "0 or more")
		}
	}
	return fs
}

func checkChart(m knownwater.Method, wrong func(key, found, want string)) {
	if len(m.Swatches) < 2 {
		wrong("swatches", fmt.Sprintf("%d swatches", len(m.Swatches)), "at least two swatches, rising")
	}
	for i, s := range m.Swatches {
		if !finite(s) || s < 0 {
			wrong("swatches", number(s), "concentrations from 0 up")
			break
		}
		if i > 0 && !(m.Swatches[i-1] < s) {
			wrong("swatches", fmt.Sprintf("%s after %s", number(s), number(m.Swatches[i-1])), "swatches, rising")
			break
		}
	}
	if m.AtShare != 0 && !(m.AtShare > 0 && m.AtShare <= 0.5) {
		wrong("at_share", number(m.AtShare), "a share above 0 and at most 0.5")
	}
}

func number(v float64) string { return fmt.Sprintf("%g", v) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func positive(v float64) bool { return finite(v) && v > 0 }
