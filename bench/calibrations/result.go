package calibrations

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
	"knownwater/science/decide"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Result is the reading of a water, turned round, as it was computed when it was
// kept. It never changes: a correction or a withdrawal supersedes it, and a newer
// version of its calibration says its own beside it (see ReExpress, Say).
type Result struct {
	ID        int64
	Key       string
	Curve     int64 // that made it; 0: a record did
	Record    int64 // that made it; 0: a curve did
	VersionID int64 // the version that made it, which was the one in use
	Version   int
	By        string // name of the curve, or of the method
	Water     string
	Text      string // signals or readings as typed
	Sample    curve.Sample
	Reader    string // who read, of a record's
	Lot       string
	Scale     unit.Scale
	Outcome   curve.Result
	Pieces    []interval.Interval // of a set in several
	Notes     []note.Note         // what was to be said of it
	Nitrite   *float64            // of the water, mg/L NO2; nil: nobody said
	UNitrite  float64             // its standard uncertainty
	Program   string              // version of this program that computed it
	Note      string
	TakenAt   time.Time
	Person    int64 // who took it; 0: nobody in particular
	Kept      knownwater.Stamp

	Supersedes   int64  // the result that this one corrects or withdraws
	Why          string // why it does
	SupersededBy int64  // 0: nothing was put in its place
	Because      string // why something was
	Withdrawn    bool   // this row takes the one before it back

	Of       knownwater.Sample // ID 0: nothing is said but the water's name
	Standing knownwater.Ruling // what somebody said became of it
}

// Stands says whether the result is neither corrected nor withdrawn.
func (r Result) Stands() bool { return r.SupersededBy == 0 && !r.Withdrawn }

func scanResult(scan func(...any) error) (r Result, err error) {
	var level, u, low, high sql.NullFloat64
	var pieces [][2]*float64
	var known sql.NullFloat64
	err = scan(&r.ID, &r.Key, &r.Curve, &r.Record, &r.VersionID, &r.Version, &r.By, &r.Water, &r.Text, store.JSON(&r.Sample.Signals), store.JSON(&r.Sample.Own), store.JSON(&r.Sample.Clear), &r.Sample.Dilution, &r.Sample.UDilution, &r.Sample.ULot,
		&r.Scale.Analyte, &r.Scale.Unit, &r.Scale.Basis, &level, &u, &low, &high, &r.Outcome.Outside, &r.Outcome.Open, store.JSON(&pieces), store.JSON(&r.Outcome.Parts), store.JSON(&r.Notes),
		&r.Reader, &r.Lot, &r.Program, &r.Note, store.Time(&r.TakenAt), &r.Person, store.Time(&r.Kept.At), &r.Kept.Name, &r.Kept.Device,
		&r.Supersedes, &r.Why, &r.SupersededBy, &r.Because, &r.Withdrawn,
		&r.Of.ID, &r.Of.Water, &r.Of.Role, &known, &r.Of.UKnown, store.JSON(&r.Of.SampleSpec), &r.Standing, &r.Nitrite, &r.UNitrite)
	r.Of.Known = known.Float64 // 0: no check
	r.Outcome.N = max(len(r.Sample.Signals), len(r.Sample.Seen))
	if r.Record != 0 {
		r.Outcome.N = len(readingsOf(r.Text))
	}
	r.Outcome.Level, r.Outcome.U, r.Outcome.Low, r.Outcome.High = store.OrNaN(level), store.OrNaN(u), store.OrNaN(low), store.OrNaN(high)
	r.Pieces = piecesOf(pieces)
	r.Outcome.Notes = []note.Note{}
	if r.Record == 0 {
		r.Outcome.Notes = append(r.Outcome.Notes, r.Notes...)
	}
	return r, err
}

// mayTakeResults refuses who cannot stand for a result.
func mayTakeResults(w knownwater.Who) error {
	if w.Role == knownwater.Owner || w.Role == knownwater.Reader && w.Person != 0 {
		return nil
	}
	return knownwater.Refuse(knownwater.NotAllowed, "say first who is reading")
}

