package calibrations

import (
	"context"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/decide"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/result"
)

// madeBy is the version that made a result: of a curve, or of a record.
func (r Result) madeBy() (curve, record int64) {
	if r.Record != 0 {
		return 0, r.VersionID
	}
	return r.VersionID, 0
}

// turned is a new result with what its calibration says.
func (b *Operations) turned(ctx context.Context, n NewResult) (row resultRow, err error) {
	if n.Record != 0 {
		return b.turnedByRecord(ctx, n)
	}
	if row.NewResult, row.sample, err = n.tidied(b.store.Clock()); err != nil {
		return row, err
	}
	made, err := b.CurveVersion(ctx, n.Version)
	if err != nil {
		return row, err
	}
	row.scale = made.Spec.Scale
	row.outcome, err = b.turnRound(made, row.sample, row.TakenAt)
	return row, err
}

func (b *Operations) turnedByRecord(ctx context.Context, n NewResult) (row resultRow, err error) {
	n.Version = 0
	if row.NewResult, err = n.tidiedReadings(b.store.Clock()); err != nil {
		return row, err
	}
	made, err := b.RecordVersion(ctx, n.Record)
	if err != nil {
		return row, err
	}
	o, err := b.Say(ctx, made, row.NewResult, nil)
	if err != nil {
		return row, err
	}
	row.scale, row.notes = o.Scale, o.Notes
	if of := row.Of; of != nil {
		row.notes = append(slices.Clone(row.notes), decide.Stood(o.Scale.Analyte, of.Stood(row.TakenAt), of.Filtered)...)
	}
	row.sample = curve.Sample{Dilution: o.Dilution, UDilution: o.UDilution}
	row.outcome = curve.Result{N: len(o.Readings), Level: o.Result.Estimate, U: o.Result.U, Low: o.Result.Low, High: o.Result.High, Open: string(o.Result.Open)}
	if o.Result.Open == inverse.Above {
		row.outcome.High = math.NaN()
	}
	if o.Result.Parts != nil {
		row.pieces = o.Result.Parts
	}
	return row, nil
}

// Say is what a version of a record says of readings, beside what was kept or before
// it is: the estimate with its 95 % set, and how it stands to needs on the record's
// scale.
func (b *Operations) Say(ctx context.Context, r Record, n NewResult, needs []knownwater.Need) (result.Outcome, error) {
	p, err := b.Performance(ctx, r)
	if err != nil {
		return result.Outcome{}, inForm(err)
	}
	q := result.Question{Readings: readingsOf(n.Signals), Lot: n.Lot, Dilution: n.Dilution, UDilution: n.UDilution, Needs: needs}
	if n.Nitrite != nil {
		q.NitriteKnown, q.Nitrite, q.UNitrite = true, *n.Nitrite, n.UNitrite
	}
	if q.ReadBy(Readers(n.Reader)) != nil { // kept before several could be named: one name with a semicolon in it
		q.Reader = n.Reader
	}
	o, err := p.Read(q)
	return o, inForm(err)
}

// between stands between the names of those who read a sample, one a reading, as they are
// kept: in one line, as the readings are.
const between = ";"

// Readers are those who are named in such a line: one for all readings, or one for each.
func Readers(line string) []string {
	names := strings.Split(line, between)
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	return names
}

// ReadersLine is the line of who read.
func ReadersLine(q result.Question) string {
	if q.By == nil {
		return q.Reader
	}
	return strings.Join(q.By, between+" ")
}

// readingsOf are readings of one sample, with spaces or semicolons between.
func readingsOf(typed string) []string {
	return strings.Fields(strings.ReplaceAll(typed, ";", " "))
}

// recordMayBeUsed refuses to keep through a version that is not in use.
func (t tx) recordMayBeUsed(version int64) error {
	now, err := records.Version(t.Tx, version)
	switch {
	case err != nil:
		return err
	case now.Retired:
		return knownwater.Refuse(knownwater.WrongState, "the record of %s is put away: nothing is kept through it", now.Spec.Method)
	case !now.InUse:
		return knownwater.Refuse(knownwater.WrongState, "version %d is not in use: results are kept through the version in use only", now.Version)
	}
	return nil
}

// piecesKept are the pieces of a set as they stand in the file: nothing for an end
// that is open.
func piecesKept(pieces []interval.Interval) [][2]*float64 {
	out := make([][2]*float64, len(pieces))
	for i, p := range pieces {
		for k, v := range []float64{p.Low, p.High} {
			if !math.IsInf(v, 0) && !math.IsNaN(v) {
				out[i][k] = &v
			}
		}
	}
	return out
}

func piecesOf(kept [][2]*float64) (out []interval.Interval) {
	for _, k := range kept {
		p := interval.Interval{Low: math.Inf(-1), High: math.Inf(1)}
		if k[0] != nil {
			p.Low = *k[0]
		}
		if k[1] != nil {
			p.High = *k[1]
		}
		out = append(out, p)
	}
	return out
}

// readingFaults are what no readings of one sample can be.
func readingFaults(typed string) (fs knownwater.Faults) {
	switch n := len(readingsOf(typed)); {
	case n == 0:
		fs = append(fs, knownwater.Fault{Column: "readings", Found: "no reading", Want: "what was seen, such as 6..15"})
	case n > mostSignals:
		fs = append(fs, knownwater.Fault{Column: "readings", Found: "%d readings", Want: "at most %d of one water"}.Of(n, mostSignals))
	}
	return fs
}
