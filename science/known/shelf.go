package known

import (
	"knownwater/science/unit"
)

// Shelf is everything that standards can be made from and with.
type Shelf struct {
	Scale   unit.Scale // of levels and of the background
	Room    Room
	Matrix  Matrix
	Stocks  []Stock
	Devices []Device
	Limits  Limits
}

// Room is where the work is done.
type Room struct {
	Temperature float64 // °C
	// Within is how far any liquid may be from it: ± limits, °C. Each measured
	// volume has this error on its own, which is cautious: liquids that stand
	// in one room are warm or cold together, and part of it would cancel.
	Within float64
	// Expansion is the relative change of a volume of liquid per °C; 0: from the
	// density of the matrix. Glass expands a tenth as much and is left out.
	Expansion float64
}

// Matrix is the salt water that everything is made up with.
type Matrix struct {
	Name       string
	Salinity   float64 // practical salinity; 0 is pure water
	Background float64 // what it holds of the analyte, on the shelf's scale
	U          float64 // its standard uncertainty
	How        string  // how the background is known: standard addition, laboratory, guess
}

// Limits are what a plan must keep to.
type Limits struct {
	Volume        float64 // mL of each standard at least
	LevelWithin   float64 // how far a standard may be from the level asked for, as a share
	SalinityCut   float64 // largest share of salinity lost
	Smallest      float64 // smallest volume worth measuring by pipette, mL
	Deliveries    int     // of one device into one solution at most
	Intermediates int     // solutions between stock and standards at most: 0, 1 or 2
	Steps         int     // measurements in all at most; 0: not limited
	MatrixLeft    float64 // mL of salt water there is; 0: not limited
	// Added: levels are what is added to the matrix, its background comes on
	// top. Otherwise levels are total concentrations.
	Added bool
}

// DefaultLimits are limits for hand work; common practice, no source.
var DefaultLimits = Limits{
	Volume: 100, LevelWithin: 0.02, SalinityCut: 0.02, Smallest: 0.2, Deliveries: 3, Intermediates: 1,
}

// water is the matrix as sea water at room temperature.
func (s Shelf) water() unit.Water {
	return unit.Water{Salinity: s.Matrix.Salinity, Temperature: s.Room.Temperature}
}

// base is the scale that all work inside is done on: mg/L of the shelf's basis.
func (s Shelf) base() unit.Scale {
	basis := s.Scale.Basis
	if basis == "" {
		basis = unit.Bases(s.Scale.Analyte)[0]
	}
	return unit.Scale{Analyte: s.Scale.Analyte, Unit: "mg/L", Basis: basis}
}

// toBase is the factor from the shelf's scale to the base scale in the matrix.
// The shelf has been checked, so it exists.
func (s Shelf) toBase() float64 {
	f, _ := unit.Factor(s.Scale, s.base(), s.water())
	return f
}

// expansion is the relative change of a volume of the matrix per °C, from its
// density half a degree to each side.
func (s Shelf) expansion() float64 {
	if s.Room.Expansion > 0 {
		return s.Room.Expansion
	}
	w := s.water()
	warm, cool := w, w
	warm.Temperature += 0.5
	cool.Temperature -= 0.5
	return (cool.Density() - warm.Density()) / w.Density()
}

// device finds a device by name; nil if there is none.
func (s Shelf) device(name string) *Device {
	for i := range s.Devices {
		if s.Devices[i].Name == name {
			return &s.Devices[i]
		}
	}
	return nil
}

// stock finds a stock by name; nil if there is none.
func (s Shelf) stock(name string) *Stock {
	for i := range s.Stocks {
		if s.Stocks[i].Name == name {
			return &s.Stocks[i]
		}
	}
	return nil
}
