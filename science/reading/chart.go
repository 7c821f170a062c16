package reading

import (
	"math"
	"strings"

	"knownwater"
	"knownwater/science/interval"
)

// Tile is one answer that a chart can give.
type Tile struct {
	Text string // in the notation
	Seen interval.Interval
}

// Tiles lists every answer of a chart with swatches s0 < s1 < … < sk, rising:
// s0, s0..s1, s1, … sk, >sk. They cover the axis without gap or overlap:
//
//   - "at" si reaches at_share of the gap to each neighbour;
//   - "between" is what remains of the gap: nothing for at_share 0.5, and then
//     it is no tile of its own;
//   - "at" s0 is open below; "at" sk reaches at_share of the last gap upwards;
//   - ">sk" is open above from there.
//
// The texts are what the method itself shows, whatever scale m stands on. A
// method of another kind has no tiles.
func Tiles(m knownwater.Method) []Tile {
	if f := Factor(m); f != 1 {
		tiles := Tiles(Own(m))
		for i := range tiles {
			tiles[i].Seen = tiles[i].Seen.Scale(f)
		}
		return tiles
	}
	if Of(m.Kind).Pad.Form != PadTiles || len(m.Swatches) < 2 {
		return nil
	}
	return chartTiles(m)
}

// chartTiles are the tiles of a chart on its own scale.
func chartTiles(m knownwater.Method) []Tile {
	s := m.Swatches
	var tiles []Tile
	for i, v := range s {
		tiles = append(tiles, Tile{Format(v), at(m, i)})
		if i+1 == len(s) {
			break
		}
		if b := between(m, i); b.Low < b.High {
			tiles = append(tiles, Tile{Format(v) + ".." + Format(s[i+1]), b})
		}
	}
	last := len(s) - 1
	return append(tiles, Tile{">" + Format(s[last]), interval.Above(at(m, last).High)})
}

// AtShare is the share of each gap that "at a swatch" takes.
func AtShare(m knownwater.Method) float64 {
	if m.AtShare > 0 {
		return m.AtShare
	}
	return knownwater.DefaultAtShare
}

// at is the tile of swatch i.
func at(m knownwater.Method, i int) interval.Interval {
	s := m.Swatches
	low := math.Inf(-1)
	if i > 0 {
		low = between(m, i-1).High
	}
	if i < len(s)-1 {
		return interval.Interval{Low: low, High: between(m, i).Low}
	}
	return interval.Interval{Low: low, High: s[i] + AtShare(m)*(s[i]-s[i-1])}
}

// between is the tile between swatches i and i+1. Both tiles beside it take
// their ends from here, so that neighbours meet in the very same number.
func between(m knownwater.Method, i int) interval.Interval {
	a, b := m.Swatches[i], m.Swatches[i+1]
	reach := AtShare(m) * (b - a)
	low, high := a+reach, b-reach
	if low > high { // at_share 0.5, rounded
		low = high
	}
	return interval.Interval{Low: low, High: high}
}

func (t Typed) onChart(m knownwater.Method) (interval.Interval, error) {
	if len(m.Swatches) < 2 {
		return interval.Interval{}, fault("method %s has fewer than two swatches", "swatches, rising", Quote(m.Name))
	}
	i, okLow := swatch(m, t.Low)
	j, okHigh := swatch(m, t.High)
	if !okLow || !okHigh {
		return interval.Interval{}, offChart(t, m)
	}
	switch t.Form {
	case Under:
		if i == 0 { // "at s0" is open below already: this is its lower part
			return interval.Below(m.Swatches[0]), nil
		}
		return interval.Below(at(m, i).Low), nil
	case Over:
		return interval.Above(at(m, i).High), nil
	case Range:
		if j == i+1 {
			return between(m, i), nil
		}
		return interval.Interval{Low: m.Swatches[i], High: m.Swatches[j]}, nil
	}
	return at(m, i), nil
}

// swatch finds the swatch that carries the number v, give or take rounding.
func swatch(m knownwater.Method, v float64) (int, bool) {
	for i, s := range m.Swatches {
		if math.Abs(v-s) <= 1e-9*math.Abs(s) {
			return i, true
		}
	}
	return 0, false
}

func offChart(t Typed, m knownwater.Method) error {
	list := make([]string, len(m.Swatches))
	for i, s := range m.Swatches {
		list[i] = Format(s)
	}
	what := " is no swatch of "
	if t.Form == Range {
		what = " is not between swatches of "
	}
	return fault("%s%s%s", "its swatches are %s", Quote(t.String()), what, m.Name, strings.Join(list, ", "))
}
