package trials

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// mostImported is how many single readings a data set may hold.
const mostImported = 1_000_000

// DataSet is a data set that becomes a trial.
type DataSet struct {
	Title  string
	Source string // what it came from
	Data   knownwater.Trial
	Done   func(readings, of int) // told how many are on the disk; nil: nobody is
}

// ImportTrial keeps a data set as a finished trial. A method of the same name
// and description is used; where there is none of that name it is made, and
// where one of that name is described otherwise, the data set's own is kept
// beside it as a retired one. People of the same name are taken to be the same.
// Its needs go on the bench's list unless one alike is there; another need of
// the same name gets the trial's title behind it.
//
// It is written in many short transactions, so that nobody who takes a reading
// waits for it, and seen by nobody before the last one. Where ctx ends, or anything
// fails, all of it goes away again. Owner.
func (b *Operations) ImportTrial(ctx context.Context, by knownwater.Who, d DataSet) (Trial, error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	total, err := d.check()
	if err != nil {
		return Trial{}, err
	}
	select {
	case b.bringIn <- struct{}{}:
		defer func() { <-b.bringIn }()
	case <-ctx.Done():
		return Trial{}, ctx.Err()
	}
	i := importing{b: b, by: by, DataSet: d, total: total, methods: map[string]knownwater.MethodVersion{}, known: map[knownKey]int64{}, vials: map[vialKey]int64{},
		people: map[string]int64{}, lots: map[lotKey]int64{}, replicates: map[placeKey]int{}}
	err = i.all(ctx)
	if err != nil && i.trial != 0 {
		err = errors.Join(err, b.abandon(context.WithoutCancel(ctx), i.trial))
	}
	if err != nil {
		return Trial{}, err
	}
	return b.Trial(ctx, by, i.trial)
}

// check tidies what was typed and counts the readings.
func (d *DataSet) check() (total int, err error) {
	var fs knownwater.Faults
	store.Line(&fs, "title", &d.Title, true)
	store.Line(&fs, "source", &d.Source, false)
	for _, o := range d.Data.Nitrite {
		if !(o.Nitrite > 0 && o.Nitrite < knownwater.MostNitrite && o.UNitrite >= 0 && o.UNitrite < knownwater.MostNitrite) {
			fs = append(fs, knownwater.Fault{Row: o.Row, Column: "nitrite", Found: fmt.Sprintf("%g ± %g", o.Nitrite, o.UNitrite), Want: "nitrite in mg/L NO2, above 0"})
		}
	}
	if len(d.Data.Nitrite) > 0 && d.Data.Scale.Analyte != "nitrate" {
		fs = append(fs, knownwater.Fault{Row: d.Data.Nitrite[0].Row, Column: "nitrite", Found: "nitrite in knowns of %s", Want: "knowns of nitrate: nitrite reads as nitrate, and no other test is asked about it"}.Of(d.Data.Scale.Analyte))
	}
	for o := range d.Data.Every() {
		if o.Count < 1 || o.Text == "" || !o.Seen.Valid() || !(o.Dilution > 0) {
			fs = append(fs, knownwater.Fault{Row: o.Row, Found: "a reading %q that is none", Want: "a reading in notation, counted at least once"}.Of(o.Text))
		}
		if total += o.Count; total > mostImported {
			return 0, knownwater.Refuse(knownwater.TooLarge, "the data set has more than %d readings", mostImported)
		}
	}
	return total, store.OrNil(fs)
}

// importing is a data set on its way in, with the rows made so far.
type importing struct {
	DataSet
	tx
	b          *Operations
	by         knownwater.Who
	total      int
	trial      int64
	readings   int
	methods    map[string]knownwater.MethodVersion
	known      map[knownKey]int64
	vials      map[vialKey]int64
	people     map[string]int64
	lots       map[lotKey]int64
	replicates map[placeKey]int
}

