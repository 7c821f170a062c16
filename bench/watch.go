package bench

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/store"
	"knownwater/science/history"
)

// Watched are the checks of one record's method, lot and known, judged.
type Watched struct {
	history.Checks
	Record       int64 // whose results they are held against; 0: those of CurveVersion
	Curve        int64
	CurveVersion int64
	Delays       history.Delays // remembered, since they take their time
}

// Watch says of every method, lot and known that was checked whether it holds: against the
// version of its record that is in use, or the last there was. What was worked out is
// remembered until there is another check. Checks read by a curve are held against its version
// that read them.
func (b *Bench) Watch(ctx context.Context) (out []Watched, err error) {
	checks, err := b.Checks(ctx)
	if err != nil {
		return nil, err
	}
	rows := map[string][]calibrations.Result{}
	var order []string
	for _, r := range checks {
		k := fmt.Sprintf("%d|%g", r.Record, r.Of.Known) // of all lots: what one says of the known counts for the next
		if r.Record == 0 {
			k = fmt.Sprintf("curve %d|%s|%g", r.VersionID, r.Lot, r.Of.Known)
		}
		if rows[k] == nil {
			order = append(order, k)
		}
		rows[k] = append(rows[k], r)
	}
	for _, k := range order {
		judge := b.watched
		if rows[k][0].Record == 0 {
			judge = b.watchedByCurve
		}
		w, err := judge(ctx, rows[k])
		if err != nil {
			return nil, err
		}
		out = append(out, w...)
	}
	slices.SortStableFunc(out, func(a, b Watched) int {
		return cmp.Or(cmp.Compare(strings.ToLower(a.Method), strings.ToLower(b.Method)), -a.Entries[0].At.Compare(b.Entries[0].At))
	})
	return out, nil
}

// recordNow is the version of a record that is in use, or the last there was; nil: none.
func (b *Bench) recordNow(ctx context.Context, id int64) (*calibrations.Record, error) {
	versions, err := b.RecordVersions(ctx, id)
	if err != nil || len(versions) == 0 {
		return nil, err
	}
	by := versions[0]
	for _, v := range versions {
		if v.InUse {
			by = v
		}
	}
	return &by, nil
}

// logOf are checks as lines of a log, one a reading.
func logOf(method string, results []calibrations.Result) (log []history.Entry) {
	for _, r := range results {
		texts, names := strings.Fields(strings.ReplaceAll(r.Text, ";", " ")), calibrations.Readers(r.Reader)
		for i, text := range texts {
			reader := r.Reader
			if len(names) == len(texts) {
				reader = names[i]
			}
			e := history.Entry{Row: int(r.ID), At: r.TakenAt, Water: r.Water, Method: method, Reading: text, Lot: r.Lot, Reader: reader,
				Dilution: r.Sample.Dilution, Check: true, Known: r.Of.Known, UKnown: r.Of.UKnown}
			if r.Nitrite != nil {
				e.NitriteKnown, e.Nitrite, e.UNitrite = true, *r.Nitrite, r.UNitrite
			}
			log = append(log, e)
		}
	}
	return log
}

// Of says whether a result was read by what the checks are of, with their lot, and by a reader of theirs.
func (w *Watched) Of(r calibrations.Result) bool {
	if w.Lot != r.Lot || w.Record != r.Record || !slices.ContainsFunc(calibrations.Readers(r.Reader), w.ReadBy) {
		return false
	}
	return w.Record != 0 || w.CurveVersion == r.VersionID
}

// plan works out what the checks would show when.
func (w *Watched) plan() {
	w.Delays = w.Checks.Delays()
}

// mostWatched is how many rows of checks are remembered.
const mostWatched = 200

func (b *Bench) watched(ctx context.Context, results []calibrations.Result) ([]Watched, error) {
	by, err := b.recordNow(ctx, results[0].Record)
	if err != nil || by == nil {
		return nil, err
	}
	uses, err := b.UsesOf(ctx, results[0].Record)
	if err != nil {
		return nil, err
	}
	key := fmt.Sprintf("%d %v", by.VersionID, uses)
	for _, r := range results {
		key += fmt.Sprint(",", r.ID)
	}
	if w, ok := b.watch.Find(key); ok {
		return w, nil
	}
	p, err := b.Performance(ctx, *by)
	if err != nil {
		return nil, nil // the record's own page says why
	}
	name := by.Spec.Method
	m := history.Methods{Records: map[string][]history.Source{name: {p}}, Uses: map[string][]history.Use{name: uses}, Solved: &b.solved}
	h, err := history.Of(logOf(name, results), m)
	if err != nil {
		return nil, nil
	}
	return b.watch.Of(key, func() []Watched {
		var list []Watched
		for _, c := range h.Checks {
			w := Watched{Checks: c, Record: results[0].Record}
			w.plan()
			list = append(list, w)
		}
		return list
	}), nil
}

// Waits says whether a result waits for what a check said, and for which.
func Waits(r calibrations.Result, watched []Watched) *Watched {
	if r.Standing != "" || r.Of.Role == knownwater.Checked {
		return nil
	}
	for i, w := range watched {
		if w.Of(r) && watched[i].AwayOn(r.TakenAt) != nil {
			return &watched[i]
		}
	}
	return nil
}

// newWatch remembers rows of checks.
func newWatch() *store.Memo[string, []Watched] {
	return store.NewMemo[string, []Watched](mostWatched, nil)
}
