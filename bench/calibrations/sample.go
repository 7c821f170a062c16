package calibrations

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// NewResult is a reading of a water to be turned round through a version of a
// curve or of a record, as it was typed.
type NewResult struct {
	Key       string   // made once for this result, as that of a reading
	Version   int64    // VersionID of the curve; 0: by a record
	Record    int64    // VersionID of the record; 0: by a curve
	Water     string   // its name
	Signals   string   // as the instrument gave them, with spaces between; for a record readings in notation
	OwnColour string   // those of the same water without the reagent; empty: its colour was not looked at
	Clear     string   // … and of clear water; empty: the zero was set with it
	Dilution  float64  // 0: none
	UDilution float64  // relative standard uncertainty
	ULot      float64  // relative standard uncertainty between the lot in use and the curve's
	Reader    string   // who read, for a record (see Readers); empty: nobody is named
	Lot       string   // likewise
	Nitrite   *float64 // of the water, mg/L NO2: a record that knows what its method makes of it takes that off; nil: nobody says
	UNitrite  float64  // its standard uncertainty
	TakenAt   time.Time
	Note      string
	Program   string
	Of        *knownwater.Sample // what it is a reading of; nil: nothing is said but the water's name
}

// Sample are the signals understood, or all that is wrong with them.
func (n NewResult) Sample() (curve.Sample, knownwater.Faults) {
	var fs knownwater.Faults
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	s := curve.Sample{Dilution: n.Dilution, UDilution: n.UDilution, ULot: n.ULot}
	if s.Dilution == 0 {
		s.Dilution = 1
	}
	numbers := func(column, typed string) (out []float64) {
		for _, text := range strings.Fields(strings.ReplaceAll(typed, ";", " ")) {
			v, _, err := reading.Number(strings.Replace(text, ",", ".", 1))
			if err != nil {
				wrong(column, "“%.40s” is no number", "signals with spaces between: 0.273 0.275", text)
				continue
			}
			out = append(out, v)
		}
		if len(out) > mostSignals {
			wrong(column, "%d signals", "at most %d of one water", len(out), mostSignals)
		}
		return out
	}
	s.Signals = numbers("signals", n.Signals)
	if len(s.Signals) == 0 && len(fs) == 0 {
		wrong("signals", "no signal", "what the instrument gave")
	}
	s.Own, s.Clear = numbers("own_colour", n.OwnColour), numbers("clear", n.Clear)
	if !(s.Dilution > 0 && s.Dilution <= 1e6) {
		wrong("dilution", fmt.Sprintf("%g", n.Dilution), "a factor above 0, such as 8 for 1 part in 8")
	}
	if !(s.UDilution >= 0 && s.UDilution < 1) {
		wrong("u_dilution", fmt.Sprintf("%g %%", 100*s.UDilution), "from 0 to below 100 %")
	}
	if !(s.ULot >= 0 && s.ULot < 1) {
		wrong("u_lot", fmt.Sprintf("%g %%", 100*s.ULot), "from 0 to below 100 %")
	}
	return s, fs
}

// mostSignals are replicates of one water.
const mostSignals = 100

// tidied is what was typed as it is kept, its signals understood, or all its faults.
func (n NewResult) tidied(now time.Time) (NewResult, curve.Sample, error) {
	s, fs := n.Sample()
	n.Reader, n.Lot, n.Nitrite, n.UNitrite = "", "", nil, 0
	n, fs = n.tidy(now, fs)
	return n, s, store.OrNil(fs)
}

// tidiedReadings is tidied for a record, which understands the readings itself.
func (n NewResult) tidiedReadings(now time.Time) (NewResult, error) {
	n.OwnColour, n.Clear, n.ULot = "", "", 0
	if n.Dilution == 0 {
		n.Dilution = 1
	}
	fs := slices.Concat(readingFaults(n.Signals), n.dilutionFaults(), n.nitriteFaults())
	store.Line(&fs, "reader", &n.Reader, false)
	q := result.Question{Readings: readingsOf(n.Signals)}
	if f := (knownwater.Fault{}); strings.Contains(n.Reader, between) && errors.As(q.ReadBy(Readers(n.Reader)), &f) {
		f.Want += ", with semicolons between"
		fs = append(fs, f)
	}
	store.Line(&fs, "lot", &n.Lot, false)
	n, fs = n.tidy(now, fs)
	return n, store.OrNil(fs)
}

