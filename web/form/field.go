package form

import "knownwater"

// Field is one field of a form for the template "field": what was typed, and what
// is wrong with it.
type Field struct {
	ID, Name, Label, Hint, Value, Type, Mode, Extra string
	Wrong                                           knownwater.Faults
}

// NewField binds a field to its form. more are pairs: "type", "mode" (for a phone's
// keyboard), "class", and "id" where two forms of a page have a field of one name.
func NewField(f *Form, name, label, hint string, more ...string) Field {
	v := Field{ID: name, Name: name, Label: label, Hint: hint, Value: f.Get(name), Wrong: f.Wrong(name), Type: "text"}
	for i := 0; i+1 < len(more); i += 2 {
		switch more[i] {
		case "type":
			v.Type = more[i+1]
		case "mode":
			v.Mode = more[i+1]
		case "class":
			v.Extra = more[i+1]
		case "id":
			v.ID = more[i+1]
		}
	}
	return v
}
