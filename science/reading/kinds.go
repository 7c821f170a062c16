package reading

import (
	"math"
	"strings"

	"knownwater"
	"knownwater/science/interval"
)

// Kind is everything that the house knows of one kind of method. Whoever needs
// to know how a method behaves looks here; nobody else tells kinds apart
// (internal/house holds that), so that a new kind is one entry of the table,
// with the functions that it needs.
type Kind struct {
	Kind  knownwater.Kind
	Says  string   // what it is, for somebody who chooses
	Shown string   // how it shows its answer, in a report
	Keys  []string // the keys of methods.toml, and the fields of a form, that it has beside those of every kind
	Pad   Pad

	Signal      bool   // its numbers are a signal, which only a curve or a record turns into a concentration
	Curve       string // what a curve calls its readings: absorbance, display, other (curve.Signal)
	Number      bool   // it shows plain numbers, which a curve may take as its signals
	ByEye       bool   // people read it differently
	Coarse      bool   // its steps are wide beside its scatter
	FromNothing bool   // a mean reading below zero has no meaning
	Counts      bool   // a whole number counts drops
	Guess       Guess  // how it scatters, before anything is known

	on       func(Typed, knownwater.Method) (interval.Interval, error)
	show     func(y float64, m knownwater.Method) string
	answers  func(m knownwater.Method, upTo float64) []Answer // nil: it shows steps, without end
	bounds   func(knownwater.Method) interval.Interval
	midpoint func(Typed, knownwater.Method) float64
	finest   func(knownwater.Method) float64
	check    func(m knownwater.Method, wrong wrong)
}

// Pad is how a reading of the kind is entered: on tiles for each answer, by
// counting, or in digits.
type Pad struct {
	Form   string // PadTiles, PadCount, PadDigits
	How    string // what to mind at the vial
	Prompt string // before the digits
	Signed bool   // digits with a sign
}

// The forms of pads.
const (
	PadTiles  = "tiles"
	PadCount  = "count"
	PadDigits = "digits"
)

// Guess is how a method of which nothing is known scatters: common practice, no
// source (charts: the invented scatters of 0.10 to 0.13 on a logarithmic scale
// that the demo uses).
type Guess struct {
	Steps                 float64 // scatter near zero, in finest steps
	Kappa                 float64 // and as a share of the reading
	Reader, Session, Vial float64 // shares of the spread
}

// Answer is what a method can show: what it means, and the value that a person
// takes it for.
type Answer struct {
	Seen  interval.Interval
	Value float64
}

// kinds is the table, in the order in which people choose.
var kinds = []Kind{
	{
		Kind: knownwater.Chart, Says: "a colour matched by eye to swatches", Shown: "colour chart, read by eye",
		Keys:  []string{"swatches", "at_share"},
		Pad:   Pad{Form: PadTiles, How: "Match on the card, not here."},
		Curve: "other", ByEye: true, Coarse: true, FromNothing: true,
		Guess: Guess{Steps: 1. / 4, Kappa: 0.12, Reader: 0.5, Session: 0.2, Vial: 0.5},
		on:    Typed.onChart, show: showChart, answers: chartAnswers, bounds: chartBounds, midpoint: Typed.middle,
		finest: firstGap, check: checkChart,
	},
	number(Kind{Kind: knownwater.Display, Says: "a number shown by an instrument", Shown: "number on a display",
		Pad: Pad{Prompt: "it shows"}, Curve: "display", Guess: Guess{Steps: 2, Kappa: 0.03, Reader: 0.1, Session: 0.2, Vial: 0.3}}),
	{
		Kind: knownwater.Drops, Says: "a count of drops to the turn", Shown: "drop count",
		Keys:  []string{"drop_value"},
		Pad:   Pad{Form: PadCount, How: "Swirl after each drop; count to the turn."},
		Curve: "other", FromNothing: true, Counts: true,
		Guess: Guess{Steps: 1. / 3, Kappa: 0.03, Reader: 0.3, Session: 0.2, Vial: 0.3},
		on:    Typed.onDrops, show: showDrops, answers: dropAnswers, midpoint: Typed.middleDrop,
		bounds: func(knownwater.Method) interval.Interval { return interval.Above(0) },
		finest: func(m knownwater.Method) float64 { return m.DropValue }, check: checkDrops,
	},
	number(Kind{Kind: knownwater.Absorbance, Says: "a signal that a curve turns into a concentration", Shown: "absorbance through a curve",
		Pad: Pad{Prompt: "signal", Signed: true}, Signal: true, Curve: "absorbance", Guess: Guess{Steps: 2, Kappa: 0.03, Reader: 0.1, Session: 0.2, Vial: 0.3}}),
	number(Kind{Kind: knownwater.Photo, Says: "a number read from a picture", Shown: "read from a photo",
		Pad: Pad{Prompt: "signal", Signed: true}, Signal: true, Curve: "other", Guess: Guess{Steps: 2, Kappa: 0.06, Reader: 0.1, Session: 0.3, Vial: 0.3}}),
}

