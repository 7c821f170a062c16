package main

import (
	"bytes"
	"testing"
)

// TestPlainOutput writes byte by byte: letters stay whole, nothing steers.
func TestPlainOutput(t *testing.T) {
	var b bytes.Buffer
	p := &plain{to: &b}
	for _, c := range []byte("µg\tÜ \x1b[2J\u202e€\n\xff.") {
		if _, err := p.Write([]byte{c}); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := b.String(), "µg\tÜ \\u001b[2J\\u202e€\n\\xff."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
