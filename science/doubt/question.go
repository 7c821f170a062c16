package doubt

import (
	"cmp"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Question is a doubt about what was handed in. It is put to the person and
// never answered for them: nothing is corrected or left out.
type Question struct {
	Key       string    `json:"key"`  // by which an answer finds it
	Kind      string    `json:"kind"` // unit, basis, dilution, swap, slip, share, level, range, twice, order, water
	Method    string    `json:"method"`
	Says      note.Note `json:"text_code"`
	HoldsBack bool      `json:"holds_back"` // its answer could overturn a verdict
	At        []Place   `json:"at"`         // the readings that raise it

	Matrix string `json:"-"`
	Mends  []Mend `json:"-"` // the trial if the doubt is right, in each way that it may be; none: no such trial can be made
}

// Mend is a trial put right as a doubt would have it.
type Mend func(knownwater.Trial) knownwater.Trial

// Place is a reading that raises a question: its row in the file, the known
// that it was taken of, and its text.
type Place struct {
	Row     int     `json:"row"`
	Level   float64 `json:"level"`
	Reading string  `json:"reading"`
}

// explanation is a unit, a basis and a dilution under which readings would be
// right that are factor times what they should be.
type explanation struct {
	factor   float64
	scale    unit.Scale // zero: the trial's own
	knowns   bool       // the knowns are on that scale, not the readings
	dilution float64    // 0: none
	forgot   bool       // diluted and not multiplied; else multiplied though not diluted, or twice
}

// note is what an explanation takes for granted.
func (e explanation) note() note.Note {
	var parts []note.Note
	switch {
	case e.scale == unit.Scale{}:
	case e.knowns:
		parts = append(parts, note.New("knowns-in-unit").Name("unit", e.scale.String()))
	default:
		parts = append(parts, note.New("readings-in-unit").Name("unit", e.scale.String()))
	}
	switch {
	case e.dilution == 0:
	case e.forgot:
		parts = append(parts, note.New("not-multiplied").Number("dilution", e.dilution))
	default:
		parts = append(parts, note.New("multiplied-too-often").Number("dilution", e.dilution))
	}
	if len(parts) == 1 {
		return parts[0]
	}
	return note.New("both").Since(parts...)
}

// kind is what an explanation is about.
func (e explanation) kind(here unit.Scale) string {
	switch {
	case e.scale == unit.Scale{}:
		return OfDilution
	case e.scale.Unit == here.Unit:
		return OfBasis
	}
	return OfUnit
}

// The kinds of questions.
const (
	OfUnit     = "unit"
	OfBasis    = "basis"
	OfDilution = "dilution"
	OfSwap     = "swap"
	OfSlip     = "slip"
	OfShare    = "share"
	OfLevel    = "level"
	OfRange    = "range"
	OfTwice    = "twice"
	OfOrder    = "order"
	OfWater    = "water"
)

// mostPlaces bounds the rows that a question names.
const mostPlaces = 200

// which tells a reading from all others that are not alike in everything.
type which struct {
	method, matrix, text, technique, session, reader, lot, vial string
	level, dilution                                             float64
	row                                                         int
}

func whichOf(o knownwater.Observation) which {
	return which{o.Method, o.Matrix, o.Text, o.Technique, o.Session, o.Reader, o.Lot, o.Vial, o.Level, o.Dilution, o.Row}
}

// PlacesOf lists the rows of readings, rising.
func PlacesOf(obs []knownwater.Observation) []Place {
	places := []Place{}
	for _, o := range obs {
		places = append(places, Place{o.Row, o.Level, o.Text})
		for _, r := range o.Also {
			places = append(places, Place{r, o.Level, o.Text})
		}
	}
	slices.SortStableFunc(places, func(a, b Place) int { return cmp.Compare(a.Row, b.Row) })
	return places[:min(len(places), mostPlaces)]
}
