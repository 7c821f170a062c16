package main

import (
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"knownwater"
)

// widthOf is how wide a terminal is; 0 where the output is none.
func widthOf(out io.Writer) int {
	if f, ok := out.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			return width
		}
	}
	return 0
}

// colourOn says whether what is written there may be coloured: on a terminal that can,
// unless NO_COLOR says no (no-color.org).
func colourOn(out io.Writer, getenv func(string) string) bool {
	f, ok := out.(*os.File)
	return ok && term.IsTerminal(int(f.Fd())) && getenv("NO_COLOR") == "" && getenv("TERM") != "dumb"
}

// style is how words stand out; the zero style does nothing.
type style struct{ on bool }

func (s style) bold(text string) string {
	if !s.on || text == "" {
		return text
	}
	return "\033[1m" + text + "\033[0m"
}

// faults are lines whose places stand out.
func (s style) faults(fs knownwater.Faults) string {
	if !s.on {
		return fs.Error()
	}
	var lines []string
	for i, line := range strings.Split(fs.Error(), "\n") {
		if i < len(fs) && i < knownwater.MostFaults {
			place := knownwater.Fault{File: fs[i].File, Row: fs[i].Row, Column: fs[i].Column}.Error()
			line = s.bold(strings.TrimSuffix(place, " ")) + line[len(strings.TrimSuffix(place, " ")):]
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// folding breaks lines that are longer than a terminal is wide between words; what
// follows stands in as far as the line began. Rows of tables, in which words are held
// apart by more than one blank, stay as they are.
type folding struct {
	to    io.Writer
	width int
	rest  string // of a line that has not come to its end
}

func (f *folding) Write(b []byte) (int, error) {
	lines := strings.SplitAfter(f.rest+string(b), "\n")
	f.rest = lines[len(lines)-1]
	for _, line := range lines[:len(lines)-1] {
		if _, err := io.WriteString(f.to, fold(line, f.width)); err != nil {
			return 0, err
		}
	}
	return len(b), nil
}

// flush writes what has no line end: a question, mostly.
func (f *folding) flush() {
	io.WriteString(f.to, f.rest)
	f.rest = ""
}

// leastWidth is what a terminal is taken to have at least.
const leastWidth = 30

func fold(line string, width int) string {
	width = max(width, leastWidth)
	text := strings.TrimRight(line, "\n")
	body := strings.TrimLeft(text, " ")
	if utf8.RuneCountInString(text) <= width || strings.Contains(body, "  ") || strings.Contains(body, "\t") {
		return line
	}
	indent := strings.Repeat(" ", min(len(text)-len(body), width/3))
	if strings.HasPrefix(body, "- ") || strings.HasPrefix(body, "? ") {
		indent += "  "
	}
	var b strings.Builder
	b.WriteString(text[:len(text)-len(body)])
	at := len(text) - len(body)
	for i, word := range strings.Split(body, " ") {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + indent)
			at = len(indent)
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return b.String() + line[len(text):]
}
