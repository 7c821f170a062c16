package bench

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"knownwater"
	"knownwater/sqlite"
)

// tx is one transaction with its context and the time it is stamped with.
type tx struct {
	*sql.Tx
	ctx context.Context
	now time.Time
}

// write runs f in one transaction; what f did is on the disk when it returns nil.
func (b *Bench) write(ctx context.Context, f func(tx) error) error {
	now := b.clock()
	return refused(b.db.Write(ctx, func(t *sql.Tx) error { return f(tx{t, ctx, now}) }))
}

// read runs f on one unchanging view of the bench.
func (b *Bench) read(ctx context.Context, f func(tx) error) error {
	now := b.clock()
	return refused(b.db.Read(ctx, func(t *sql.Tx) error { return f(tx{t, ctx, now}) }))
}

func (b *Bench) clock() time.Time { return b.now().UTC().Truncate(time.Millisecond) }

func (t tx) exec(query string, args ...any) error {
	_, err := t.ExecContext(t.ctx, query, args...)
	return err
}

func (t tx) insert(query string, args ...any) (int64, error) {
	return sqlite.Insert(t.ctx, t.Tx, query, args...)
}

// one scans the first row of a query; NotFound, in the words of what, where
// there is none.
func one[T any](t tx, what, query string, scan func(func(...any) error) (T, error), args ...any) (T, error) {
	v, err := sqlite.One(t.ctx, t.Tx, query, scan, args...)
	if errors.Is(err, sql.ErrNoRows) {
		err = refuse(NotFound, "there is no such %s", what)
	}
	return v, err
}

func all[T any](t tx, query string, scan func(func(...any) error) (T, error), args ...any) ([]T, error) {
	return sqlite.All(t.ctx, t.Tx, query, scan, args...)
}

// value scans one value of one row.
func value[T any](scan func(...any) error) (v T, err error) {
	err = scan(&v)
	return v, err
}

var insertEvent = sqlite.SQL(`insert into event (at, by_name, by_from, trial_id, what, why) values (?, ?, ?, nullif(?, 0), ?, ?)`)

// note writes a line into the book of events; trial 0 is none.
func (t tx) note(by Who, trial int64, what, why string) error {
	return t.exec(insertEvent, stampText(t.now), by.Name, by.Device, trial, what, why)
}

// stamp is who, when and from where, in the order of the columns.
func (t tx) stamp(by Who) (at, name, device string) {
	return stampText(t.now), by.Name, by.Device
}

// Times are kept as RFC 3339 text in UTC with milliseconds: they sort as text.
const timeLayout = "2006-01-02T15:04:05.000Z"

// stampText is a time as kept; nothing for the zero time.
func stampText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeLayout)
}

// parseTime reads a kept time; the zero time for nothing.
func parseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(timeLayout, s)
}

// when scans a kept time.
type when struct{ to *time.Time }

func (w when) Scan(v any) (err error) {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("a time is %T", v)
	}
	*w.to, err = parseTime(s)
	return err
}

// jsonText scans JSON into what it points to.
type jsonText struct{ to any }

func (j jsonText) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("JSON is %T", v)
	}
	return json.Unmarshal([]byte(s), j.to)
}

func toJSON(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}

// refuse makes a Refusal.
func refuse(k RefusalKind, words string, args ...any) *Refusal {
	return &Refusal{Kind: k, Words: fmt.Sprintf(words, args...)}
}

var troubleKinds = map[sqlite.Kind]RefusalKind{
	sqlite.InUse: InUse, sqlite.Newer: Newer, sqlite.NotOurs: Damaged, sqlite.Damaged: Damaged,
	sqlite.Full: Full, sqlite.ReadOnly: ReadOnly, sqlite.Missing: NotFound,
}

// refused turns trouble with the file into a Refusal.
func refused(err error) error {
	var t *sqlite.Trouble
	if errors.As(err, &t) {
		return &Refusal{Kind: troubleKinds[t.Kind], Words: string(t.Kind)}
	}
	return err
}

// tidy is typed text as it is kept: valid UTF-8 without control characters but
// for new lines and tabs, ends of lines as \n, no space around. Two bidirectional
// overrides, which make text look like what it is not, go too.
func tidy(s string) string {
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

// line tidies a one-line text in place and notes a fault if it is too long, or
// empty where it must not be.
func line(fs *knownwater.Faults, column string, s *string, must bool) {
	*s = strings.Join(strings.Fields(tidy(*s)), " ")
	tooLong(fs, column, *s, longestName)
	if must && *s == "" {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: "nothing", Want: "a few words"})
	}
}

// lines is line for texts of several lines that may be empty.
func lines(fs *knownwater.Faults, column string, s *string) {
	*s = tidy(*s)
	tooLong(fs, column, *s, longestText)
}

func tooLong(fs *knownwater.Faults, column, s string, most int) {
	if len(s) > most {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: fmt.Sprintf("%d bytes of text", len(s)), Want: fmt.Sprintf("at most %d", most)})
	}
}

// orNil is nil without faults: a nil slice in an error would not be nil.
func orNil(fs knownwater.Faults) error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}

// reason tidies a reason that must be given.
func reason(why string) (string, error) {
	var fs knownwater.Faults
	lines(&fs, "why", &why)
	if why == "" {
		fs = append(fs, knownwater.Fault{Column: "why", Found: "no reason", Want: "a few words: they stand in the records and the report"})
	}
	return why, orNil(fs)
}