// number fills in what all kinds have in common that show a number.
func number(k Kind) Kind {
	k.Number = true
	k.Keys = []string{"resolution", "range"}
	k.Pad.Form = PadDigits
	k.on = func(t Typed, m knownwater.Method) (interval.Interval, error) { return t.onDisplay(m), nil }
	k.show, k.bounds, k.midpoint = showNumber, numberBounds, Typed.middle
	k.finest = func(m knownwater.Method) float64 { return m.Resolution }
	k.check = func(knownwater.Method, wrong) {}
	return k
}

// Kinds are all kinds, in the order in which people choose.
func Kinds() []Kind { return append([]Kind(nil), kinds...) }

// Of is what is known of a kind. Of a word that is no kind it is a Kind of no
// name, which behaves as a display does.
func Of(k knownwater.Kind) Kind {
	for _, t := range kinds {
		if t.Kind == k {
			return t
		}
	}
	return number(Kind{})
}

// Has says whether the kind has a key of methods.toml beside those of every kind.
func (k Kind) Has(key string) bool {
	for _, have := range k.Keys {
		if have == key {
			return true
		}
	}
	return false
}

// kindNames are the kinds as a fault lists them.
func kindNames() string {
	var names []string
	for _, k := range kinds {
		names = append(names, string(k.Kind))
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// Answers are all that the method can show for means up to a number, on the
// scale that it stands on; nil for one that shows a number in steps.
func Answers(m knownwater.Method, upTo float64) []Answer {
	k := Of(m.Kind)
	if k.answers == nil {
		return nil
	}
	f := Factor(m)
	answers := k.answers(Own(m), upTo/f)
	if f != 1 {
		for i := range answers {
			answers[i] = Answer{answers[i].Seen.Scale(f), answers[i].Value * f}
		}
	}
	return answers
}

// Bounds are where the mean reading of a method can lie at all: a chart's colour
// or a drop count cannot be less than none, a chart says nothing far beyond its
// last swatch, a display nothing beyond its range.
func Bounds(m knownwater.Method) interval.Interval { return Of(m.Kind).bounds(m) }

// Finest is the smallest step that a method shows near zero; where nothing is
// stated, a hundredth of its own unit.
func Finest(m knownwater.Method) float64 {
	if step := Of(m.Kind).finest(m); step > 0 {
		return step
	}
	return 0.01 * Factor(m)
}

// everything is where a mean lies of which nothing is known.
var everything = interval.Interval{Low: math.Inf(-1), High: math.Inf(1)}

func firstGap(m knownwater.Method) float64 {
	if len(m.Swatches) < 2 {
		return 0
	}
	return m.Swatches[1] - m.Swatches[0]
}

func numberBounds(m knownwater.Method) interval.Interval {
	if m.Range != nil {
		return *m.Range
	}
	return everything
}

func chartBounds(m knownwater.Method) interval.Interval {
	tiles := chartTiles(m)
	last := len(m.Swatches) - 1
	gap := m.Swatches[last] - m.Swatches[last-1]
	return interval.Interval{Low: 0, High: tiles[len(tiles)-1].Seen.Low + 2*gap}
}
