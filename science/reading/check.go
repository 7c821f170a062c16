package reading

import (
	"fmt"
	"math"

	"knownwater"
)

// Faults says what is wrong with a method, with the key of methods.toml that
// is to blame as the column of each fault; nil if nothing is.
func Faults(m knownwater.Method) knownwater.Faults {
	var fs knownwater.Faults
	wrong := func(key, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: key, Found: found, Want: want}.Of(values...))
	}
	if m.Name == "" {
		wrong("name", "a method without a name", "a name that the readings use")
	}
	switch k := Of(m.Kind); {
	case k.Kind != "":
		k.check(m, wrong)
	case m.Kind == "":
		wrong("kind", "a method without a kind", kindNames())
	default:
		wrong("kind", Quote(string(m.Kind)), kindNames())
	}
	if m.Resolution != 0 && !positive(m.Resolution) {
		wrong("resolution", shown(m.Resolution), "one step of the last digit, above 0")
	}
	if r := m.Range; r != nil && !(r.Low < r.High && finite(r.Low) && finite(r.High)) {
		wrong("range", fmt.Sprintf("[%g, %g]", r.Low, r.High), "the lower end, then the upper end")
	}
	if (m.DilutionOver != 0 || m.DilutionFactor != 0) && !(finite(m.DilutionFactor) && m.DilutionFactor > 1) {
		wrong("dilution_factor", shown(m.DilutionFactor), "a factor above 1 (8 for 1 part sample and 7 parts pure water)")
	}
	for _, a := range []struct {
		key string
		v   float64
	}{
		{"dilution_over", m.DilutionOver}, {"pack_price", m.PackPrice}, {"refill_price", m.RefillPrice},
		{"pack_tests", float64(m.PackTests)}, {"refill_tests", float64(m.RefillTests)},
		{"minutes", m.Minutes}, {"hands_on_minutes", m.HandsOnMinutes},
		{"shelf_life_months", m.ShelfMonths}, {"refill_shelf_life_months", m.RefillMonths}, {"waste_ml", m.WasteML}, {"device_price", m.DevicePrice}, {"device_years", m.DeviceYears},
	} {
		if !finite(a.v) || a.v < 0 {
			wrong(a.key, shown(a.v), "0 or more")
		}
	}
	if m.DevicePrice > 0 && m.DeviceYears == 0 {
		wrong("device_years", "a device with a price and no years", "how many years it is expected to serve, such as 5")
	}
	if what := knownwater.NoHazard(m.Hazards); what != "" {
		wrong("hazards", Quote(what), knownwater.HazardNames())
	}
	return fs
}

// wrong takes a fault: the key of methods.toml, what was found, what would be right.
type wrong func(key, found, want string, values ...any)

func checkDrops(m knownwater.Method, wrong wrong) {
	if !positive(m.DropValue) {
		wrong("drop_value", shown(m.DropValue), "the concentration one drop stands for, above 0")
	}
}

func checkChart(m knownwater.Method, wrong wrong) {
	if len(m.Swatches) < 2 {
		wrong("swatches", "%d swatches", "at least two swatches, rising", len(m.Swatches))
	}
	for i, s := range m.Swatches {
		if !finite(s) || s < 0 {
			wrong("swatches", shown(s), "concentrations from 0 up")
			break
		}
		if i > 0 && !(m.Swatches[i-1] < s) {
			wrong("swatches", "%s after %s", "swatches, rising", shown(s), shown(m.Swatches[i-1]))
			break
		}
	}
	if m.AtShare != 0 && !(m.AtShare > 0 && m.AtShare <= 0.5) {
		wrong("at_share", shown(m.AtShare), "a share above 0 and at most 0.5")
	}
}

func shown(v float64) string { return fmt.Sprintf("%g", v) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func positive(v float64) bool { return finite(v) && v > 0 }
