package calibrations

import (
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/curve"
)

// Recheck is a blank and knowns tested again, to see whether a version of a
// curve still holds: what was seen, and the change of slope that is of no account.
type Recheck struct {
	Blank  []float64      `json:"blank"` // as the instrument gave them, as all signals here
	Knowns []RecheckKnown `json:"knowns"`
	Margin float64        `json:"margin"` // relative
}

// RecheckKnown is a known with its signals.
type RecheckKnown struct {
	Level   float64   `json:"level"`
	ULevel  float64   `json:"u_level,omitempty"`
	Signals []float64 `json:"signals"`
}

// mostRecheck bounds the knowns of a re-check, and the signals of each.
const mostRecheck = 50

// Against says what a re-check tells of a curve. Faults name the columns "blank",
// "margin", and "level", "u" and "signals" with the known as row.
func (r Recheck) Against(d curve.Document) (curve.Recheck, error) {
	dilution := RecheckDilution(d)
	if fs := r.check(d.Range.LevelHigh * dilution); len(fs) > 0 {
		return curve.Recheck{}, fs
	}
	var fs knownwater.Faults
	converted := func(column string, row int, signals []float64) (out []float64) {
		for _, v := range signals {
			y, f := d.Conversion.Of(v)
			if f != nil {
				f.Column, f.Row = column, row
				fs = append(fs, *f)
			}
			out = append(out, y)
		}
		return out
	}
	blank := converted("blank", 0, r.Blank)
	var knowns []curve.Retest
	for i, k := range r.Knowns {
		signals := converted("signals", i+1, k.Signals)
		at := sameLevel(knowns, k.Level/dilution)
		if at < 0 {
			at, knowns = len(knowns), append(knowns, curve.Retest{Level: k.Level / dilution})
		}
		knowns[at].Signals = append(knowns[at].Signals, signals...)
		knowns[at].ULevel = math.Max(knowns[at].ULevel, k.ULevel/dilution)
	}
	if len(fs) > 0 {
		return curve.Recheck{}, fs
	}
	return d.TwoPoint(blank, knowns, r.Margin)
}

// sameLevel is where a level stands already: its vials are tests of one known.
func sameLevel(knowns []curve.Retest, level float64) int {
	for i, k := range knowns {
		if k.Level == level {
			return i
		}
	}
	return -1
}

// RecheckDilution is how a curve's knowns were diluted before they were measured, and
// those of its re-check must be; of a curve of several dilutions, its first.
func RecheckDilution(d curve.Document) float64 {
	switch {
	case len(d.Segments) > 0:
		return d.Segments[0].Dilution
	case len(d.Points) > 0:
		return d.Points[0].Dilution
	}
	return 1
}

// check says what no re-check can be; top is the highest level of the curve.
func (r Recheck) check(top float64) (fs knownwater.Faults) {
	wrong := func(column string, row int, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Row: row, Found: found, Want: want}.Of(values...))
	}
	signals := func(column string, row int, list []float64) {
		switch {
		case len(list) == 0:
			wrong(column, row, "no signal", "what the instrument gave; several with spaces between")
		case len(list) > mostRecheck:
			wrong(column, row, "%d signals", "at most %d", len(list), mostRecheck)
		case !finiteAll(list...):
			wrong(column, row, "a signal that is no number", "numbers")
		}
	}
	signals("blank", 0, r.Blank)
	if !(r.Margin > 0 && r.Margin < 1) {
		wrong("margin", 0, fmt.Sprintf("%.4g %%", 100*r.Margin), "above 0 and below 100 %, such as 5")
	}
	if len(r.Knowns) == 0 {
		wrong("level", 1, "no known", "a known in the middle of the range, and better a second near the top")
	}
	if len(r.Knowns) > mostRecheck {
		wrong("level", 1, "%d knowns", "at most %d", len(r.Knowns), mostRecheck)
		return fs
	}
	for i, k := range r.Knowns {
		if !(k.Level > 0 && k.Level <= top) {
			wrong("level", i+1, "a known of %.4g", "a level above 0 and up to %.4g, where the curve ends", k.Level, top)
		}
		if !(k.ULevel >= 0 && k.ULevel <= k.Level) {
			wrong("u", i+1, fmt.Sprintf("± %.4g", k.ULevel), "a standard uncertainty from 0 up, smaller than the level")
		}
		signals("signals", i+1, k.Signals)
	}
	return fs
}
