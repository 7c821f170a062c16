// Package intake reads what people hand in — readings.csv or .xlsx,
// methods.toml, need.toml, points.csv — into values, or into all the faults
// at once with file, row and column. docs/formats.md is its contract.
//
// A file of readings flows like this:
//
//  1. source: bytes become checked UTF-8 (byte order marks, UTF-16);
//  2. sheet: rows of cells, from CSV or from a workbook, one at a time;
//  3. tally: rows alike in everything that is analysed are counted together,
//     still as text, so that a million rows cost a pass over their bytes;
//  4. numbers: each distinct text is understood once, after all were seen,
//     which is also when the decimal mark is decided;
//  5. trial: texts, methods and scales become observations, or faults; only
//     where there are faults is the file read again, to name every row.
package intake

import (
	"bytes"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"knownwater"
)

// Source is a file that somebody handed in: the name to call it by in faults,
// and its bytes. The zero Source is a file that was not given.
type Source struct {
	Name string
	Data []byte
	// File stands for Data where a file is too large to be held: a plain table is
	// read from it piece by piece, again for every pass. Size is its length.
	File io.ReaderAt
	Size int64
}

func (s Source) given() bool { return s.Name != "" || s.Data != nil || s.File != nil }

// base is the name without the folders of somebody's machine, for notes: they
// are printed, and must read the same wherever the file lies.
func (s Source) base() string { return s.Name[strings.LastIndexAny(s.Name, `/\`)+1:] }

// head is how the bytes begin.
func (s Source) head() []byte {
	if s.File == nil {
		return s.Data[:min(len(s.Data), 8)]
	}
	b := make([]byte, min(8, s.Size))
	n, _ := s.File.ReadAt(b, 0)
	return b[:n]
}

// whole is the source with all its bytes in memory.
func (s Source) whole() (Source, knownwater.Faults) {
	if s.File == nil {
		return s, nil
	}
	data := make([]byte, s.Size)
	if n, err := s.File.ReadAt(data, 0); err != nil && (err != io.EOF || int64(n) < s.Size) {
		return s, s.refuse(0, "", "cannot be read", err.Error())
	}
	return Source{Name: s.Name, Data: data}, nil
}

func (s Source) fault(row int, column, found, want string, values ...any) knownwater.Fault {
	return knownwater.Fault{File: s.Name, Row: row, Column: column, Found: found, Want: want}.Of(values...)
}

// at is a fault with its place in the file.
func (s Source) at(row int, column string, f knownwater.Fault) knownwater.Fault {
	f.File, f.Row, f.Column = s.Name, row, column
	return f
}

func (s Source) refuse(row int, column, found, want string, values ...any) knownwater.Faults {
	return knownwater.Faults{s.fault(row, column, found, want, values...)}
}

// text is the file as UTF-8 with LF line ends; the bytes themselves where they
// are that already.
func (s Source) text() ([]byte, knownwater.Faults) {
	data := s.Data
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		decoded, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil || bytes.ContainsRune(decoded, utf8.RuneError) { // how the decoder marks what is broken
			return nil, s.refuse(0, "", "the file says it is UTF-16 and is not", "a file saved as UTF-8")
		}
		data = decoded
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return nil, s.refuse(lineOf(data, i), "", "a NUL byte", "text: save the file as UTF-8")
	}
	if !utf8.Valid(data) {
		return nil, s.badUTF8(data)
	}
	if bytes.IndexByte(data, '\r') >= 0 && bytes.IndexByte(data, '\n') < 0 {
		data = bytes.ReplaceAll(data, []byte{'\r'}, []byte{'\n'})
	}
	return data, nil
}

// anyText is text for a table, which may be written in Windows-1252 too, as older
// spreadsheets do; the note says so. A text with characters of UTF-8 in it is
// UTF-8 with damage, and no other encoding.
func (s Source) anyText() (data []byte, old bool, faults knownwater.Faults) {
	if utf8.Valid(s.Data) || bytes.IndexByte(s.Data, 0) >= 0 || bytes.HasPrefix(s.Data, []byte("\xff\xfe")) || bytes.HasPrefix(s.Data, []byte("\xfe\xff")) || mixedUTF8(s.Data) {
		data, faults = s.text()
		return data, false, faults
	}
	decoded, err := charmap.Windows1252.NewDecoder().Bytes(s.Data)
	if err != nil || bytes.ContainsRune(decoded, utf8.RuneError) { // five bytes mean nothing in it
		return nil, false, s.badUTF8(s.Data)
	}
	data, faults = Source{Name: s.Name, Data: decoded}.text()
	return data, true, faults
}

// mixedUTF8 says whether a text that is not UTF-8 has whole characters of UTF-8
// beyond ASCII all the same.
func mixedUTF8(data []byte) bool {
	for i := 0; i < len(data); i++ {
		if data[i] < utf8.RuneSelf {
			continue
		}
		if r, size := utf8.DecodeRune(data[i:]); r != utf8.RuneError && size > 1 {
			return true
		}
	}
	return false
}

// badUTF8 names every line with bytes that are not UTF-8.
func (s Source) badUTF8(data []byte) knownwater.Faults {
	var fs knownwater.Faults
	row := 0
	for len(data) > 0 && len(fs) < mostFaults {
		var line []byte
		line, data, _ = bytes.Cut(data, []byte{'\n'})
		row++
		if utf8.Valid(line) {
			continue
		}
		for i := 0; i < len(line); {
			r, size := utf8.DecodeRune(line[i:])
			if r == utf8.RuneError && size == 1 {
				fs = append(fs, s.fault(row, "", "byte 0x%02x is not UTF-8", "a file saved as UTF-8", line[i]))
				break
			}
			i += size
		}
	}
	return fs
}

func lineOf(data []byte, at int) int { return 1 + bytes.Count(data[:at], []byte{'\n'}) }

// mostFaults bounds what a file of nothing but faults can cost; the first
// knownwater.MostFaults of them are printed.
const mostFaults = 10000
