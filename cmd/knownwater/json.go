package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
)

// writeJSON prints one JSON object over many lines, full precision, and nothing else.
func writeJSON(out io.Writer, v any) error {
	var whole bytes.Buffer
	e := json.NewEncoder(&whole)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	w := bufio.NewWriterSize(out, 1<<16)
	indent(w, whole.Bytes())
	return w.Flush()
}

const manySpaces = "\n                                                                "

// indent writes JSON that is known to be whole and without blanks, as json.Indent with two blanks would, which
// looks at every byte of a long log twice to see that it is (half of the time that one took).
func indent(w *bufio.Writer, whole []byte) {
	depth := 0
	line := func() {
		w.WriteString(manySpaces[:min(1+2*depth, len(manySpaces))]) // bufio.Writer keeps its first error for Flush
		for k := len(manySpaces); k < 1+2*depth; k++ {
			w.WriteByte(' ')
		}
	}
	for i := 0; i < len(whole); i++ {
		switch c := whole[i]; c {
		case '"':
			end := i + 1
			for ; whole[end] != '"'; end++ {
				if whole[end] == '\\' {
					end++
				}
			}
			w.Write(whole[i : end+1])
			i = end
		case '{', '[':
			w.WriteByte(c)
			if whole[i+1] == c+2 { // empty
				w.WriteByte(c + 2)
				i++
				continue
			}
			depth++
			line()
		case '}', ']':
			depth--
			line()
			w.WriteByte(c)
		case ',':
			w.WriteByte(c)
			line()
		case ':':
			w.WriteString(": ")
		default:
			w.WriteByte(c)
		}
	}
}