// mayTouch refuses a reader another person's result.
func mayTouch(w knownwater.Who, r Result) error {
	if w.Role == knownwater.Owner || w.Role == knownwater.Reader && w.Person != 0 && w.Person == r.Person {
		return nil
	}
	return knownwater.Refuse(knownwater.NotAllowed, "this is another person's result")
}

// resultRow is a result ready to be written.
type resultRow struct {
	NewResult
	sample     curve.Sample
	scale      unit.Scale
	outcome    curve.Result
	pieces     []interval.Interval
	notes      []note.Note // of a record's; a curve's stand in outcome
	supersedes int64
	root       int64
	of         int64 // the sample of what it corrects
	why        string
	withdrawn  bool
}

// KeepResult reads a water through a version of a curve or of a record and keeps
// what it says, with all that it was made of. The version must be the one in use. When it
// returns without an error the result is on the disk; sent again under its key
// it is kept exactly once. An owner or a reader.
func (b *Operations) KeepResult(ctx context.Context, by knownwater.Who, n NewResult) (Result, error) {
	if err := mayTakeResults(by); err != nil {
		return Result{}, err
	}
	// computed before the transaction, so that no other writer waits for a fit
	row, err := b.turned(ctx, n)
	if err != nil {
		return Result{}, err
	}
	return b.putResult(ctx, by, row, func(t tx) error {
		if n.Record != 0 {
			return t.recordMayBeUsed(n.Record)
		}
		now, err := curves.Version(t.Tx, n.Version)
		switch {
		case err != nil:
			return err
		case now.Retired:
			return knownwater.Refuse(knownwater.WrongState, "the curve %q is put away: nothing is kept through it", now.Spec.Name)
		case !now.InUse:
			return knownwater.Refuse(knownwater.WrongState, "version %d is not in use: results are kept through the version in use only", now.Version)
		}
		return nil
	})
}

// CorrectResult supersedes a result (by its ID) with another and needs a why;
// the old one stays. It is computed with the version that made the old one:
// what another version says is ReExpress. A reader corrects their own, an
// owner anybody's.
func (b *Operations) CorrectResult(ctx context.Context, by knownwater.Who, old int64, n NewResult, why string) (Result, error) {
	was, err := b.resultToReplace(ctx, by, old)
	if err != nil {
		return Result{}, err
	}
	n.Version, n.Record = was.madeBy()
	if n.TakenAt.IsZero() || n.TakenAt.Equal(was.TakenAt.Truncate(time.Minute)) { // a form knows minutes only
		n.TakenAt = was.TakenAt
	}
	why, err = store.Reason(why)
	var fs, more knownwater.Faults
	if err != nil {
		fs = err.(knownwater.Faults)
	}
	row, err := b.turned(ctx, n)
	if errors.As(err, &more) {
		err = nil
	}
	if fs = append(fs, more...); len(fs) > 0 {
		return Result{}, fs
	}
	if err != nil {
		return Result{}, err
	}
	if n.Of == nil && n.Record != 0 { // what is known of the old one's sample holds for this one
		row.notes = append(slices.Clone(row.notes), decide.Stood(row.scale.Analyte, was.Of.Stood(row.TakenAt), was.Of.Filtered)...)
	}
	row.supersedes, row.why = was.ID, why
	return b.putResult(ctx, by, row, nil)
}

// WithdrawResult takes a result back, with a why; it stays in sight. key is the
// withdrawal's own. A withdrawn result is not corrected: take the reading anew.
func (b *Operations) WithdrawResult(ctx context.Context, by knownwater.Who, old int64, key, why string) (Result, error) {
	was, err := b.resultToReplace(ctx, by, old)
	if err != nil {
		return Result{}, err
	}
	if err := store.CheckKey(key); err != nil {
		return Result{}, err
	}
	row := resultRow{supersedes: was.ID, withdrawn: true, sample: was.Sample, outcome: was.Outcome,
		pieces: was.Pieces, notes: was.Notes, scale: was.Scale,
		NewResult: NewResult{Key: key, Reader: was.Reader, Lot: was.Lot, Nitrite: was.Nitrite, UNitrite: was.UNitrite, Water: was.Water, Signals: was.Text, TakenAt: was.TakenAt, Note: was.Note, Program: was.Program}}
	if row.why, err = store.Reason(why); err != nil {
		return Result{}, err
	}
	row.Version, row.Record = was.madeBy()
	if row.Record == 0 {
		row.notes = nil
	}
	return b.putResult(ctx, by, row, nil)
}

