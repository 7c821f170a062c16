package demo

import (
	"math"
	"math/rand/v2"

	"knownwater"
)

// act is one test of the generator: a method, how it truly responds, and how
// its vials, readers and readings scatter.
type act struct {
	method   knownwater.Method
	dilution float64   // as stated
	levels   []float64 // added
	blanks   int       // vials of the blank, if it is among the levels
	readings int       // readings a vial
	// response is the true mean reading of the vial as tested (before the
	// stated dilution multiplies it) at true concentration c.
	response func(c float64) float64
	// read draws one reading around a response: vial and reader are standard
	// normal draws and fixed offsets on the method's own scale.
	read          func(mean, vial, reader float64, scatter float64, rng *rand.Rand) float64
	vial, reading float64 // sd on that scale
	readers       [3]float64
	session       float64 // sd of a shift of the whole session
}

// readerNames are the three people of the shed.
var readerNames = [3]string{"Ines", "Tomo", "Wren"}

var added = []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}

// logReading scatters on ln(y + k), as matching colours by eye does.
func logReading(k, vialSD, readSD float64) func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
	return func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
		return math.Exp(math.Log(mean+k)+scatter*vialSD*vial+reader+scatter*readSD*rng.NormFloat64()) - k
	}
}

// plain scatters with σ² = base² + (share·y)².
func plain(base, share float64) func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
	return func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
		return mean + math.Hypot(base, share*mean)*rng.NormFloat64()
	}
}

// A first guess at turning absorbance and colour signal into mg/L: a straight
// line through two points, which is what the shed had before it had a curve.
const (
	absorbanceZero, absorbanceSlope = 0.012, 0.155
	photoZero, photoSlope           = 0.004, 0.055
)

func acts() []act {
	alder := knownwater.Method{Name: "Alder", Kind: knownwater.Chart, Swatches: []float64{0, 0.4, 1, 2, 3.5, 6}, AtShare: 0.25,
		DilutionOver: 5, DilutionFactor: 8, PackPrice: 22, PackTests: 50, Minutes: 9, HandsOnMinutes: 5, ShelfMonths: 18, WasteML: 12, Hazards: []string{"dust"}}
	birch := knownwater.Method{Name: "Birch", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12, 20, 35, 70}, AtShare: 0.25,
		PackPrice: 13, PackTests: 50, Minutes: 5, HandsOnMinutes: 3, ShelfMonths: 18, WasteML: 10, Hazards: []string{"acid"}}
	cedar := knownwater.Method{Name: "Cedar", Kind: knownwater.Display, Resolution: 0.1,
		PackPrice: 39, PackTests: 50, Minutes: 14, HandsOnMinutes: 4, ShelfMonths: 24, WasteML: 10, Hazards: []string{},
		DevicePrice: 90, DeviceYears: 6}
	dogwood := knownwater.Method{Name: "Dogwood", Kind: knownwater.Absorbance, Resolution: 0.01,
		DilutionOver: 8, DilutionFactor: 8, PackPrice: 22, PackTests: 50, Minutes: 11, HandsOnMinutes: 6, ShelfMonths: 18, WasteML: 12, Hazards: []string{"dust"},
		DevicePrice: 240, DeviceYears: 8}
	elm := knownwater.Method{Name: "Elm", Kind: knownwater.Photo, Resolution: 0.1,
		PackPrice: 13, PackTests: 50, Minutes: 7, HandsOnMinutes: 4, ShelfMonths: 18, WasteML: 10, Hazards: []string{"acid"}}

	alderRead := logReading(0.3, 0.06, 0.08)
	alderEyes := [3]float64{0.03, -0.06, 0.02}
	dogwoodTrue := func(c float64) float64 {
		return (0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010) - absorbanceZero) / absorbanceSlope
	}
	dogwoodRead := func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
		a := mean*absorbanceSlope + absorbanceZero
		return mean + math.Hypot(0.004, 0.03*a)/absorbanceSlope*rng.NormFloat64()
	}
	return []act{
		{method: alder, dilution: 1, levels: []float64{0, 0.6, 1.5, 3, 6}, blanks: 12, readings: 3,
			response: func(c float64) float64 { return 0.93 * c }, read: alderRead, vial: 0.06, reading: 0.08, readers: alderEyes},
		// The sample syringe delivers 0.88 mL for 1: the dilution is 8.955, not 8.
		{method: alder, dilution: 8, levels: []float64{6, 12, 20, 40}, readings: 3,
			response: func(c float64) float64 { return 0.93 * c * 0.8934 / 8 }, read: alderRead, vial: 0.06, reading: 0.08, readers: alderEyes},
		{method: birch, dilution: 1, levels: added, blanks: 12, readings: 3,
			response: func(c float64) float64 { return 0.70 + 1.05*c/(1+c/90) },
			read:     logReading(1, 0.07, 0.11), vial: 0.07, reading: 0.11, readers: [3]float64{0.10, -0.16, 0.05}},
		{method: cedar, dilution: 1, levels: added, blanks: 12, readings: 2,
			response: func(c float64) float64 {
				return 2.4 + 0.58*0.25*math.Log1p(math.Exp((c-1.8)/0.25))/(1+c/220)
			}, read: plain(0.18, 0.02)},
		{method: dogwood, dilution: 1, levels: []float64{0, 0.6, 1.5, 3, 6, 12}, blanks: 12, readings: 2, response: dogwoodTrue, read: dogwoodRead},
		{method: dogwood, dilution: 8, levels: []float64{6, 12, 20, 40}, readings: 2,
			response: func(c float64) float64 { return dogwoodTrue(c / 8) }, read: dogwoodRead},
		{method: elm, dilution: 1, levels: added, blanks: 12, readings: 2,
			response: func(c float64) float64 { return (0.004 + 0.062*c/(1+c/55) - photoZero) / photoSlope },
			session:  0.03 / photoSlope,
			read: func(mean, vial, reader, scatter float64, rng *rand.Rand) float64 {
				p := mean*photoSlope + photoZero
				y := mean + math.Hypot(0.012, 0.05*p)/photoSlope*rng.NormFloat64()
				if rng.Float64() < 0.04 { // glare
					y *= 0.6
				}
				return y
			}},
	}
}

// techniques of the side study at one level: what each does to the yield and
// to the scatter.
var techniques = []struct {
	name           string
	yield, scatter float64
}{
	{"by the book", 1, 1},
	{"hasty", 1.04, 1.5},
	{"painstaking", 1, 0.8},
}

// needs of the shed.
func needs() []knownwater.Need {
	return []knownwater.Need{
		{Name: "hold 1.5 to 6", Low: 1.5, High: 6.1, TestsAMonth: 12, MinutesAtMost: 10, MoneyAYear: 120,
			Permitted: []knownwater.Permit{{At: 1.5, Error: 0.8}, {At: 5, Error: 1}, {At: 6, Error: 1.2}}},
		{Name: "spot more than 15", Low: 10, High: 20, NotHeld: true, TestsAMonth: 4,
			Permitted: []knownwater.Permit{{At: 10, Error: 3}, {At: 20, Error: 5}}},
		{Name: "show a rise of 1 at 3", Low: 2, High: 4, NotHeld: true, TestsAMonth: 4,
			Permitted: []knownwater.Permit{{At: 2, Error: 0.5}, {At: 4, Error: 0.5}}},
	}
}
