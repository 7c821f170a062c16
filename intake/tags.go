package intake

import (
	"bufio"
	"bytes"
	"io"
	"strconv"
	"unicode/utf8"
)

// tags reads the tags of an XML text (as parts of workbooks are written: UTF-8,
// no document types) one by one with the text before each, in memory that does
// not grow with it. What is not well-formed may be read somehow; it never
// fails worse than with an error.
type tags struct {
	in    *bufio.Reader
	name  string // without its prefix
	end   bool   // </name>
	empty bool   // <name/>
	attrs []byte
	raw   []byte // text before the tag, as it stands
	long  bool   // and it was longer than anything that is wanted
}

// mostTag bounds a tag, mostText the text between two.
const mostTag, mostText = 1 << 16, 1 << 16

// next steps to the next tag; io.EOF at the end.
func (t *tags) next() error {
	t.raw, t.long = t.raw[:0], false
	for {
		if err := t.upTo('<', &t.raw, mostText); err != nil {
			return err
		}
		switch head, _ := t.in.Peek(8); {
		case bytes.HasPrefix(head, []byte("![CDATA[")):
			t.in.Discard(8)
			if err := t.past("]]>", &t.raw); err != nil {
				return err
			}
			continue
		case bytes.HasPrefix(head, []byte("!--")):
			if err := t.past("-->", nil); err != nil {
				return err
			}
			continue
		}
		break
	}
	t.attrs = t.attrs[:0]
	for quotes := byte(0); ; {
		c, err := t.in.ReadByte()
		switch {
		case err == io.EOF:
			return io.ErrUnexpectedEOF
		case err != nil:
			return err
		case quotes != 0:
			if c == quotes {
				quotes = 0
			}
		case c == '"', c == '\'':
			quotes = c
		case c == '>':
			t.split()
			return nil
		}
		if t.attrs = append(t.attrs, c); len(t.attrs) > mostTag {
			return errWorkbook
		}
	}
}

// upTo reads up to a byte and steps over it.
func (t *tags) upTo(b byte, into *[]byte, most int) error {
	for {
		part, err := t.in.ReadSlice(b)
		if err == nil {
			part = part[:len(part)-1]
		}
		if room := most - len(*into); len(part) > room {
			part, t.long = part[:max(0, room)], true
		}
		*into = append(*into, part...)
		if err != bufio.ErrBufferFull {
			return err
		}
	}
}

// past reads past a mark; what stands before it is text as it stands, escaped
// so that text gives it back.
func (t *tags) past(mark string, into *[]byte) error {
	var tail []byte
	for {
		c, err := t.in.ReadByte()
		if err == io.EOF {
			return io.ErrUnexpectedEOF
		} else if err != nil {
			return err
		}
		tail = append(tail, c)
		if bytes.HasSuffix(tail, []byte(mark)) {
			if into != nil {
				*into = append(*into, bytes.ReplaceAll(tail[:len(tail)-len(mark)], []byte("&"), []byte("&amp;"))...)
			}
			return nil
		}
		if into == nil && len(tail) > len(mark) {
			tail = tail[1:]
		}
		if len(tail) > mostText {
			return errWorkbook
		}
	}
}

// split parts the tag's name from its attributes.
func (t *tags) split() {
	a := t.attrs
	t.end = len(a) > 0 && a[0] == '/'
	if t.end {
		a = a[1:]
	}
	t.empty = len(a) > 0 && a[len(a)-1] == '/'
	if t.empty {
		a = a[:len(a)-1]
	}
	name := a
	if i := bytes.IndexAny(a, " \t\r\n"); i >= 0 {
		name, a = a[:i], a[i:]
	} else {
		a = nil
	}
	if i := bytes.IndexByte(name, ':'); i >= 0 {
		name = name[i+1:]
	}
	if string(name) != t.name { // most tags follow their like
		t.name = string(name)
	}
	t.attrs = a
}

// attr is the value of an attribute, whatever its prefix; "" where it has none.
func (t *tags) attr(name string) string {
	for a := t.attrs; ; {
		eq := bytes.IndexByte(a, '=')
		if eq < 0 {
			return ""
		}
		key := bytes.TrimSpace(a[:eq])
		if i := bytes.LastIndexByte(key, ':'); i >= 0 {
			key = key[i+1:]
		}
		a = bytes.TrimLeft(a[eq+1:], " \t\r\n")
		if len(a) == 0 {
			return ""
		}
		end := bytes.IndexByte(a[1:], a[0])
		if end < 0 {
			return ""
		}
		if string(key) == name {
			return string(unescape(a[1 : 1+end]))
		}
		a = a[2+end:]
	}
}

// text is the text before the tag.
func (t *tags) text() []byte { return unescape(t.raw) }

var entities = map[string]string{"amp": "&", "lt": "<", "gt": ">", "quot": `"`, "apos": "'"}

// unescape puts characters for their escapes; an unknown one stays as it is.
func unescape(b []byte) []byte {
	if bytes.IndexByte(b, '&') < 0 {
		return b
	}
	out := make([]byte, 0, len(b))
	for {
		i := bytes.IndexByte(b, '&')
		if i < 0 {
			return append(out, b...)
		}
		out, b = append(out, b[:i]...), b[i:]
		end := bytes.IndexByte(b[:min(len(b), 12)], ';')
		if end < 0 {
			out, b = append(out, '&'), b[1:]
			continue
		}
		name := string(b[1:end])
		s, known := entities[name]
		if n, err := charNumber(name); err == nil && n > 0 && utf8.ValidRune(rune(n)) {
			s, known = string(rune(n)), true
		}
		if !known {
			s = string(b[:end+1])
		}
		out, b = append(out, s...), b[end+1:]
	}
}

func charNumber(name string) (int64, error) {
	switch {
	case len(name) > 2 && name[0] == '#' && (name[1] == 'x' || name[1] == 'X'):
		return strconv.ParseInt(name[2:], 16, 32)
	case len(name) > 1 && name[0] == '#':
		return strconv.ParseInt(name[1:], 10, 32)
	}
	return 0, errNoSuch
}