func (b *Operations) resultToReplace(ctx context.Context, by knownwater.Who, old int64) (was Result, err error) {
	err = b.read(ctx, func(t tx) error {
		if was, err = store.One(t.Tx, "result", resultByID, scanResult, old); err != nil {
			return err
		}
		return mayTouch(by, was)
	})
	return was, err
}

// putResult writes a row, unless it is there under its key; may is asked in the
// same transaction.
func (b *Operations) putResult(ctx context.Context, by knownwater.Who, row resultRow, may func(tx) error) (r Result, err error) {
	err = b.write(ctx, func(t tx) error {
		sum := row.digest()
		there, err := store.All(t.Tx, resultByKey, func(scan func(...any) error) (x struct {
			id     int64
			digest string
		}, err error) {
			err = scan(&x.id, &x.digest)
			return x, err
		}, row.Key)
		if err != nil {
			return err
		}
		if len(there) > 0 {
			if there[0].digest != sum {
				return knownwater.Refuse(knownwater.AlreadyRead, "another result was kept under this key: nothing was changed")
			}
			r, err = store.One(t.Tx, "result", resultByID, scanResult, there[0].id)
			return err
		}
		if may != nil {
			if err := may(t); err != nil {
				return err
			}
		}
		if row.supersedes != 0 {
			was, err := store.One(t.Tx, "result", resultByID, scanResult, row.supersedes)
			switch {
			case err != nil:
				return err
			case was.Withdrawn:
				return knownwater.Refuse(knownwater.AlreadyRead, "this result was withdrawn: take the reading anew")
			case was.SupersededBy != 0:
				return knownwater.Refuse(knownwater.AlreadyRead, "something was put in this result's place before: look at that")
			}
			row.of = was.Of.ID
			if row.root, err = store.One(t.Tx, "result", rootOfResult, store.Value[int64], row.supersedes); err != nil {
				return err
			}
		}
		id, err := t.insertResult(by, row, sum)
		if err != nil {
			return err
		}
		r, err = store.One(t.Tx, "result", resultByID, scanResult, id)
		return err
	})
	return r, err
}

func (t tx) insertResult(by knownwater.Who, row resultRow, sum string) (int64, error) {
	s, o, scale := row.sample, row.outcome, row.scale
	notes := append([]note.Note{}, o.Notes...)
	if row.Record != 0 {
		notes = append([]note.Note{}, row.notes...)
	}
	var texts [6]string
	for i, v := range []any{append([]float64{}, s.Signals...), append([]float64{}, s.Own...), append([]float64{}, s.Clear...), piecesKept(row.pieces), partsKept(o.Parts), notes} {
		text, err := store.ToJSON(v)
		if err != nil {
			return 0, err
		}
		texts[i] = text
	}
	sample := row.of
	if row.Of != nil && sample == 0 {
		var err error
		if sample, err = t.from.Sample(t.Tx, by, *row.Of); err != nil {
			return 0, err
		}
	}
	at, name, device := t.Stamp(by)
	return t.Insert(insertResult, row.Key, sum, row.Version, row.Record, row.Water, row.Signals, texts[0], texts[1], texts[2], s.Dilution, s.UDilution, s.ULot,
		scale.Analyte, scale.Unit, scale.Basis, store.OrNull(o.Level), store.OrNull(o.U), store.OrNull(o.Low), store.OrNull(o.High), o.Outside, o.Open, texts[3], texts[4], texts[5],
		row.Reader, row.Lot, row.Program, row.Note, store.TimeText(row.TakenAt), by.Person, row.withdrawn, row.supersedes, row.root, row.why, at, name, device, sample, row.Nitrite, row.UNitrite)
}