// all writes everything: the trial without its plan, the people, what the plan
// names, the readings one by one, and last that it is there.
func (i *importing) all(ctx context.Context) error {
	if err := i.b.write(ctx, i.begin); err != nil {
		return err
	}
	d := i.Data
	p := Plan{Title: i.Title, Scale: d.Scale, Water: d.Water, NoWater: !d.WaterStated}
	seen := map[int64]bool{}
	each := func(k int) knownwater.WithNitrite {
		if n := len(d.Observations); k >= n {
			return d.Nitrite[k-n]
		}
		return knownwater.WithNitrite{Observation: d.Observations[k]}
	}
	if err := i.inBatches(ctx, len(d.Observations)+len(d.Nitrite), func(k int) error { return i.reader(&p, seen, each(k).Reader) }, nil); err != nil {
		return err
	}
	if err := i.b.write(ctx, func(t tx) error { i.tx = t; return i.plan(p) }); err != nil {
		return err
	}
	factors := map[string]float64{}
	for _, m := range d.Methods {
		factors[m.Name] = reading.Factor(m)
	}
	// an observation may stand for very many readings alike
	at, left := 0, 0
	next := func(int) error {
		if left == 0 {
			left = each(at).Count
		}
		o := each(at)
		if f := factors[o.Method]; f > 0 && f != 1 { // kept as the method shows it
			o.Seen = o.Seen.Scale(1 / f)
		}
		if err := i.observation(o); err != nil {
			return fmt.Errorf("import row %d: %w", o.Row, err)
		}
		if left--; left == 0 {
			at++
		}
		return nil
	}
	if err := i.inBatches(ctx, i.total, next, i.Done); err != nil {
		return err
	}
	return i.b.write(ctx, i.end)
}

func (i *importing) inBatches(ctx context.Context, n int, do func(k int) error, done func(readings, of int)) error {
	var tell func(int)
	if done != nil {
		tell = func(k int) { done(k, n) }
	}
	return i.b.store.InBatches(ctx, n, func(t store.Tx, k int) error {
		i.tx = tx{t, i.b.from}
		return do(k)
	}, tell)
}

func (i *importing) begin(t tx) (err error) {
	at, name, device := t.Stamp(i.by)
	said := i.Data.Notes
	if order := i.Data.InOrder; len(order) > 0 {
		said = append(slices.Clone(said), note.Note{Code: readInOrder}.Name("method", order...))
	}
	notes, err := store.ToJSON(said)
	if err != nil {
		return err
	}
	i.trial, err = t.Insert(insertArriving, i.Title, notes, i.Source, at, name, device)
	return err
}

// reader puts a reader into the plan, in the order in which they appear.
func (i *importing) reader(p *Plan, seen map[int64]bool, name string) error {
	id, err := i.readerOf(name)
	if err == nil && id != 0 && !seen[id] {
		seen[id] = true
		p.Readers = append(p.Readers, id)
	}
	return err
}

// plan keeps the plan with its methods and needs; from then on the trial takes
// readings.
func (i *importing) plan(p Plan) error {
	for _, m := range i.Data.Methods {
		v, err := i.from.BringInMethod(i.Tx, i.by, i.trial, SpecOf(m, i.Data), i.Source)
		if err != nil {
			return err
		}
		i.methods[m.Name] = v
		p.Methods = append(p.Methods, PlanMethod{VersionID: v.VersionID})
	}
	for _, d := range i.Data.Needs {
		id, err := i.from.BringInNeed(i.Tx, i.by, i.trial, knownwater.NeedEntry{Scale: i.Data.Scale, Need: d}, p.Title)
		if err != nil {
			return err
		}
		if id != 0 { // else the trial keeps it; for new plans it would have to be mended
			p.Needs = append(p.Needs, id)
		}
	}
	text, err := store.ToJSON(p)
	if err != nil {
		return err
	}
	needs, err := store.ToJSON(i.Data.Needs)
	if err != nil {
		return err
	}
	return i.Exec(openArriving, text, needs, i.trial)
}

// end lets everybody see the trial and what it brought.
func (i *importing) end(t tx) error {
	for _, settle := range t.from.Settle {
		if err := settle(t.Tx, i.by, i.trial); err != nil {
			return err
		}
	}
	if err := t.Exec(finishImport, i.total, i.trial); err != nil {
		return err
	}
	return t.Note(i.by, i.trial, "imported a data set", i.Source)
}
