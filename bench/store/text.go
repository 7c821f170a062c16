package store

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"knownwater"
)

// Tidy is typed text as it is kept: valid UTF-8 without control characters but
// for new lines and tabs, ends of lines as \n, no space around. Two bidirectional
// overrides, which make text look like what it is not, go too.
func Tidy(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\uFFFD")
	}
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r == '\r':
			return '\n'
		case unicode.IsControl(r), r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069':
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// Longest texts, in bytes.
const (
	longestName = 200
	longestText = 4000
)

// Line tidies a one-line text in place and notes a fault if it is too long, or
// empty where it must not be.
func Line(fs *knownwater.Faults, column string, s *string, must bool) {
	*s = strings.Join(strings.Fields(Tidy(*s)), " ")
	tooLong(fs, column, *s, longestName)
	if must && *s == "" {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: "nothing", Want: "a few words"})
	}
}

// Lines is Line for texts of several lines that may be empty.
func Lines(fs *knownwater.Faults, column string, s *string) {
	*s = Tidy(*s)
	tooLong(fs, column, *s, longestText)
}

func tooLong(fs *knownwater.Faults, column, s string, most int) {
	if len(s) > most {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: "%d bytes of text", Want: "at most %d"}.Of(len(s), most))
	}
}

// Day tidies a date that may be empty.
func Day(fs *knownwater.Faults, column string, s *string) {
	*s = Tidy(*s)
	if _, err := time.Parse(time.DateOnly, *s); err != nil && *s != "" {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: fmt.Sprintf("%q", *s), Want: "a date like 2026-03-01"})
	}
}

// OrNil is nil without faults: a nil slice in an error would not be nil.
func OrNil(fs knownwater.Faults) error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}

// NoNumber is the fault of a description that JSON cannot hold.
func NoNumber() knownwater.Faults {
	return knownwater.Faults{{Found: "a number that is none", Want: "numbers throughout"}}
}

// Reason tidies a reason that must be given.
func Reason(why string) (string, error) {
	var fs knownwater.Faults
	Lines(&fs, "why", &why)
	if why == "" {
		fs = append(fs, knownwater.Fault{Column: "why", Found: "no reason", Want: "a few words: they stand in the records and the report"})
	}
	return why, OrNil(fs)
}

var keyShape = regexp.MustCompile(`^[A-Za-z0-9-]{16,64}$`)

// CheckKey looks at a key that a phone or page made once for one entry, so that
// the entry sent again is kept once.
func CheckKey(key string) error {
	if keyShape.MatchString(key) {
		return nil
	}
	return knownwater.Faults{knownwater.Fault{Column: "key", Found: "key %.80q", Want: "16 to 64 letters, digits or hyphens"}.Of(key)}
}

// Digest is a text's SHA-256 in hexadecimal digits.
func Digest(text string) string {
	h := sha256.Sum256([]byte(text))
	return hex.EncodeToString(h[:])
}

// DrawSeed is a seed that JavaScript and TOML can hold, never 0.
func DrawSeed() uint64 {
	var raw [8]byte
	rand.Read(raw[:]) // never fails
	return binary.LittleEndian.Uint64(raw[:])>>11 | 1
}
