package unit

import (
	"math"
	"strconv"
	"strings"
)

// Format is value ± u for people: both to the place that the uncertainty
// deserves, with a true minus sign. Where u is 0 or unknown it is the value alone.
func Format(value, u float64) string {
	if !(u > 0) || math.IsInf(u, 0) || math.IsNaN(value) || math.IsInf(value, 0) {
		return TrueMinus(Round(value, u))
	}
	p := place(u)
	return TrueMinus(atPlace(value, p)) + " ± " + atPlace(u, p)
}

// Round is the value to the last digit that its uncertainty deserves: two
// digits of u where they start 100 to 354, one where 355 to 949, and from 950
// on u counts as 1000 (rounding rule of the Review of Particle Physics; within
// JCGM 100 7.2.6, at most two digits). Without an uncertainty: six digits at
// most. Not a number gives "–".
func Round(value, u float64) string {
	switch {
	case math.IsNaN(value):
		return "–"
	case math.IsInf(value, 1):
		return "∞"
	case math.IsInf(value, -1):
		return "-∞"
	case !(u > 0) || math.IsInf(u, 0):
		return strconv.FormatFloat(roundTo(value, 6), 'g', -1, 64)
	}
	return atPlace(value, place(u))
}

// TrueMinus puts the minus sign U+2212 in place of a leading hyphen.
func TrueMinus(text string) string {
	if rest, found := strings.CutPrefix(text, "-"); found {
		return "−" + rest
	}
	return text
}

// Signed is a difference with its sign, rounded as Round does.
func Signed(value, u float64) string {
	text := TrueMinus(Round(value, u))
	if value > 0 && strings.Trim(text, "0.") != "" {
		return "+" + text
	}
	return text
}

// place is the power of ten of the last digit worth showing beside u.
func place(u float64) int {
	// The three leading digits, from the decimal text: logarithms slip at powers of ten.
	text := strconv.FormatFloat(u, 'e', 2, 64)
	mantissa, exponent, _ := strings.Cut(text, "e")
	m, _ := strconv.ParseFloat(mantissa, 64)
	e, _ := strconv.Atoi(exponent)
	if m < 3.545 {
		return e - 1
	}
	return e // from 9.5 on this shows 10: two digits
}

// atPlace writes v rounded to the power of ten p.
func atPlace(v float64, p int) string {
	if p < -12 || p > 15 {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	if p > 0 {
		scale := math.Pow10(p)
		v, p = math.Round(v/scale)*scale, 0
	}
	text := strconv.FormatFloat(v, 'f', -p, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// roundTo rounds v to n significant digits.
func roundTo(v float64, n int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	if err != nil {
		return v
	}
	return r
}
