package trials

import (
	"context"
	"fmt"
	"slices"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// mostImported is how many single readings a data set may hold.
const mostImported = 1_000_000

// ImportTrial keeps a data set as a finished trial. A method of the same name
// and description is used; where there is none of that name it is made, and
// where one of that name is described otherwise, the data set's own is kept
// beside it as a retired one. People of the same name are taken to be the same.
// Its needs go on the bench's list unless one alike is there; another need of
// the same name gets the trial's title behind it. Owner.
func (b *Operations) ImportTrial(ctx context.Context, by knownwater.Who, d knownwater.Trial, title, source string) (r Trial, err error) {
	if err := by.MustOwn(); err != nil {
		return Trial{}, err
	}
	var fs knownwater.Faults
	store.Line(&fs, "title", &title, true)
	store.Line(&fs, "source", &source, false)
	total := 0
	for _, o := range d.Observations {
		if o.Count < 1 || o.Text == "" || !o.Seen.Valid() || !(o.Dilution > 0) {
			fs = append(fs, knownwater.Fault{Row: o.Row, Found: fmt.Sprintf("a reading %q that is none", o.Text), Want: "a reading in notation, counted at least once"})
		}
		if total += o.Count; total > mostImported {
			return Trial{}, knownwater.Refuse(knownwater.TooLarge, "the data set has more than %d readings", mostImported)
		}
	}
	if len(fs) > 0 {
		return Trial{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		i := importing{tx: t, by: by, data: d, methods: map[string]knownwater.MethodVersion{}, known: map[knownKey]int64{}, vials: map[vialKey]int64{},
			people: map[string]int64{}, lots: map[lotKey]int64{}, replicates: map[placeKey]int{}}
		if err := i.all(title, source, total); err != nil {
			return err
		}
		r, err = t.trial(i.trial)
		return err
	})
	return r, err
}

// importing is a data set on its way in, with the rows made so far.
type importing struct {
	tx
	by         knownwater.Who
	data       knownwater.Trial
	trial      int64
	readings   int
	methods    map[string]knownwater.MethodVersion
	known      map[knownKey]int64
	vials      map[vialKey]int64
	people     map[string]int64
	lots       map[lotKey]int64
	replicates map[placeKey]int
}

type knownKey struct {
	level, u, shared float64
	matrix           string
}

type vialKey struct {
	version, known, lot              int64
	dilution, u                      float64
	technique, session, vial, method string
}

type lotKey struct {
	method int64
	code   string
}

type placeKey struct {
	vial, reader int64
	dilution     float64
}

func (i *importing) all(title, source string, total int) error {
	p := Plan{Title: title, Scale: i.data.Scale, Water: i.data.Water, NoWater: !i.data.WaterStated}
	for _, m := range i.data.Methods {
		v, err := i.from.BringInMethod(i.Tx, i.by, specOf(m, i.data), source)
		if err != nil {
			return err
		}
		i.methods[m.Name] = v
		p.Methods = append(p.Methods, PlanMethod{VersionID: v.VersionID})
	}
	if err := i.readers(&p); err != nil {
		return err
	}
	if err := i.needs(&p); err != nil {
		return err
	}
	if err := i.begin(p, source); err != nil {
		return err
	}
	factors := map[string]float64{}
	for _, m := range i.data.Methods {
		factors[m.Name] = reading.Factor(m)
	}
	for _, o := range i.data.Observations {
		if f := factors[o.Method]; f > 0 && f != 1 { // kept as the method shows it
			o.Seen = o.Seen.Scale(1 / f)
		}
		if err := i.observation(o); err != nil {
			return fmt.Errorf("import row %d: %w", o.Row, err)
		}
	}
	return i.Exec(finishImport, total, i.trial)
}

// readers lists the readers in the plan, in the order in which they appear.
func (i *importing) readers(p *Plan) error {
	for _, o := range i.data.Observations {
		id, err := i.readerOf(o.Reader)
		if err != nil {
			return err
		}
		if id != 0 && !slices.Contains(p.Readers, id) {
			p.Readers = append(p.Readers, id)
		}
	}
	return nil
}

// needs finds the data set's needs on the bench's list or puts them there.
func (i *importing) needs(p *Plan) error {
	for _, d := range i.data.Needs {
		id, err := i.from.BringInNeed(i.Tx, i.by, knownwater.NeedEntry{Scale: i.data.Scale, Need: d}, p.Title)
		if err != nil {
			return err
		}
		if id != 0 { // else the trial keeps it; for new plans it would have to be mended
			p.Needs = append(p.Needs, id)
		}
	}
	return nil
}

func (i *importing) begin(p Plan, source string) error {
	text, err := store.ToJSON(p)
	if err != nil {
		return err
	}
	needs, err := store.ToJSON(i.data.Needs)
	if err != nil {
		return err
	}
	notes, err := store.ToJSON(i.data.Notes)
	if err != nil {
		return err
	}
	at, name, device := i.Stamp(i.by)
	if i.trial, err = i.Insert(insertTrial, Opened, p.Title, text, needs, notes, true, source, 0, at, name, device); err != nil {
		return err
	}
	return i.Note(i.by, i.trial, "imported a data set", source)
}

// specOf is a data set's method as a description, on the scale on which it
// shows its numbers.
func specOf(m knownwater.Method, d knownwater.Trial) knownwater.MethodSpec {
	m = reading.Own(m)
	switch {
	case m.Own == (unit.Scale{}):
		m.Own = d.Scale
	case m.Own.Analyte == "":
		m.Own.Analyte = d.Scale.Analyte
	}
	s := knownwater.MethodSpec{
		Name: m.Name, Kind: m.Kind, Scale: m.Own, AtShare: m.AtShare, Resolution: m.Resolution, DropValue: m.DropValue,
		Dilution:  knownwater.Dilution{Over: m.DilutionOver, Factor: m.DilutionFactor},
		PackPrice: m.PackPrice, PackTests: m.PackTests, RefillPrice: m.RefillPrice, RefillTests: m.RefillTests,
		Minutes: m.Minutes, HandsOnMinutes: m.HandsOnMinutes,
	}
	for _, v := range m.Swatches {
		s.Swatches = append(s.Swatches, knownwater.Swatch{Value: v})
	}
	if m.Range != nil {
		low, high := m.Range.Low, m.Range.High
		s.RangeLow, s.RangeHigh = &low, &high
	}
	return s
}

func (i *importing) observation(o knownwater.Observation) error {
	m, ok := i.methods[o.Method]
	if !ok {
		return knownwater.Faults{{Row: o.Row, Column: "method", Found: fmt.Sprintf("%q", o.Method), Want: "one of the data set's methods"}}
	}
	known, err := i.knownOf(o)
	if err != nil {
		return err
	}
	lot, err := i.lotOf(m.ID, o.Lot)
	if err != nil {
		return err
	}
	vial, err := i.vialOf(o, m, known, lot)
	if err != nil {
		return err
	}
	reader, err := i.readerOf(o.Reader)
	if err != nil {
		return err
	}
	at, name, device := i.Stamp(i.by)
	place := placeKey{vial, reader, o.Dilution}
	for range o.Count {
		i.readings++
		i.replicates[place]++
		key := fmt.Sprintf("imported-%d-%08d", i.trial, i.readings)
		if err := i.Exec(insertCell, key, i.trial, vial, reader, i.replicates[place], o.Dilution, o.UDilution, lot,
			o.Text, o.Seen.Low, o.Seen.High, o.Row, at, name, device); err != nil {
			return err
		}
	}
	return nil
}

func (i *importing) knownOf(o knownwater.Observation) (id int64, err error) {
	k := knownKey{o.Level, o.ULevel, o.UShared, o.Matrix}
	if id, ok := i.known[k]; ok {
		return id, nil
	}
	id, err = i.Insert(insertKnown, i.trial, len(i.known)+1, fmt.Sprintf("%g %s", o.Level, i.data.Scale), o.Level, o.ULevel, o.UShared, o.Matrix, o.Level == 0)
	i.known[k] = id
	return id, err
}

func (i *importing) lotOf(method int64, code string) (int64, error) {
	if code == "" {
		return 0, nil
	}
	k := lotKey{method, code}
	if id, ok := i.lots[k]; ok {
		return id, nil
	}
	id, err := i.from.BringInLot(i.Tx, i.by, method, code)
	if err != nil {
		return 0, err
	}
	i.lots[k] = id
	return id, nil
}

func (i *importing) vialOf(o knownwater.Observation, m knownwater.MethodVersion, known, lot int64) (id int64, err error) {
	k := vialKey{m.VersionID, known, lot, o.Dilution, o.UDilution, o.Technique, o.Session, o.Vial, o.Method}
	if id, ok := i.vials[k]; ok {
		return id, nil
	}
	role := "level"
	if o.Level == 0 {
		role = "blank"
	}
	id, err = i.Insert(insertVial, i.trial, known, m.VersionID, o.Vial, 0, o.Session, nil, role, o.Technique, lot, o.Dilution, o.UDilution, 0, 0)
	i.vials[k] = id
	return id, err
}

func (i *importing) readerOf(name string) (int64, error) {
	if name == "" {
		return 0, nil
	}
	if id, ok := i.people[name]; ok {
		return id, nil
	}
	id, err := i.from.BringInPerson(i.Tx, i.by, name)
	if err != nil {
		return 0, err
	}
	i.people[name] = id
	return id, nil
}
