package main

import (
	"bytes"
	"io"
	"strings"
	"unicode/utf8"

	"knownwater"
)

// plain is an output on which nothing that stood in somebody's file can steer the
// terminal. It is for text and JSON, which keep their lines and tabs.
type plain struct {
	to   io.Writer
	rest []byte // of a letter that the next write ends
}

func (p *plain) Write(b []byte) (int, error) {
	if len(p.rest) == 0 && utf8.Valid(b) && !bytes.ContainsFunc(b, func(r rune) bool { return r != '\n' && r != '\t' && knownwater.Steers(r) }) {
		return p.to.Write(b) // nothing to write otherwise: no copy of a long answer is made
	}
	s := string(p.rest) + string(b)
	whole := len(s)
	for i := 1; i < utf8.UTFMax && i <= len(s); i++ {
		if c := s[len(s)-i]; utf8.RuneStart(c) {
			if !utf8.FullRuneInString(s[len(s)-i:]) {
				whole = len(s) - i
			}
			break
		}
	}
	p.rest = []byte(s[whole:])
	var text strings.Builder
	from := 0
	for i := 0; i <= whole; i++ {
		if i == whole || s[i] == '\n' || s[i] == '\t' {
			text.WriteString(knownwater.Plain(s[from:i]))
			if i < whole {
				text.WriteByte(s[i])
			}
			from = i + 1
		}
	}
	_, err := io.WriteString(p.to, text.String())
	return len(b), err
}
