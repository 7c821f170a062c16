package store

import (
	"strings"
	"testing"
)

func TestTidy(t *testing.T) {
	for in, want := range map[string]string{
		" a\r\nb\rc ": "a\nb\nc", "x\x00y\x1bz": "xyz", "\xff": "\uFFFD", "abc\u202edef": "abcdef", "a\tb": "a\tb", "\u0085": "",
	} {
		if got := Tidy(in); got != want {
			t.Errorf("tidy(%q) = %q, want %q", in, got, want)
		}
	}
}

func FuzzTidy(f *testing.F) {
	f.Add("a\r\nb")
	f.Fuzz(func(t *testing.T, s string) {
		once := Tidy(s)
		if Tidy(once) != once {
			t.Errorf("tidy(%q) = %q, which is not tidy", s, once)
		}
		if strings.ContainsAny(once, "\r\x00") {
			t.Errorf("tidy(%q) = %q", s, once)
		}
	})
}
