package intake

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"knownwater"
)

// mostTOML bounds a TOML file: a description of some methods or needs.
const mostTOML = 4 << 20

// Pages that describe TOML files.
const (
	trialsPage = "docs/formats.md"
	knownsPage = "docs/formats-knowns.md"
)

const wantTOML = "TOML as %s shows it"

// decode reads a TOML file, which a page describes, into a value; unknown keys, wrong
// types and wrong syntax are faults with their row.
func (s Source) decode(into any, page string) (positions, knownwater.Faults) {
	s, faults := s.whole()
	if faults != nil {
		return nil, faults
	}
	if len(s.Data) > mostTOML {
		return nil, s.refuse(0, "", "%d MB", "at most %d MB", len(s.Data)>>20, mostTOML>>20)
	}
	text, faults := s.text()
	if faults != nil {
		return nil, faults
	}
	if len(strings.TrimSpace(string(text))) == 0 {
		return nil, s.refuse(0, "", "an empty file", wantTOML, page)
	}
	err := toml.Unmarshal(text, into)
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &wrong):
		row, column := wrong.Position()
		place := strings.Join(wrong.Key(), ".")
		if place == "" {
			place = fmt.Sprint(column)
		}
		if t := typeAt(reflect.TypeOf(into).Elem(), wrong.Key()); t != nil && len(wrong.Key()) > 0 && wellFormed(text) {
			want, values := wanted(t, wrong.Key()[len(wrong.Key())-1])
			return nil, s.refuse(row, place, "%s", want, append([]any{valueOn(text, row)}, values...)...)
		}
		return nil, s.refuse(row, place, "%s", wantTOML, strings.TrimPrefix(wrong.Error(), "toml: "), page)
	case err != nil:
		return nil, s.refuse(0, "", "%s", wantTOML, strings.TrimPrefix(err.Error(), "toml: "), page)
	}
	// The library's own search for unknown keys counts lines anew for each.
	w := walker{src: s, page: page, at: positions{}, allowed: map[string]bool{}, root: reflect.TypeOf(into).Elem()}
	keysOf(w.root, "", w.allowed)
	w.walk(text)
	return w.at, w.faults
}

// keysOf collects the keys that a value has, with those of the tables in it:
// method, method.name.
func keysOf(t reflect.Type, above string, into map[string]bool) {
	if t = one(t); t.Kind() != reflect.Struct {
		return
	}
	for i := range t.NumField() {
		name := tomlName(t.Field(i))
		if name == "" {
			continue
		}
		into[above+name] = true
		keysOf(t.Field(i).Type, above+name+".", into)
	}
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

// walker goes through a text that has been decoded without complaint, in one
// pass: it notes where keys stand, and which nobody knows.
type walker struct {
	src     Source
	page    string
	text    []byte
	at      positions
	allowed map[string]bool
	root    reflect.Type
	faults  knownwater.Faults
	counted int // up to where lines are counted
	lines   int
}

// line is the row of a place; places come in order.
func (w *walker) line(offset int) int {
	if offset > w.counted {
		w.lines += bytes.Count(w.text[w.counted:offset], []byte{'\n'})
		w.counted = offset
	}
	return w.lines + 1
}

// names are the parts of a key and its row.
func (w *walker) names(it unstable.Iterator) (key string, row int) {
	var names []string
	for it.Next() {
		n := it.Node()
		if row == 0 {
			row = w.line(int(n.Raw.Offset))
		}
		names = append(names, string(n.Data))
	}
	return strings.Join(names, "."), row
}

func (w *walker) walk(text []byte) {
	w.text = text
	count := map[string]int{}
	var parser unstable.Parser
	parser.Reset(text)
	table, numbered := "", "" // method, method.0
	for parser.NextExpression() {
		e := parser.Expression()
		key, row := w.names(e.Key())
		switch e.Kind {
		case unstable.ArrayTable, unstable.Table:
			table, numbered = key, key
			if e.Kind == unstable.ArrayTable {
				numbered = fmt.Sprintf("%s.%d", key, count[key])
				count[key]++
			}
			w.at[numbered] = row
			if w.check(table, row) && e.Kind == unstable.Table {
				w.single(table, row)
			}
		case unstable.KeyValue:
			w.at[strings.TrimPrefix(numbered+"."+key, ".")] = row
			full := strings.TrimPrefix(table+"."+key, ".")
			if w.check(full, row) {
				w.value(full, row, e.Value())
			}
		}
	}
}

// check faults a key that nobody knows.
func (w *walker) check(key string, row int) bool {
	if !w.allowed[key] && len(w.faults) < mostFaults {
		f := w.src.fault(row, key, "an unknown key", "a key of %s; look for a slip of the pen", w.page)
		if meant := w.meant(key); meant != "" {
			f = w.src.fault(row, key, "an unknown key", "%s, perhaps; else a key of %s", meant, w.page)
		}
		w.faults = append(w.faults, f)
	}
	return w.allowed[key]
}

// single faults a table in single brackets where there may be several.
func (w *walker) single(key string, row int) {
	if t := typeAt(w.root, strings.Split(key, ".")); t != nil && t.Kind() == reflect.Slice {
		w.faults = append(w.faults, w.src.fault(row, key, "[%s]", "[[%s]], in double brackets: there may be several", key, key))
	}
}

// meant is the key of the same table that is spelled most alike.
func (w *walker) meant(key string) string {
	table, word := "", key
	if i := strings.LastIndexByte(key, '.'); i >= 0 {
		table, word = key[:i+1], key[i+1:]
	}
	var known []string
	for _, k := range slices.Sorted(maps.Keys(w.allowed)) {
		if rest, in := strings.CutPrefix(k, table); in && !strings.Contains(rest, ".") {
			known = append(known, rest)
		}
	}
	return near(word, known)
}

// value looks at the keys of the tables in a value.
func (w *walker) value(above string, row int, n *unstable.Node) {
	switch n.Kind {
	case unstable.Array:
		for it := n.Children(); it.Next(); {
			w.value(above, row, it.Node())
		}
	case unstable.InlineTable:
		for it := n.Children(); it.Next(); {
			key, at := w.names(it.Node().Key())
			if key = above + "." + key; w.check(key, max(at, row)) {
				w.value(key, max(at, row), it.Node().Value())
			}
		}
	}
}
