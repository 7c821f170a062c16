package render

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"knownwater/science/unit"
)

// Number is a number for people: at most four digits that say something.
func Number(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if math.IsInf(v, 0) {
		return unit.TrueMinus(map[bool]string{true: "∞", false: "-∞"}[v > 0])
	}
	return unit.TrueMinus(strconv.FormatFloat(v, 'g', 4, 64))
}

// TwoDigits is a number to two digits that say something.
func TwoDigits(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64); err == nil {
		v = r
	}
	return unit.TrueMinus(strconv.FormatFloat(v, 'f', -1, 64))
}

// Decimals is a number with so many digits behind the point.
func Decimals(v float64, n int) string { return unit.TrueMinus(strconv.FormatFloat(v, 'f', n, 64)) }

// Value is a value with its standard uncertainty, rounded together.
func Value(v, u float64) string { return unit.Format(v, u) }

// Interval is an interval, rounded as its uncertainty asks.
func Interval(low, high, u float64) string {
	return unit.TrueMinus(unit.Round(low, u)) + " to " + unit.TrueMinus(unit.Round(high, u))
}

// Unit is a scale's unit for people, without the basis: "µmol/L".
func Unit(s unit.Scale) string {
	s.Basis = ""
	return strings.TrimSpace(s.String())
}

// HasNumber says whether words hold a number, which wants a unit behind it.
func HasNumber(words string) bool { return strings.ContainsAny(words, "0123456789") }

// WithUnit puts the unit behind words that hold a number, before an interval in
// brackets: "4.3 mg/L NO3 (4.2 to 4.4)".
func WithUnit(words string, s unit.Scale) string {
	if !HasNumber(words) {
		return words
	}
	if est, span, found := strings.Cut(words, " ("); found {
		return est + " " + s.String() + " (" + span
	}
	return words + " " + s.String()
}

// Count is a number with its noun, in English: "1 vial", "no vials", "12 vials".
func Count(n int, one string) string { return Reader{}.Count(n, one) }

// ID is a record's number as it stands in an address.
func ID(id int64) string { return strconv.FormatInt(id, 10) }

// Bytes is a size for people.
func Bytes(n int64) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%d MB", n>>20)
	}
	return fmt.Sprintf("%d kB", n>>10)
}

// Capital begins a sentence.
func Capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
