package trials

import (
	"fmt"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

type knownKey struct {
	level, u, shared, background, nitrite, uNitrite float64
	matrix                                          string
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

// SpecOf is a data set's method as a description, on the scale on which it
// shows its numbers.
func SpecOf(m knownwater.Method, d knownwater.Trial) knownwater.MethodSpec {
	m = reading.Own(m)
	switch {
	case m.Own == (unit.Scale{}):
		m.Own = d.Scale
	case m.Own.Analyte == "":
		m.Own.Analyte = d.Scale.Analyte
	}
	s := knownwater.SpecOf(m)
	s.Scale = m.Own
	return s
}

// observation keeps one reading of an observation.
func (i *importing) observation(o knownwater.WithNitrite) error {
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
	i.readings++
	i.replicates[place]++
	key := fmt.Sprintf("imported-%d-%08d", i.trial, i.readings)
	return i.Exec(insertCell, key, i.trial, vial, reader, i.replicates[place], o.Dilution, o.UDilution, lot,
		o.Text, o.Seen.Low, o.Seen.High, o.Row, at, name, device)
}

func (i *importing) knownOf(o knownwater.WithNitrite) (id int64, err error) {
	k := knownKey{o.Level, o.ULevel, o.UShared, o.UBackground, o.Nitrite, o.UNitrite, o.Matrix}
	if id, ok := i.known[k]; ok {
		return id, nil
	}
	id, err = i.Insert(insertKnown, i.trial, len(i.known)+1, LabelOf(o.Level, o.Nitrite, i.Data.Scale.String()), o.Level, o.ULevel, o.UShared, o.Matrix, o.Level == 0 && o.Nitrite == 0, o.Nitrite, o.UNitrite, o.UBackground)
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
	id, err := i.from.BringInLot(i.Tx, i.by, i.trial, method, code)
	if err != nil {
		return 0, err
	}
	i.lots[k] = id
	return id, nil
}

func (i *importing) vialOf(o knownwater.WithNitrite, m knownwater.MethodVersion, known, lot int64) (id int64, err error) {
	k := vialKey{m.VersionID, known, lot, o.Dilution, o.UDilution, o.Technique, o.Session, o.Vial, o.Method}
	if id, ok := i.vials[k]; ok {
		return id, nil
	}
	role := "level"
	if o.Level == 0 && o.Nitrite == 0 {
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
	id, err := i.from.BringInPerson(i.Tx, i.by, i.trial, name)
	if err != nil {
		return 0, err
	}
	i.people[name] = id
	return id, nil
}
