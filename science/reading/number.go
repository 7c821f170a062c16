package reading

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

var (
	errSyntax = errors.New("not a number")
	errRange  = errors.New("too large a number")
)

// largest keeps later products finite; no concentration, count or signal comes near it.
const largest = 1e15

// Number reads a plain decimal number and counts the digits after its point.
// It takes an exponent, and the typographic minus that word processors make;
// it refuses NaN, inf, hexadecimal, digit grouping and sizes beyond 1e15.
func Number(s string) (value float64, decimals int, err error) {
	s = strings.Replace(s, "−", "-", 1)
	decimals, ok := scan(s)
	if !ok {
		return 0, 0, errSyntax
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.Abs(v) > largest {
		return 0, 0, errRange
	}
	if v == 0 {
		v = 0 // no negative zero
	}
	return v, decimals, nil
}

// mostDecimals keeps the last digit's step above 0 for texts such as 1e-400.
const mostDecimals = 300

// scan checks [+-] digits [. digits] [e [+-] digits] and counts the decimals
// of the number written out, never fewer than none.
func scan(s string) (decimals int, ok bool) {
	i := sign(s, 0)
	whole := digits(s, i)
	n := whole - i
	i = whole
	if i < len(s) && s[i] == '.' {
		frac := digits(s, i+1)
		decimals = frac - i - 1
		n += decimals
		i = frac
	}
	if n == 0 {
		return 0, false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		from := sign(s, i+1)
		to := digits(s, from)
		if to == from {
			return 0, false
		}
		exp, err := strconv.Atoi(s[i+1 : to])
		if err != nil { // hundreds of digits: the value vanishes or is refused
			exp = 0
		}
		decimals = min(max(0, decimals-exp), mostDecimals)
		i = to
	}
	return decimals, i == len(s)
}

func sign(s string, i int) int {
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	return i
}

func digits(s string, i int) int {
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	return i
}