// partKept is a part of an uncertainty as it stands in the file.
type partKept struct {
	Name string  `json:"name"`
	U    float64 `json:"u"`
}

func partsKept(parts []curve.Component) []partKept {
	out := make([]partKept, len(parts))
	for i, p := range parts {
		out[i] = partKept(p)
	}
	return out
}

// ResultFilter picks results; without a curve and a record it picks all.
type ResultFilter struct {
	Curve  int64
	Record int64
	Before int64 // paging: results with an ID below this; 0: from the newest
	Limit  int   // 0: 20
}

const mostResults = 20

// Results are the results of all versions of a calibration, newest first, corrected
// and withdrawn ones among them; more says that older ones follow. A reader
// sees their own.
func (b *Operations) Results(ctx context.Context, by knownwater.Who, f ResultFilter) (list []Result, more bool, err error) {
	if f.Limit <= 0 {
		f.Limit = mostResults
	}
	person := int64(0)
	if by.Role != knownwater.Owner {
		if person = by.Person; person == 0 {
			return nil, false, nil
		}
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, resultsList, scanResult, f.Curve, f.Before, person, f.Limit+1, f.Record)
		return err
	})
	if more = len(list) > f.Limit; more {
		list = list[:f.Limit]
	}
	return list, more, err
}

// ResultStory is a result with all that it corrects and all that corrects it,
// oldest first.
func (b *Operations) ResultStory(ctx context.Context, by knownwater.Who, id int64) (story []Result, err error) {
	err = b.read(ctx, func(t tx) error {
		if story, err = store.All(t.Tx, resultStory, scanResult, id); err != nil {
			return err
		}
		if len(story) == 0 {
			return knownwater.Refuse(knownwater.NotFound, "there is no such result")
		}
		return mayTouch(by, story[0])
	})
	return story, err
}

// ResultCounts are how many results that stand each version of a curve has
// made, by VersionID.
func (b *Operations) ResultCounts(ctx context.Context, curve int64) (map[int64]int, error) {
	counts := map[int64]int{}
	err := b.read(ctx, func(t tx) error {
		_, err := store.All(t.Tx, resultsCount, func(scan func(...any) error) (none struct{}, err error) {
			var version int64
			var n int
			err = scan(&version, &n)
			counts[version] = n
			return none, err
		}, curve)
		return err
	})
	return counts, err
}

// ReExpress is what another version of the same curve says of a result's
// signals, for display beside the old value, which still stands. d is that
// version's fit, which a page has at hand.
func ReExpress(r Result, c Curve, d curve.Document) (curve.Result, error) {
	switch {
	case c.ID != r.Curve:
		return curve.Result{}, knownwater.Refuse(knownwater.WrongState, "version %d is of another curve", c.Version)
	case c.Spec.Scale != r.Scale:
		return curve.Result{}, knownwater.Refuse(knownwater.WrongState, "version %d counts in another unit", c.Version)
	}
	out, f := d.Read(r.Sample)
	if f != nil {
		return curve.Result{}, knownwater.Refuse(knownwater.WrongState, "version %d takes other signals: %s", c.Version, f.Found)
	}
	return out, nil
}

// turnRound reads a sample through a version, and says so where it was taken
// after its last day.
func (b *Operations) turnRound(c Curve, s curve.Sample, taken time.Time) (curve.Result, error) {
	d, err := b.Fit(c)
	if err != nil {
		return curve.Result{}, knownwater.Refuse(knownwater.WrongState, "version %d of the curve %q cannot be fitted: %v", c.Version, c.Spec.Name, err)
	}
	r, f := d.Read(s)
	if f != nil {
		return r, knownwater.Faults{*f}
	}
	if last := c.Spec.ValidUntil; last != "" && last < taken.Local().Format(time.DateOnly) {
		r.Notes = append(r.Notes, note.New("taken-after-last-day").Name("day", last))
	}
	return r, nil
}
