package intake

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// LogFile is a log of routine readings.
type LogFile struct {
	Entries []history.Entry
	Rest    []string // of each, where it was asked for, what stands in columns of no account
	Notes   []note.Note
}

var logLayout = layout{
	asked:  true,
	wanted: []string{"taken_at", "water", "method", "reading"},
	known:  []string{"known", "u_known", "nitrite", "u_nitrite", "lot", "reader", "technique", "dilution", "pair", "note"},
	synonyms: map[string]string{"date": "taken_at", "time": "taken_at", "taken": "taken_at", "when": "taken_at", "tank": "water", "test": "method", "test kit": "method", "kit": "method",
		"result": "reading", "value": "reading", "read": "reading", "batch": "lot", "person": "reader", "read by": "reader", "who": "reader",
		"u": "u_known", "standard": "known", "dilution factor": "dilution", "no2": "nitrite", "notes": "note", "comment": "note", "remark": "note"},
}

// logLayout is how the table of a log may be headed: what somebody says of all its rows needs no
// column.
func (o Options) logLayout() layout {
	l := logLayout
	l.wanted, l.known = nil, slices.Clone(l.known)
	for _, name := range logLayout.wanted {
		if name == "water" && o.Water != "" || name == "method" && o.Method != "" {
			l.known = append(l.known, name)
		} else {
			l.wanted = append(l.wanted, name)
		}
	}
	return l
}

// LogColumns are the columns of a log, as Columns are those of a table of readings.
func (o Options) LogColumns(log Source) (columns []ColumnSeen, clear bool) {
	return o.columnsBy(log, o.logLayout())
}

// LogColumn says whether a column of a log can be that; ColumnOut is one, too.
func LogColumn(as string) bool { return as == ColumnOut || slices.Contains(LogColumnNames(), as) }

// LogColumnNames are what the columns of a log can be, those first that every log needs.
func LogColumnNames() []string { return slices.Concat(logLayout.wanted, logLayout.known) }

// How the dates of a log are written.
const (
	DatesISO       = ""    // 2026-03-03
	DatesDayFirst  = "dmy" // 3.3.2026, 03/03/26
	DatesMonthLead = "mdy" // 3/3/2026
)

// mostLog bounds a log.
const mostLog = 1_000_000

// logText is a row of a log before the decimal mark is known.
type logText struct {
	row                                                                                    int
	takenAt, water, method, reading, known, uKnown, lot, reader, technique, dilution, pair string
	nitrite, uNitrite                                                                      string
	rest                                                                                   string
}

// Log reads a log of routine readings, a table or a workbook. Stop is asked now and then
// whether to go on. The error holds knownwater.Faults.
func Log(src Source, o Options) (LogFile, error) {
	sh, faults := src.open(o.logLayout(), Options{Sheet: o.Sheet, Stop: o.Stop, Called: o.Called})
	if faults != nil {
		return LogFile{}, faults
	}
	texts, faults := o.logTexts(sh)
	if sh.stopped != nil {
		return LogFile{}, sh.stopped
	}
	if len(texts) == 0 && faults == nil {
		return LogFile{}, src.refuse(sh.headerRow, "", "a header and no readings", "a row for each reading")
	}
	out := LogFile{Notes: sh.notes}
	seen := map[string]bool{}
	var all []string
	for _, t := range texts {
		for _, s := range []string{readingCell(t.reading).text, t.known, t.uKnown, t.dilution, t.nitrite, t.uNitrite} {
			if !seen[s] {
				seen[s] = true
				all = append(all, s)
			}
		}
	}
	zone := o.Zone
	if zone == nil {
		zone = time.Local
	}
	m := markOf(all)
	cells, told, left := map[string]cell{}, map[readAs]bool{}, 0
	for _, t := range texts {
		c, there := cells[t.reading]
		if !there {
			c = readingCell(t.reading)
			cells[t.reading] = c
		}
		if c.notRead {
			left++
			continue
		}
		e, fs := t.entry(src, m, c, o.Dates, zone)
		if faults = append(faults, fs...); len(faults) > mostFaults {
			break
		}
		if n := c.read(); !n.plain() && !told[n] && len(told) < mostQuoted {
			told[n] = true
			out.Notes = append(out.Notes, n.note())
		}
		out.Entries = append(out.Entries, e)
		if o.Rest {
			out.Rest = append(out.Rest, t.rest)
		}
	}
	if len(faults) > 0 {
		slices.SortStableFunc(faults, func(a, b knownwater.Fault) int { return cmp.Compare(a.Row, b.Row) })
		return LogFile{}, faults
	}
	if o.Renamed != nil {
		if err := o.Renamed(out.Entries); err != nil {
			return LogFile{}, err
		}
	}
	out.Notes = append(out.Notes, slips(src, out.Entries)...)
	if left > 0 {
		out.Notes = append(out.Notes, note.New("log-rows-not-read").Name("file", src.base()).Number("rows", float64(left)).Number("all", float64(len(texts))))
	}
	out.Notes = append(append(out.Notes, sh.noteUnknown()...), sh.noteComma(m)...)
	return out, nil
}

