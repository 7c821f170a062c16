package demo

import (
	"math"

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
	scatter  scatter
	readers  [3]float64 // fixed offsets on the scatter's scale
	session  float64    // sd of a shift of the whole session
}

// readerNames are the three people of the shed.
var readerNames = [3]string{"Ines", "Tomo", "Wren"}

var added = []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}

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

	alderScatter := logScatter{0.3, 0.06, 0.08}
	alderEyes := [3]float64{0.03, -0.06, 0.02}
	dogwoodTrue := func(c float64) float64 {
		return (0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010) - absorbanceZero) / absorbanceSlope
	}
	dogwoodScatter := lineScatter{0.004, 0.03, absorbanceZero, absorbanceSlope}
	return []act{
		{method: alder, dilution: 1, levels: []float64{0, 0.6, 1.5, 3, 6}, blanks: 12, readings: 3,
			response: func(c float64) float64 { return 0.93 * c }, scatter: alderScatter, readers: alderEyes},
		// The sample syringe delivers 0.88 mL for 1: the dilution is 8.955, not 8.
		{method: alder, dilution: 8, levels: []float64{6, 12, 20, 40}, readings: 3,
			response: func(c float64) float64 { return 0.93 * c * 0.8934 / 8 }, scatter: alderScatter, readers: alderEyes},
		{method: birch, dilution: 1, levels: added, blanks: 12, readings: 3,
			response: func(c float64) float64 { return 0.70 + 1.05*c/(1+c/90) },
			scatter:  logScatter{1, 0.07, 0.11}, readers: [3]float64{0.10, -0.16, 0.05}},
		{method: cedar, dilution: 1, levels: added, blanks: 12, readings: 2,
			response: func(c float64) float64 {
				return 2.4 + 0.58*0.25*math.Log1p(math.Exp((c-1.8)/0.25))/(1+c/220)
			}, scatter: lineScatter{0.18, 0.02, 0, 1}},
		{method: dogwood, dilution: 1, levels: []float64{0, 0.6, 1.5, 3, 6, 12}, blanks: 12, readings: 2, response: dogwoodTrue, scatter: dogwoodScatter},
		{method: dogwood, dilution: 8, levels: []float64{6, 12, 20, 40}, readings: 2,
			response: func(c float64) float64 { return dogwoodTrue(c / 8) }, scatter: dogwoodScatter},
		{method: elm, dilution: 1, levels: added, blanks: 12, readings: 2,
			response: func(c float64) float64 { return (0.004 + 0.062*c/(1+c/55) - photoZero) / photoSlope },
			session:  0.03 / photoSlope,
			scatter:  glare{lineScatter{0.012, 0.05, photoZero, photoSlope}, 0.04, 0.6}},
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
