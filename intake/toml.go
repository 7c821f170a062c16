package intake

import (
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"knownwater"
)

// decode reads a TOML file into a value; unknown keys, wrong types and wrong
// syntax are faults with their row.
func (s Source) decode(into any) (positions, knownwater.Faults) {
	text, faults := s.text()
	if faults != nil {
		return nil, faults
	}
	if len(strings.TrimSpace(string(text))) == 0 {
		return nil, s.refuse(0, "", "an empty file", "TOML as docs/formats.md shows it")
	}
	d := toml.NewDecoder(strings.NewReader(string(text)))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	var unknown *toml.StrictMissingError
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		for _, e := range unknown.Errors {
			row, _ := e.Position()
			faults = append(faults, s.fault(row, strings.Join(e.Key(), "."), "an unknown key", "a key of docs/formats.md; look for a slip of the pen"))
		}
		return nil, faults
	case errors.As(err, &wrong):
		row, column := wrong.Position()
		place := strings.Join(wrong.Key(), ".")
		if place == "" {
			place = fmt.Sprint(column)
		}
		return nil, s.refuse(row, place, strings.TrimPrefix(wrong.Error(), "toml: "), "TOML as docs/formats.md shows it")
	case err != nil:
		return nil, s.refuse(0, "", strings.TrimPrefix(err.Error(), "toml: "), "TOML as docs/formats.md shows it")
	}
	return find(text), nil
}

// positions are the rows where keys stand: "method.0.swatches", and where
// tables start: "method.0".
type positions map[string]int

// row is where a key of a table stands, or the table if the key is missing.
func (p positions) row(table string, key string) int {
	if r, found := p[table+"."+key]; found {
		return r
	}
	return p[table]
}

// find walks a text that has been decoded without complaint.
func find(text []byte) positions {
	p := positions{}
	count := map[string]int{}
	var walk unstable.Parser
	walk.Reset(text)
	table := ""
	for walk.NextExpression() {
		e := walk.Expression()
		var names []string
		row := 0
		for it := e.Key(); it.Next(); {
			if row == 0 {
				row = walk.Shape(it.Node().Raw).Start.Line
			}
			names = append(names, string(it.Node().Data))
		}
		key := strings.Join(names, ".")
		switch e.Kind {
		case unstable.ArrayTable:
			table = fmt.Sprintf("%s.%d", key, count[key])
			count[key]++
			p[table] = row
		case unstable.Table:
			table = key
			p[table] = row
		case unstable.KeyValue:
			p[strings.TrimPrefix(table+"."+key, ".")] = row
		}
	}
	return p
}