// farApart is how long logs are not, in years.
const farApart = 60

// slips are what looks like a slip of the pen in a log: a water under names that differ by capitals alone, a day that
// lies far from the others.
func slips(src Source, entries []history.Entry) (notes []note.Note) {
	called, said := map[string]string{}, map[string]bool{}
	var first, last time.Time
	for _, e := range entries {
		if first.IsZero() || e.At.Before(first) {
			first = e.At
		}
		if e.At.After(last) {
			last = e.At
		}
		if e.Check || said[e.Water] {
			continue
		}
		said[e.Water] = true
		key := strings.ToLower(e.Water)
		if one, there := called[key]; there && len(notes) < mostQuoted {
			notes = append(notes, note.New("waters-alike").Name("one", one).Name("other", e.Water))
		} else if !there {
			called[key] = e.Water
		}
	}
	if last.Year()-first.Year() > farApart {
		notes = append(notes, note.New("days-far-apart").Name("file", src.base()).Name("first", first.Format(time.DateOnly)).Name("last", last.Format(time.DateOnly)))
	}
	return notes
}

func (o Options) logTexts(sh *sheet) ([]logText, knownwater.Faults) {
	return rowTexts(sh, slices.Concat(logLayout.wanted, logLayout.known), mostLog, "a reading", func(row int, cell func(string) string, cells [][]byte) logText {
		t := logText{row, cell("taken_at"), cell("water"), cell("method"), cell("reading"), cell("known"), cell("u_known"),
			cell("lot"), cell("reader"), cell("technique"), cell("dilution"), cell("pair"), cell("nitrite"), cell("u_nitrite"), ""}
		t.method, t.lot = or(t.method, o.Method), or(t.lot, o.Lot)
		if t.known == "" {
			t.water = or(t.water, o.Water)
		}
		if o.Rest {
			t.rest = sh.rest(cells)
		}
		return t
	})
}

// mostRest bounds what is kept of a row's columns of no account, in bytes.
const mostRest = 2000

// rest is what a row holds in columns that mean nothing here, so that it is not lost.
func (sh *sheet) rest(cells [][]byte) string {
	var out []string
	for i, h := range sh.headings {
		if i < len(cells) && (h.column == "" || h.column == "note") {
			if c := trim(cells[i]); len(c) > 0 {
				out = append(out, h.text+": "+string(unmark(c)))
			}
		}
	}
	all := strings.Join(out, "; ")
	if len(all) > mostRest {
		all = strings.ToValidUTF8(all[:mostRest], "") + " …"
	}
	return all
}

func (t logText) entry(src Source, m mark, c cell, dates string, zone *time.Location) (e history.Entry, fs knownwater.Faults) {
	bad := func(column string, x knownwater.Fault) {
		if x.Found != "" {
			fs = append(fs, src.at(t.row, column, x))
		}
	}
	wrong := func(column, found, want string) { bad(column, knownwater.Fault{Found: found, Want: want}) }
	value := func(column string, n number) float64 {
		bad(column, n.fault())
		return n.value
	}
	iso := asISO(t.takenAt, dates)
	e = history.Entry{Row: t.row, Typed: iso, Water: t.water, Method: t.method, Lot: t.lot, Reader: t.reader, Technique: t.technique, Pair: t.pair, Known: math.NaN()}
	var ok bool
	if e.At, ok = when(iso, zone); !ok {
		found := reading.Quote(t.takenAt)
		if t.takenAt == "" {
			found = "nothing"
		}
		want := wantDates[dates]
		if dates == DatesISO && whenOrdered.MatchString(t.takenAt) {
			want += "; where it writes the day first its dates are dmy, the month first mdy"
		}
		wrong("taken_at", found, want)
	}
	if e.Check = t.known != ""; e.Check {
		known := levelCell(t.known)
		if known.bad() {
			bad("known", known.fault())
		} else {
			e.Known = value("known", m.number(known.text, demand{want: wantLevel, required: true}))
		}
		e.UKnown = value("u_known", m.number(t.uKnown, demand{want: wantU}))
	} else if t.water == "" {
		wrong("water", "nothing", "the water's name, always the same; or what the vial held, in the column known")
	}
	if t.method == "" {
		wrong("method", "nothing", "the method's name")
	}
	if e.NitriteKnown = t.nitrite != ""; e.NitriteKnown {
		e.Nitrite = value("nitrite", m.number(t.nitrite, demand{want: wantNitrite}))
		e.UNitrite = value("u_nitrite", m.number(t.uNitrite, demand{want: wantU}))
	}
	e.Dilution = value("dilution", m.number(t.dilution, demand{want: wantDilution, over: true, empty: 1}))
	if c.bad() {
		bad("reading", c.fault())
		return e, fs
	}
	text, x := m.point(c.text)
	bad("reading", x)
	if x.Found == "" {
		if _, err := reading.Parse(text); err != nil {
			bad("reading", err.(knownwater.Fault))
		}
	}
	e.Reading = strings.Join(strings.Fields(text), "")
	return e, fs
}

