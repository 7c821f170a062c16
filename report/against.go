package report

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"knownwater"
	"knownwater/science/assess"
)

// Change is one place where a page is not what this program writes.
type Change struct {
	Row    int    // of the page as it stands
	Where  string // the heading above it, or what it is part of
	Stands string // empty: nothing does
	Should string // empty: nothing should
}

// Found is what stands.
func (c Change) Found() string {
	where := ""
	if c.Where != "" {
		where = c.Where + ": "
	}
	if c.Stands == "" {
		return where + english.Say("something is missing")
	}
	return where + english.Say("“{1}” stands", c.Stands)
}

// Want is what should stand.
func (c Change) Want() string {
	if c.Should == "" {
		return "nothing should stand there"
	}
	return "“" + c.Should + "” should"
}

// MostChanges is how many changes of a page are looked for.
const MostChanges = 200

// SameMachine says whether the page was computed by a program built alike: then
// not one byte may differ. Otherwise last digits may.
func (d Document) SameMachine() bool { return d.packed.Computed == Computed() }

// ComputedWith is what the page's program was built with and for.
func (d Document) ComputedWith() string { return d.packed.Computed }

// Changes renders the page again, from findings that were computed again and from
// all else that it carries, and lists where it is not the same byte for byte. It
// knows nothing of what stands on a page. Where the page was computed by a
// program built otherwise, numbers that agree to the given digits are the same,
// and the inputs stay packed as they are.
func (d Document) Changes(again assess.Findings, t knownwater.Trial, digits int) ([]Change, error) {
	return d.changes(digits, func(w io.Writer, packed *packedInputs) error {
		return Page{Findings: again, Trial: t, Inputs: d.Inputs, packed: packed}.Write(w)
	})
}

// changes holds the page against the one that write makes, with its inputs packed as they
// were where that is not nil.
func (d Document) changes(digits int, write func(w io.Writer, packed *packedInputs) error) ([]Change, error) {
	c := pageComparison{}
	var packed *packedInputs
	if !d.SameMachine() {
		packed, c.tolerance = &d.packed, math.Pow10(-digits)
	}
	var fresh bytes.Buffer
	if err := write(&fresh, packed); err != nil {
		return nil, err
	}
	c.compare(d.page, fresh.Bytes())
	if d.strange != "" && len(c.out) == 0 {
		c.out = append(c.out, Change{Row: d.row, Stands: d.strange})
	}
	return c.out, nil
}

// pageComparison holds two pages line by line.
type pageComparison struct {
	tolerance float64
	out       []Change
}

// farthestAhead is how many lines ahead a comparison looks for where two pages go on
// alike.
const farthestAhead = 400

func (c *pageComparison) compare(stands, should []byte) {
	if bytes.Equal(stands, should) {
		return
	}
	a, b := bytes.Split(stands, []byte{'\n'}), bytes.Split(should, []byte{'\n'})
	where := newPlaces(a)
	for i, j := 0, 0; (i < len(a) || j < len(b)) && len(c.out) < MostChanges; {
		if i < len(a) && j < len(b) && c.same(a[i], b[j]) {
			i, j = i+1, j+1
			continue
		}
		m, n := c.resume(a[i:], b[j:])
		for k := range max(m, n) {
			change := Change{Row: min(i+min(k, max(m-1, 0)), len(a)-1) + 1, Where: where.at(i + min(k, max(m-1, 0)))}
			switch {
			case k < m && k < n && c.same(a[i+k], b[j+k]):
				continue
			case k >= m:
				change.Should = shownLine(b[j+k])
			case k >= n:
				change.Stands = shownLine(a[i+k])
			default:
				change.Stands, change.Should = c.apart(a[i+k], b[j+k])
			}
			c.out = append(c.out, change)
			if len(c.out) >= MostChanges {
				return
			}
		}
		i, j = i+m, j+n
	}
}

// resume says after how many lines of each the two go on alike, the fewest in
// all; to their ends where they do not.
func (c *pageComparison) resume(a, b [][]byte) (m, n int) {
	for sum := 1; sum <= farthestAhead; sum++ {
		for m = 0; m <= sum; m++ {
			n = sum - m
			if m < len(a) && n < len(b) && len(a[m]) > 3 && c.same(a[m], b[n]) {
				return m, n
			}
		}
	}
	return len(a), len(b)
}

