package store

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"knownwater"
)

// Times are kept as RFC 3339 text in UTC with milliseconds: they sort as text.
const timeLayout = "2006-01-02T15:04:05.000Z"

// TimeText is a time as kept; nothing for the zero time.
func TimeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeLayout)
}

// ParseTime reads a kept time; the zero time for nothing.
func ParseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(timeLayout, s)
}

// Time scans a kept time.
func Time(to *time.Time) sql.Scanner { return when{to} }

type when struct{ to *time.Time }

func (w when) Scan(v any) (err error) {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("a time is %T", v)
	}
	*w.to, err = ParseTime(s)
	return err
}

// ScanStamp scans a stamp from its three columns.
func ScanStamp(scan func(...any) error) (s knownwater.Stamp, err error) {
	err = scan(Time(&s.At), &s.Name, &s.Device)
	return s, err
}

// JSON scans JSON into what it points to.
func JSON(to any) sql.Scanner { return jsonText{to} }

type jsonText struct{ to any }

func (j jsonText) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("JSON is %T", v)
	}
	return json.Unmarshal([]byte(s), j.to)
}

// ScanJSON scans one column of JSON.
func ScanJSON[T any](scan func(...any) error) (v T, err error) {
	err = scan(JSON(&v))
	return v, err
}

// ToJSON is a value as it is kept. JSON knows no infinity and no NaN.
func ToJSON(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}

// OrNaN is a kept number; NaN where nothing was kept.
func OrNaN(v sql.NullFloat64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return v.Float64
}

// OrNull is what is kept of a number: nothing where it is none.
func OrNull(v float64) any {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return v
}