// WantKind is what would be right where nobody knows how a method is read.
const WantKind = "a report with its record (--record), or its kind in a methods file (--methods)"

var wantDates = map[string]string{
	DatesISO:       "a date such as 2026-03-03, or a date and time such as 2026-03-03T09:00",
	DatesDayFirst:  "day, month and year such as 31.3.2026, or with a time behind: 31.3.2026 09:00",
	DatesMonthLead: "month, day and year such as 3/31/2026, or with a time behind: 3/31/2026 09:00",
}

var whenOrdered = regexp.MustCompile(`^(\d{1,2})[./-](\d{1,2})[./-](\d{2}|\d{4})\.?,?((?:[T ]).*)?$`)

// asISO is a date in the order that somebody said, as 2026-03-03; any other text as it is. A year
// of two digits is one of this century.
func asISO(text, dates string) string {
	p := whenOrdered.FindStringSubmatch(text)
	if p == nil || dates == DatesISO {
		return text
	}
	day, month := p[1], p[2]
	if dates == DatesMonthLead {
		day, month = month, day
	}
	year := p[3]
	if len(year) == 2 {
		year = "20" + year
	}
	return fmt.Sprintf("%s-%02s-%02s%s", year, month, day, p[4])
}

var whenISO = regexp.MustCompile(`^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ](\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*(Z|[+-]\d{2}:?\d{2})?)?$`)

// when understands a date, or a date and time with or without seconds and zone; where
// there is none, it is in that one.
func when(text string, zone *time.Location) (time.Time, bool) {
	p := whenISO.FindStringSubmatch(text)
	if p == nil {
		return time.Time{}, false
	}
	or := func(s, empty string) string {
		if s == "" {
			return empty
		}
		return s
	}
	plain := fmt.Sprintf("%s-%02s-%02s %02s:%s:%s", p[1], p[2], p[3], or(p[4], "00"), or(p[5], "00"), or(p[6], "00"))
	if p[7] != "" {
		zone := strings.ReplaceAll(strings.Replace(p[7], "Z", "+0000", 1), ":", "")
		t, err := time.Parse("2006-01-02 15:04:05 -0700", plain+" "+zone)
		return t, err == nil
	}
	t, err := time.ParseInLocation(time.DateTime, plain, zone)
	return t, err == nil
}

// LogMethods are the methods of a log that nothing else describes: those of a methods file,
// else a display where all its readings are plain numbers. Faults name the others.
func LogMethods(log LogFile, src Source, stated MethodsFile, has func(name string) bool) (map[string]knownwater.Method, error) {
	out := map[string]knownwater.Method{}
	texts, first := map[string][]reading.Typed{}, map[string]int{}
	for _, e := range log.Entries {
		if has(e.Method) {
			continue
		}
		if first[e.Method] == 0 {
			first[e.Method] = e.Row
		}
		if t, err := reading.Parse(e.Reading); err == nil {
			texts[e.Method] = append(texts[e.Method], t)
		}
	}
	for _, m := range stated.Methods {
		if _, asked := texts[m.Name]; asked {
			out[m.Name] = m
		}
	}
	var faults knownwater.Faults
	for name, seen := range texts {
		if _, there := out[name]; there {
			continue
		}
		if m := reading.Suggest(name, seen); m.Resolution > 0 { // it shows numbers
			out[name] = m
			continue
		}
		faults = append(faults, src.fault(first[name], "method", "%s has no record and its kind is not known", WantKind, reading.Quote(name)))
	}
	slices.SortFunc(faults, func(a, b knownwater.Fault) int { return cmp.Compare(a.Row, b.Row) })
	if faults != nil {
		return nil, faults
	}
	return out, nil
}