var numbersIn = regexp.MustCompile(`\d+(?:\.\d+)?(?:[eE][-+]?\d+)?`)

// same holds two lines byte for byte or, with a tolerance, number by number.
func (c *pageComparison) same(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	if c.tolerance == 0 {
		return false
	}
	x, y := numbersIn.FindAllIndex(a, -1), numbersIn.FindAllIndex(b, -1)
	if len(x) != len(y) {
		return false
	}
	ends := func(line []byte, at [][]int, k int) (before, number []byte) {
		from := 0
		if k > 0 {
			from = at[k-1][1]
		}
		if k == len(at) {
			return line[from:], nil
		}
		return line[from:at[k][0]], line[at[k][0]:at[k][1]]
	}
	for k := range len(x) + 1 {
		beforeA, numberA := ends(a, x, k)
		beforeB, numberB := ends(b, y, k)
		if !bytes.Equal(beforeA, beforeB) || !c.near(numberA, numberB) {
			return false
		}
	}
	return true
}

func (c *pageComparison) near(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	x, err1 := strconv.ParseFloat(string(a), 64)
	y, err2 := strconv.ParseFloat(string(b), 64)
	return err1 == nil && err2 == nil && math.Abs(x-y) <= c.tolerance*math.Max(x, y)
}

// apart shows two lines around the first place where they differ: what a person
// sees of them, or as they are written where that is the same.
func (c *pageComparison) apart(a, b []byte) (string, string) {
	x, y := seen(a), seen(b)
	if x == y {
		x, y = string(a), string(b)
	}
	at := 0
	for at < len(x) && at < len(y) && x[at] == y[at] {
		at++
	}
	return around(x, at), around(y, at)
}

func shownLine(line []byte) string {
	if s := seen(line); s != "" {
		return around(s, 0)
	}
	if len(bytes.TrimSpace(line)) == 0 {
		return "an empty line"
	}
	return around(string(line), 0)
}

var tags = regexp.MustCompile(`<[^<>]*>`)

// seen is a line without its tags.
func seen(line []byte) string {
	return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(string(line), " "))), " ")
}

// around cuts a text to some letters about a place in it.
func around(s string, at int) string {
	const before, after = 40, 60
	from, to := max(0, at-before), min(len(s), at+after)
	for from > 0 && !utf8.RuneStart(s[from]) {
		from--
	}
	for to < len(s) && !utf8.RuneStart(s[to]) {
		to++
	}
	cut := s[from:to]
	if from > 0 {
		cut = "…" + cut
	}
	if to < len(s) {
		cut += "…"
	}
	return knownwater.Plain(cut)
}

// places tells of each line of a page under which heading it stands, or in which
// part that has none.
type places struct {
	rows  []int
	names []string
}

var (
	headings = regexp.MustCompile(`(?i)<h[1-6][^>]*>(.*?)</h[1-6]>`)
	parts    = regexp.MustCompile(`(?i)<(style|script)\b[^<>]*`)
	partEnds = regexp.MustCompile(`(?i)</(style|script)`)
)

func newPlaces(lines [][]byte) places {
	var p places
	heading := ""
	note := func(row int, name string) { p.rows, p.names = append(p.rows, row), append(p.names, name) }
	for i, line := range lines {
		if len(line) > 1<<20 { // data
			line = line[:1<<10]
		}
		if h := headings.FindSubmatch(line); h != nil {
			heading = fmt.Sprintf("under “%s”", around(seen(h[1]), 0))
			note(i, heading)
		}
		if m := parts.FindSubmatch(line); m != nil {
			note(i, map[string]string{"style": "in the page’s style", "script": "in the page’s data"}[strings.ToLower(string(m[1]))])
		}
		if partEnds.Match(line) {
			note(i+1, heading)
		}
	}
	return p
}

func (p places) at(row int) string {
	name := ""
	for k, from := range p.rows {
		if from > row {
			break
		}
		name = p.names[k]
	}
	return name
}
