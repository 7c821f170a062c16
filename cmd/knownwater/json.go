package main

import (
	"encoding/json"
	"io"
)

// writeJSON prints one object, full precision, and nothing else.
func writeJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
