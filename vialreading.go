package knownwater

import "knownwater/science/unit"

// MethodReadings are what one method showed in a finished trial, reading by
// reading, on the method's own scale: what a curve is fitted to.
type MethodReadings struct {
	Trial    string // its title
	Method   string
	Kind     Kind
	Scale    unit.Scale // of the levels
	Knowns   []LevelTried
	Readings []VialReading
}

// LevelTried is a known of a trial.
type LevelTried struct {
	Level       float64
	U           float64
	UShared     float64 // the part that all levels share
	UBackground float64 // … and that of their water's background
	Matrix      string
	Blank       bool
}

// VialReading is one reading of a vial with what the vial held.
type VialReading struct {
	Vial     int64
	Code     string
	Session  int
	Dilution float64
	Level    float64
	ULevel   float64
	Text     string
	Lot      string
	LeftOut  bool // of the findings
}
