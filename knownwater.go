// Package knownwater holds the nouns of the bench: what a method, a reading,
// a need and a trial are, and the rules each of them must keep by itself.
// It does no input or output and knows no storage, page or command.
package knownwater

import (
	"fmt"
	"iter"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Kind is how a method shows its answer. It matters once, when what was seen
// becomes an interval, and on the screens where a reading is entered.
type Kind string

// The five kinds.
const (
	Chart      Kind = "chart"      // a colour matched by eye to swatches
	Display    Kind = "display"    // a number shown by an instrument
	Drops      Kind = "drops"      // a count of drops to the end point
	Absorbance Kind = "absorbance" // a signal that a curve turns into a concentration
	Photo      Kind = "photo"      // a number read from a picture
)

// Method is a way to turn a sample into readings.
type Method struct {
	Name     string
	Kind     Kind
	Swatches []float64 // chart: rising, in the trial's scale
	AtShare  float64   // chart: "at" a swatch reaches this share of each neighbouring gap
	// Resolution is one step of the last digit (display, absorbance, photo), in
	// the trial's scale. 0 means: the finest decimal seen.
	Resolution float64
	DropValue  float64            // drops: concentration that one drop stands for
	Range      *interval.Interval // display: at and beyond its ends readings are open

	// Own is the scale on which the method itself shows its numbers, where that
	// is stated, and Factor what they are multiplied by to stand on the trial's;
	// 0 is 1. The numbers here stand on the trial's scale, texts of readings on
	// the method's own.
	Own    unit.Scale
	Factor float64

	DilutionOver, DilutionFactor float64 // above this reading the procedure dilutes by this factor
	PackPrice, RefillPrice       float64
	PackTests, RefillTests       int
	Minutes, HandsOnMinutes      float64
	ShelfMonths                  float64 // an opened pack or refill is good for; 0: not said
	RefillMonths                 float64 // a refill, where that is another time; 0: as ShelfMonths
	DevicePrice, DeviceYears     float64 // of the instrument, and how long it is expected to serve
	WasteML                      float64 // that a test leaves to be collected; 0: not said
	Hazards                      []string
}

// DefaultAtShare is how far "at a swatch" reaches into each neighbouring gap
// unless the method says otherwise.
const DefaultAtShare = 0.25

// Observation is one reading, or several that are alike in everything that is
// analysed (Count). Numbers are in the trial's scale; Seen is on the method's
// own scale, before the dilution multiplies it.
type Observation struct {
	Method      string
	Level       float64 // concentration of the known
	ULevel      float64 // its standard uncertainty (k = 1)
	UShared     float64 // the part of ULevel that all levels share (their stock), signed with the level; 0 if not known
	UBackground float64 // another part that they share, an error of its own: the background of the water that they were made up with
	Text        string  // the reading as it was typed
	Seen        interval.Interval
	Dilution    float64 // 1 where undiluted
	UDilution   float64 // relative standard uncertainty of Dilution

	Technique, Session, Reader, Lot, Vial, Matrix string

	Count int
	Row   int   // row of the file (1 is the header) where it first stood
	Also  []int // the next rows alike, MostAlso of them at most
}

// PartsRounded is how many times ULevel the shared parts may be together: what rounding to two digits makes of parts that are
// all of it. Their error then counts as stated, and nothing is each known's own.
const PartsRounded = 1.05

// MostAlso bounds how many rows alike are remembered beside the first.
const MostAlso = 20

// On is what was seen as a concentration in the sample: Seen times the dilution.
func (o Observation) On() interval.Interval { return o.Seen.Scale(o.Dilution) }

// VialKey names a vial: a code used again at another level or under another
// technique is another vial. Empty where none was noted.
func (o Observation) VialKey() string {
	if o.Vial == "" {
		return ""
	}
	return fmt.Sprintf("%s\x00%v\x00%s", o.Vial, o.Level, o.Technique)
}

// Need is what a user requires of single results.
type Need struct {
	Name          string
	Low, High     float64
	Permitted     []Permit // rising in At; straight line between, flat outside
	TestsAMonth   float64
	MinutesAtMost float64
	MoneyAYear    float64
	// Sure is how sure somebody wants to be that a result lies inside, below or above
	// before acting on it; 0: 95 %.
	Sure float64
	// Change is the change of a water that matters; 0: nobody says.
	Change float64 `json:",omitempty"`
	// NotHeld says that low to high is where something is to be seen (a rise, a trace, more than
	// so much, a difference), and no range to hold a water in.
	NotHeld bool `json:",omitempty"`
	// Analyte is what it is a need of, with the unit behind it where a bench has several of one analyte; empty: of
	// whatever it is asked of.
	Analyte string `json:",omitempty"`

	// What whoever tests can and will do.
	Readers      int      // people who read; 0: not said
	NoColours    bool     // one of them cannot tell colours apart
	WasteMLAYear float64  // that they will collect; 0: any
	Hazards      []string // classes that they accept, where OnlyHazards; else any
	OnlyHazards  bool

	// What a wrong call costs: a water taken for right that lies below or above, and a
	// right one that is acted on. Usual is where the water lies as a rule, both 0: not said.
	WrongBelow, WrongAbove, FalseAlarm float64
	Usual                              [2]float64
}

// Permit is the largest error that a single result may have at a concentration,
// 95 times in 100.
type Permit struct{ At, Error float64 }

// PermittedAt is the permitted error at concentration c: the straight line
// between the two neighbouring points, the nearest point outside them.
func (n Need) PermittedAt(c float64) float64 {
	p := n.Permitted
	if len(p) == 0 {
		return 0
	}
	if c <= p[0].At {
		return p[0].Error
	}
	for i := 1; i < len(p); i++ {
		if c <= p[i].At {
			t := (c - p[i-1].At) / (p[i].At - p[i-1].At)
			return p[i-1].Error + t*(p[i].Error-p[i-1].Error)
		}
	}
	return p[len(p)-1].Error
}

// Times is the need with every concentration multiplied by k, as on another scale.
func (n Need) Times(k float64) Need {
	n.Low, n.High, n.Change = n.Low*k, n.High*k, n.Change*k
	n.Permitted = slices.Clone(n.Permitted)
	for i, p := range n.Permitted {
		n.Permitted[i] = Permit{p.At * k, p.Error * k}
	}
	n.Usual = [2]float64{n.Usual[0] * k, n.Usual[1] * k}
	return n
}

// Trial is everything that an assessment needs: methods judged against knowns.
type Trial struct {
	Scale        unit.Scale
	Water        unit.Water // for mg/L against mg/kg
	WaterStated  bool       // a person gave Water's salinity and temperature; else they are defaults
	Methods      []Method   // in the order of the methods file, else of first appearance
	Needs        []Need
	Observations []Observation
	Nitrite      []WithNitrite // readings of knowns that hold nitrite, which are none of Observations
	Answers      []Answer      // to questions about the readings
	InOrder      []string      // methods whose knowns were read in the order of their levels, or nearly so
	Notes        []note.Note   // doubts that arose on reading the files, printed with the findings
}

// WithNitrite is a reading of a known of nitrate that holds a known amount of nitrite, in mg/L NO2,
// with its standard uncertainty.
type WithNitrite struct {
	Observation
	Nitrite, UNitrite float64
}

// MostNitrite is beyond any water, mg/L NO2.
const MostNitrite = 1e3

// Every is every reading with what nitrite its known held, those without any first, in their order.
func (t Trial) Every() iter.Seq[WithNitrite] {
	return func(yield func(WithNitrite) bool) {
		for _, o := range t.Observations {
			if !yield(WithNitrite{Observation: o}) {
				return
			}
		}
		for _, o := range t.Nitrite {
			if !yield(o) {
				return
			}
		}
	}
}

// Called is the trial with one of its methods under another name.
func (t Trial) Called(method, name string) Trial {
	t.Methods, t.Observations, t.Nitrite = slices.Clone(t.Methods), slices.Clone(t.Observations), slices.Clone(t.Nitrite)
	for i := range t.Methods {
		if t.Methods[i].Name == method {
			t.Methods[i].Name = name
		}
	}
	if i := slices.Index(t.InOrder, method); i >= 0 {
		t.InOrder = slices.Clone(t.InOrder)
		t.InOrder[i] = name
	}
	for i := range t.Observations {
		if t.Observations[i].Method == method {
			t.Observations[i].Method = name
		}
	}
	for i := range t.Nitrite {
		if t.Nitrite[i].Method == method {
			t.Nitrite[i].Method = name
		}
	}
	return t
}

// Fault is something in a person's input that stops the work: where it stands,
// what was found, and what would be right.
type Fault struct {
	File   string
	Row    int // 1 is the first line; 0 where no row is to blame
	Column string
	Found  string
	Want   string

	found, want placed // the two without the values that Of put in
}
