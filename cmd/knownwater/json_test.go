package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"testing"
)

// What is printed is, byte for byte, what json.Indent makes of it.
func TestIndent(t *testing.T) {
	deep := any("end")
	for range 40 {
		deep = []any{deep, map[string]any{}}
	}
	for _, v := range []any{nil, 1.5, "a", []int{}, map[string]any{}, deep,
		map[string]any{"a": []any{1, "x\\\"y{,:]}", nil, true, []any{}, map[string]any{"b": -1e-300}}, "é\u2028<&>": "\\", "q": `\"`}} {
		var whole, want, got bytes.Buffer
		e := json.NewEncoder(&whole)
		e.SetEscapeHTML(false)
		if err := e.Encode(v); err != nil {
			t.Fatal(err)
		}
		if err := json.Indent(&want, whole.Bytes(), "", "  "); err != nil {
			t.Fatal(err)
		}
		w := bufio.NewWriter(&got)
		indent(w, whole.Bytes())
		w.Flush()
		if got.String() != want.String() {
			t.Errorf("%s\nshould be\n%s", got.String(), want.String())
		}
	}
}
