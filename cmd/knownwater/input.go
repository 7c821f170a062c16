package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"knownwater"
	"knownwater/intake"
)

// mostStdin bounds what is taken in from standard input, which has no size.
const mostStdin = 4 << 30

// source reads a file whole, or standard input for the name -, which one thing only
// can be read from.
func (e *env) source(path string) (intake.Source, error) {
	if path != "-" {
		return openSource(path)
	}
	if e.stdinRead {
		return intake.Source{}, knownwater.Fault{File: stdin, Found: "it was read already", Want: "- once, and files for the rest"}
	}
	e.stdinRead = true
	data, err := io.ReadAll(io.LimitReader(e.in, mostStdin+1))
	switch {
	case err != nil:
		return intake.Source{}, knownwater.Fault{File: stdin, Found: "cannot be read", Want: unwrapped(err)}
	case int64(len(data)) > mostStdin:
		return intake.Source{}, knownwater.Fault{File: stdin, Found: "more than %d GB", Want: "a file"}.Of(mostStdin >> 30)
	}
	return intake.Source{Name: stdin, Data: data}, nil
}

// stdin is what standard input is called in faults.
const stdin = "standard input"

// openSource reads a file whole.
func openSource(path string) (intake.Source, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return intake.Source{}, knownwater.Fault{File: path, Found: "cannot be read", Want: unwrapped(err)}
	}
	return intake.Source{Name: path, Data: data}, nil
}

// unwrapped is what the system said, without the path that stands before it.
func unwrapped(err error) string {
	if pe, ok := err.(*os.PathError); ok {
		return pe.Err.Error()
	}
	return err.Error()
}

// joined is one table that came in several files: the rows of all, under the header
// that all of them have.
type joined struct {
	intake.Source
	parts []part
}

// part is one file of it: its name, and the line of the whole where its rows begin,
// which is its second line.
type part struct {
	name string
	from int
}

// join reads files as one table. One file stays as it is; several are text with the
// same header, as a person keeps a year a file.
func (e *env) join(paths []string) (joined, error) {
	first, err := e.source(paths[0])
	j := joined{Source: first}
	if err != nil || len(paths) == 1 {
		return j, err
	}
	header, rows, err := headed(first)
	if err != nil {
		return j, err
	}
	whole := bytes.NewBuffer(append(header, rows...))
	j.parts = []part{{first.Name, 2}}
	for _, path := range paths[1:] {
		next, err := e.source(path)
		if err != nil {
			return j, err
		}
		h, rows, err := headed(next)
		if err != nil {
			return j, err
		}
		if strings.TrimSpace(string(h)) != strings.TrimSpace(string(header)) {
			return j, knownwater.Fault{File: next.Name, Row: 1, Found: "its header differs from that of %s, %q",
				Want: "files with the same columns in the same order"}.Of(filepath.Base(first.Name), strings.TrimSpace(string(header)))
		}
		j.parts = append(j.parts, part{next.Name, 1 + bytes.Count(whole.Bytes(), []byte("\n"))})
		whole.Write(rows)
	}
	j.Data = whole.Bytes()
	j.Name = english.Say("{1} and {2} more", filepath.Base(first.Name), fmt.Sprint(len(paths)-1))
	return j, nil
}

// headed parts the first line of a table from its rows, which end in a line end.
func headed(s intake.Source) (header, rows []byte, err error) {
	text := bytes.TrimPrefix(s.Data, []byte("\xef\xbb\xbf"))
	if bytes.HasPrefix(text, []byte("PK")) || bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return nil, nil, knownwater.Fault{File: s.Name, Found: "a workbook or UTF-16, and one of several files", Want: "each of several files as CSV in UTF-8"}
	}
	at := bytes.IndexByte(text, '\n') + 1
	if at == 0 {
		return nil, nil, knownwater.Fault{File: s.Name, Found: "no row below its header", Want: "a header and rows"}
	}
	rows = text[at:]
	if len(rows) > 0 && rows[len(rows)-1] != '\n' {
		rows = append(bytes.Clone(rows), '\n')
	}
	return bytes.Clone(text[:at]), rows, nil
}

// place says of faults in which of the files they are, and on which line there.
func (j joined) place(err error) error {
	var faults knownwater.Faults
	var one knownwater.Fault
	switch {
	case len(j.parts) == 0:
		return err
	case errors.As(err, &faults):
		out := make(knownwater.Faults, len(faults))
		for i, f := range faults {
			out[i] = j.placed(f)
		}
		return out
	case errors.As(err, &one):
		return j.placed(one)
	}
	return err
}

func (j joined) placed(f knownwater.Fault) knownwater.Fault {
	if f.File != j.Name {
		return f
	}
	in := j.parts[0]
	for _, p := range j.parts {
		if p.from <= f.Row {
			in = p
		}
	}
	f.File = in.name
	if f.Row > 1 {
		f.Row -= in.from - 2
	}
	return f
}
