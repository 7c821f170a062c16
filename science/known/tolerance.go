package known

// Limits of error, in mL.
//
// The numbers are ISO 1042:1998 (flasks), ISO 648:2008 (one-mark pipettes) and
// ISO 8655-2:2002 type A (piston pipettes) FROM MEMORY: no copy of the
// standards was at hand. A device's certificate, or a check by weighing water,
// beats them; so does a tolerance given with the device.

// sizeLimit is the limit of error of one nominal volume, class A.
type sizeLimit struct{ nominal, limit float64 }

// Class B has twice the limit of class A in both standards.
var (
	flaskLimits = []sizeLimit{
		{5, 0.025}, {10, 0.025}, {25, 0.04}, {50, 0.06}, {100, 0.10}, {200, 0.15},
		{250, 0.15}, {500, 0.25}, {1000, 0.40}, {2000, 0.60},
	}
	oneMarkLimits = []sizeLimit{
		{0.5, 0.005}, {1, 0.008}, {2, 0.010}, {5, 0.015}, {10, 0.020}, {20, 0.030},
		{25, 0.030}, {50, 0.050}, {100, 0.080},
	}
)

// pistonLimit holds the systematic and the random limit as shares of the
// nominal volume: they are the same number of microlitres at every setting.
type pistonLimit struct{ nominal, systematic, random float64 }

var pistonLimits = []pistonLimit{
	{0.001, 0.05, 0.05}, {0.002, 0.04, 0.02}, {0.005, 0.025, 0.015}, {0.01, 0.012, 0.008},
	{0.02, 0.010, 0.005}, {0.05, 0.010, 0.004}, {0.1, 0.008, 0.003}, {0.2, 0.008, 0.003},
	{0.5, 0.008, 0.003}, {1, 0.008, 0.003}, {2, 0.008, 0.003}, {5, 0.008, 0.003}, {10, 0.006, 0.003},
}

// Shares of the nominal volume for plastic syringes: ISO 7886-1 allows about
// ±4 % (5 mL and more) or ±5 % of the volume at half the nominal volume and
// above; FROM MEMORY. The scatter of 1 % is common practice, no source.
const (
	syringeLimit      = 0.04
	smallSyringeLimit = 0.05
	syringeRandom     = 0.01
)

// Drops fall within about 5 % of their mean volume, and the mean changes with
// angle and bottle by about as much; common practice, no source.
const (
	dropLimit  = 0.05
	dropRandom = 0.05
)

// fillShare is the scatter of filling glass to a mark or draining it, as a
// share of its limit of error: ten fillings of a 100 mL flask of ± 0.1 mL
// scattered by 0.02 mL in EURACHEM/CITAC CG4 A1.
const fillShare = 0.2

// limitOf is the class A limit of exactly this nominal volume.
func limitOf(table []sizeLimit, nominal float64) (float64, bool) {
	for _, row := range table {
		if row.nominal == nominal {
			return row.limit, true
		}
	}
	return 0, false
}

// pistonLimitOf is the row of the largest listed size up to nominal: between
// two sizes the wider share holds.
func pistonLimitOf(nominal float64) pistonLimit {
	row := pistonLimits[0]
	for _, r := range pistonLimits {
		if r.nominal <= nominal*(1+1e-9) {
			row = r
		}
	}
	return row
}
