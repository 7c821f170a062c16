package intake

import (
	"bytes"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A value of another kind than its key takes is refused in words of TOML, with the value
// as it stands; the library speaks of the fields of the program.

// wellFormed says whether a text is TOML, whatever its keys and values are.
func wellFormed(text []byte) bool {
	var p unstable.Parser
	p.Reset(text)
	for p.NextExpression() {
	}
	return p.Error() == nil
}

// typeAt is the type of what a key of a table takes; nil of keys that nobody knows.
func typeAt(t reflect.Type, key []string) reflect.Type {
	for _, name := range key {
		if t = one(t); t.Kind() != reflect.Struct {
			return nil
		}
		i := 0
		for i < t.NumField() && tomlName(t.Field(i)) != name {
			i++
		}
		if i == t.NumField() {
			return nil
		}
		t = t.Field(i).Type
	}
	return t
}

// one is what a list holds, or a pointer points to.
func one(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Array {
		t = t.Elem()
	}
	return t
}

func tomlName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
	return name
}

// mostInLine is how many keys a table has at most that stands in one line.
const mostInLine = 4

// wanted is what a key takes, in words with the key and what a table holds for their values.
func wanted(t reflect.Type, key string) (want string, values []any) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	list, e := t.Kind() == reflect.Slice || t.Kind() == reflect.Array, one(t)
	switch kind := e.Kind(); {
	case kind == reflect.Struct && e.NumField() > mostInLine:
		return "[[%s]], and below it its keys, each on a line", []any{key}
	case kind == reflect.Struct && list:
		return "a list: %s = [ %s, … ]", []any{key, inLine(e)}
	case kind == reflect.Struct:
		return "a table: %s = %s", []any{key, inLine(e)}
	case kind == reflect.String && list:
		return "a list of texts: %s = [ \"…\", … ]", []any{key}
	case kind == reflect.String:
		return "text in quotes: %s = \"…\"", []any{key}
	case kind == reflect.Bool:
		return "%s = true or %s = false", []any{key, key}
	case kind == reflect.Int:
		return "a whole number: %s = 2", []any{key}
	case list:
		return "a list of numbers: %s = [ 1, 2.5 ]", []any{key}
	default:
		return "a number: %s = 2.5", []any{key}
	}
}

// inLine is a table as it stands in one line.
func inLine(t reflect.Type) string {
	var of []string
	for i := range t.NumField() {
		of = append(of, tomlName(t.Field(i))+" = …")
	}
	return "{ " + strings.Join(of, ", ") + " }"
}

const mostValue = 40

// valueOn is what stands on a row behind its key, or how it begins.
func valueOn(text []byte, row int) string {
	lines := bytes.Split(text, []byte{'\n'})
	if row < 1 || row > len(lines) {
		return ""
	}
	line := string(lines[row-1])
	if _, value, found := strings.Cut(line, "="); found {
		line = value
	}
	r := []rune(strings.TrimSpace(line))
	if len(r) > mostValue {
		r = append(r[:mostValue], '…')
	}
	return string(r)
}
