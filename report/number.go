package report

import (
	"math"
	"strconv"
	"strings"

	"knownwater/science/num"
	"knownwater/science/unit"
)

// none is what stands where a number cannot be computed.
const none = "–"

// estimate is a number for people: its best value, where there is one, and its
// 95 % interval, both to the digits that the interval deserves.
type estimate struct {
	Est string // empty: no value inside is better than another
	To  string // "5.4 to 6.9", "at most 0.6", or empty
}

// String is the estimate on one line: "6.1 (5.4 to 6.9)".
func (e estimate) String() string {
	switch {
	case e.Est == "" && e.To == "":
		return none
	case e.Est == "":
		return e.To
	case e.To == "":
		return e.Est
	}
	return e.Est + " (" + e.To + ")"
}

// plusMinus is the estimate as a half-width: "±1.8 mg/L (1.5 to 2.3)", "±0.8 mg/L
// or more"; scale may be empty.
func (e estimate) plusMinus(scale string) string { return english.plusMinus(e, scale) }

func (l speech) plusMinus(e estimate, scale string) string {
	if scale != "" {
		scale = " " + scale
	}
	low, high := l.Say("at least {1}", ""), l.Say("at most {1}", "")
	switch {
	case !e.OK():
		return ""
	case e.Est != "":
		return "±" + estimate{e.Est + scale, e.To}.String()
	case strings.HasPrefix(e.To, low):
		return l.Say("±{1} or more", strings.TrimPrefix(e.To, low)+scale)
	case strings.HasPrefix(e.To, high):
		return l.Say("±{1} or less", strings.TrimPrefix(e.To, high)+scale)
	}
	return "±" + e.To + scale
}

// compact is the estimate for narrow tables, in the notation of readings:
// "6.1 (5.4..6.9)".
func (e estimate) compact() string { return strings.Replace(e.String(), " to ", "..", 1) }

// OK says whether anything is known.
func (e estimate) OK() bool { return e.Est != "" || e.To != "" }

// number rounds an estimate by the half width of its interval.
func number(est, low, high num.Number) estimate { return english.number(est, low, high) }

func (l speech) number(est, low, high num.Number) estimate { return l.limits(est, low, high, false) }

// signed is number for differences: above 0 it carries a plus.
func signed(est, low, high num.Number) estimate { return english.limits(est, low, high, true) }

func (l speech) limits(est, low, high num.Number, sign bool) estimate {
	return l.roundedBy(halfWidth(est, low, high), est, low, high, sign)
}

// roundedBy rounds an estimate to the digits that an uncertainty u deserves.
func (l speech) roundedBy(u float64, est, low, high num.Number, sign bool) estimate {
	e := estimate{}
	write := func(n num.Number) string { return rounded(float64(n), u, sign) }
	if est.OK() {
		e.Est = write(est)
	}
	switch {
	case low.OK() && low == high: // steps so coarse, or readings so many, that nothing is left between
		e.Est = write(low)
	case low.OK() && high.OK() && write(low) == write(high):
		e.Est = write(low)
	case low.OK() && high.OK():
		e.To = l.Say("{1} to {2}", write(low), write(high))
	case high.OK():
		e.To = l.Say("at most {1}", write(high))
	case low.OK():
		e.To = l.Say("at least {1}", write(low))
	}
	return e
}

// finest is the share of a number below which its interval adds no digits.
const finest = 0.001

// halfWidth is the uncertainty that decides the digits.
func halfWidth(est, low, high num.Number) float64 {
	switch {
	case low.OK() && high.OK():
		w, most := float64(high-low)/2, math.Max(math.Abs(float64(low)), math.Abs(float64(high)))
		if w >= finest*most && w > 0 {
			return w
		}
		if most > 0 { // never to digits that nobody can mean: three of them
			return math.Pow10(int(math.Floor(math.Log10(most))) - 1)
		}
	case est.OK() && high.OK():
		return math.Abs(float64(high - est))
	case est.OK() && low.OK():
		return math.Abs(float64(est - low))
	}
	for _, n := range []num.Number{est, high, low} {
		if n.OK() && n != 0 {
			return math.Abs(float64(n)) / 10
		}
	}
	return 0
}

func rounded(v, u float64, sign bool) string {
	s := unit.TrueMinus(unit.Round(v, u))
	if sign && v > 0 && strings.Trim(s, "0.") != "" {
		s = "+" + s
	}
	return s
}

// spread is the estimate of a standard deviation. A spread is never given as
// zero: where the lower limit is nothing, only the upper one is said.
func spread(sd, low, high num.Number) estimate {
	if !sd.OK() || sd <= 0 {
		if high.OK() && high > 0 {
			return estimate{To: english.Say("at most {1}", two(float64(high)))}
		}
		return estimate{}
	}
	u := float64(high-sd) / 2
	if high.OK() && (!(low > 0) || strings.Trim(rounded(float64(low), halfWidth(sd, low, high), false), "0.") == "") {
		est := rounded(float64(sd), u, false)
		if strings.Trim(est, "0.") == "" { // its doubt is larger than itself
			est = two(float64(sd))
		}
		return estimate{Est: est, To: english.Say("at most {1}", rounded(float64(high), u, false))}
	}
	return number(sd, low, high)
}

// two writes a number to two significant digits.
func two(v float64) string { return digits(v, 2) }

// three writes a number to three significant digits, without idle zeros.
func three(v float64) string { return idle(digits(v, 3)) }

// digits writes a number to n significant digits, never with an exponent.
func digits(v float64, n int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	if v == 0 {
		return "0"
	}
	p := int(math.Floor(math.Log10(math.Abs(v)))) - n + 1
	if p > 0 {
		return unit.TrueMinus(strconv.FormatFloat(math.Round(v/math.Pow10(p))*math.Pow10(p), 'f', 0, 64))
	}
	return unit.TrueMinus(strconv.FormatFloat(v, 'f', -p, 64))
}

// idle is a number without the zeros that say nothing: 1, not 1.0.
func idle(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// brief is two without idle zeros: a permitted error of 1 is 1, not 1.0.
func brief(v float64) string {
	return idle(two(v))
}

func twoOf(n num.Number) string { return two(float64(n)) }

// typed writes a concentration that somebody chose, as short as it can be told
// beside its uncertainty.
func typed(v, u float64) string {
	long, short := unit.Round(v, 0), unit.Round(v, u)
	if len(short) < len(long) {
		long = short
	}
	return unit.TrueMinus(long)
}

// count writes a number of things with thin groups: 12,345.
func count(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// percent writes a probability as parts of a hundred without ever saying 0 or 100.
func percent(p num.Number) string {
	switch {
	case !p.OK():
		return none
	case p > 0.995:
		return "> 99"
	case p < 0.005:
		return "< 1"
	}
	return strconv.FormatFloat(float64(p)*100, 'f', 0, 64)
}