func (n NewResult) tidy(now time.Time, fs knownwater.Faults) (NewResult, knownwater.Faults) {
	store.Line(&fs, "water", &n.Water, true)
	store.Line(&fs, "signals", &n.Signals, false)
	store.Lines(&fs, "note", &n.Note)
	store.Line(&fs, "program", &n.Program, false)
	if err := store.CheckKey(n.Key); err != nil {
		fs = append(fs, err.(knownwater.Faults)...)
	}
	if n.TakenAt.IsZero() {
		n.TakenAt = now
	}
	if n.TakenAt.After(now.Add(ahead)) {
		fs = append(fs, knownwater.Fault{Column: "taken_at", Found: "a time to come", Want: "when the water was tested; empty: now"})
	}
	if n.Of != nil && n.Of.SampledAt != nil && n.Of.SampledAt.After(n.TakenAt) {
		fs = append(fs, knownwater.Fault{Column: "sampled_at", Found: "a time after the test", Want: "when the sample was taken from its water; empty: not said"})
	}
	return n, fs
}

// dilutionFaults are what no dilution can be.
func (n NewResult) dilutionFaults() (fs knownwater.Faults) {
	if n.Dilution != 0 && !(n.Dilution > 0 && n.Dilution <= 1e6) {
		fs = append(fs, knownwater.Fault{Column: "dilution", Found: fmt.Sprintf("%g", n.Dilution), Want: "a factor above 0, such as 8 for 1 part in 8"})
	}
	if !(n.UDilution >= 0 && n.UDilution < 1) {
		fs = append(fs, knownwater.Fault{Column: "u_dilution", Found: fmt.Sprintf("%g %%", 100*n.UDilution), Want: "from 0 to below 100 %"})
	}
	return fs
}

// nitriteFaults are what no nitrite of a water can be.
func (n NewResult) nitriteFaults() (fs knownwater.Faults) {
	if n.Nitrite != nil && !(*n.Nitrite >= 0 && *n.Nitrite <= knownwater.MostNitrite) {
		fs = append(fs, knownwater.Fault{Column: "nitrite", Found: fmt.Sprintf("%g", *n.Nitrite), Want: "mg/L NO2, from 0 up; empty: nobody measured it"})
	}
	if n.Nitrite == nil && n.UNitrite != 0 || !(n.UNitrite >= 0 && n.UNitrite <= knownwater.MostNitrite) {
		fs = append(fs, knownwater.Fault{Column: "u_nitrite", Found: fmt.Sprintf("%g", n.UNitrite), Want: "the standard uncertainty of the nitrite beside it, mg/L"})
	}
	return fs
}

// ahead is how far another clock may be before ours.
const ahead = 10 * time.Minute

// digest is of what makes this result this result. When it was taken is left
// out: sent again without it, that would be another time.
func (r resultRow) digest() string {
	of := ""
	if r.Of != nil { // else as it always was
		of, _ = store.ToJSON(*r.Of)
	}
	if r.Nitrite != nil {
		of += fmt.Sprintf("|nitrite %g|%g", *r.Nitrite, r.UNitrite)
	}
	if r.Record != 0 {
		return store.Digest(fmt.Sprintf("record %d|%q|%q|%g|%g|%q|%q|%q|%d|%t|%q", r.Record, r.Water, r.Signals,
			r.sample.Dilution, r.sample.UDilution, r.Reader, r.Lot, r.Note, r.supersedes, r.withdrawn, r.why) + of)
	}
	return store.Digest(fmt.Sprintf("%d|%q|%q|%v|%v|%g|%g|%g|%q|%d|%t|%q", r.Version, r.Water, r.Signals, r.sample.Own, r.sample.Clear,
		r.sample.Dilution, r.sample.UDilution, r.sample.ULot, r.Note, r.supersedes, r.withdrawn, r.why) + of)
}
