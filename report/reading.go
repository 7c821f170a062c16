package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/wording"
)

// readingJSON is what readings of one sample say, as docs/formats.md fixes it.
type readingJSON struct {
	Method    *string           `json:"method"`
	Analyte   *string           `json:"analyte"`
	Unit      *string           `json:"unit"`
	Basis     *string           `json:"basis"`
	Readings  []string          `json:"readings"`
	Reader    *string           `json:"reader"`
	Readers   []*string         `json:"readers,omitempty"`
	Lot       *string           `json:"lot"`
	Dilution  num.Number        `json:"dilution"`
	Estimate  num.Number        `json:"estimate"`
	Low       num.Number        `json:"low"`
	High      num.Number        `json:"high"`
	Open      *string           `json:"open"`
	Parts     [][2]num.Number   `json:"parts"`
	U         num.Number        `json:"u"`
	Needs     []readingNeedJSON `json:"needs"`
	Notes     []string          `json:"notes"`
	NoteCodes []string          `json:"note_codes"`
}

type readingNeedJSON struct {
	Need   string       `json:"need"`
	Below  num.Number   `json:"p_below"`
	Inside num.Number   `json:"p_inside"`
	Above  num.Number   `json:"p_above"`
	Advice string       `json:"advice"`
	More   *int         `json:"more_readings"`
	Settle []settleJSON `json:"settle"`
}

type settleJSON struct {
	Method *string `json:"method"`
	Reader *string `json:"reader"`
	N      int     `json:"n"`
}

// ReadingJSON is what readings of one sample say, for programs.
func ReadingJSON(o result.Outcome) any {
	r := o.Result
	j := readingJSON{
		Method: orNull(o.Method), Analyte: orNull(o.Scale.Analyte), Unit: orNull(o.Scale.Unit), Basis: orNull(o.Scale.Basis),
		Readings: some(o.Readings), Reader: orNull(o.Reader), Lot: orNull(o.Lot), Dilution: num.Number(o.Dilution),
		Estimate: num.Number(r.Estimate), Low: num.Number(r.Low), High: num.Number(r.High), Open: orNull(string(r.Open)), U: num.Number(r.U),
		Parts: [][2]num.Number{}, Needs: []readingNeedJSON{}, Notes: SayAll(o.Notes), NoteCodes: []string{},
	}
	for _, who := range o.By {
		j.Readers = append(j.Readers, orNull(who))
	}
	for _, p := range r.Pieces() {
		j.Parts = append(j.Parts, [2]num.Number{num.Number(p.Low), num.Number(p.High)})
	}
	for _, v := range o.Verdicts {
		n := readingNeedJSON{v.Need, num.Number(v.Below), num.Number(v.Inside), num.Number(v.Above), v.Advice, nil, []settleJSON{}}
		if v.More >= 0 {
			n.More = &v.More
		}
		for _, s := range v.Settle {
			n.Settle = append(n.Settle, settleJSON{orNull(o.Method), orNull(s.Reader), s.Count})
		}
		j.Needs = append(j.Needs, n)
	}
	for _, n := range o.Notes {
		j.NoteCodes = append(j.NoteCodes, n.Code)
	}
	return j
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// ReadingText tells a person what readings of one sample say.
func ReadingText(w io.Writer, o result.Outcome) error {
	lines := []string{ReadingSays(nil, o)}
	for i := range o.Verdicts {
		lines = append(lines, ReadingAdvice(nil, o, i))
	}
	if len(o.Notes) > 0 {
		lines = append(lines, "")
	}
	for _, n := range SayAll(o.Notes) {
		lines = append(lines, english.Say("Note: {1}", n))
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

// ReadingSays is the answer in a sentence: "Between 3.1 and 7.4 mg/L NO3 (95 %), most likely 4.9."
func ReadingSays(l *wording.Language, o result.Outcome) string {
	r := o.Result
	scale := clean(o.Scale.String())
	if scale != "" {
		scale = " " + scale
	}
	u := setU(r)
	n := func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }
	var s string
	switch {
	case r.Parts != nil:
		s = piecesOf(speech{l}, r.Parts, n) + scale + " (95 %)"
	case math.IsNaN(r.Low) && math.IsNaN(r.High):
		if math.IsNaN(r.Estimate) {
			return l.Say("No concentration can be said.")
		}
		return l.Say("{1}{2}; how sure that is cannot be said.", n(r.Estimate), scale)
	case r.Open == inverse.Above && !(r.Low > 0):
		return l.Say("Every concentration that was tried could have given this reading.")
	case r.Open == inverse.Above:
		s = l.Say("At least {1}{2} (97.5 %)", n(r.Low), scale)
	case r.Open == inverse.Below && r.High == 0:
		return l.Say("Less than nothing: no concentration that was tried reads so low.")
	case r.Open == inverse.Below:
		s = l.Say("At most {1}{2} (97.5 %)", n(r.High), scale)
	default:
		s = l.Say("Between {1} and {2}{3} (95 %)", n(r.Low), n(r.High), scale)
	}
	if !math.IsNaN(r.Estimate) {
		s += ", " + l.Say("most likely {1}", n(r.Estimate))
	}
	return s + "."
}

// UnitBehind is a unit as it stands behind a number, with the space before it; nothing where
// there is none.
func UnitBehind(s unit.Scale) string {
	if s.Unit == "" {
		return ""
	}
	return " " + clean(s.Brief())
}

// ReadingBrief is the answer in a few words, with its unit: "4.3 to 13 mg/L".
func ReadingBrief(l *wording.Language, o result.Outcome) string {
	r, of := o.Result, clean(o.Scale.Brief())
	u := setU(r)
	n := func(v float64) string { return strings.TrimSpace(unit.TrueMinus(unit.Round(v, u)) + " " + of) }
	switch {
	case r.Parts != nil:
		return speech{l}.pieces(r.Parts, func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }) + " " + of
	case math.IsNaN(r.Low) && math.IsNaN(r.High):
		if math.IsNaN(r.Estimate) {
			return l.Say("cannot be said")
		}
		return n(r.Estimate)
	case r.Open == inverse.Above && !(r.Low > 0):
		return l.Say("anything that was tried")
	case r.Open == inverse.Above:
		return l.Say("at least {1}", n(r.Low))
	case r.Open == inverse.Below && r.High == 0:
		return l.Say("less than nothing")
	case r.Open == inverse.Below:
		return l.Say("at most {1}", n(r.High))
	}
	return l.Say("{1} to {2}", unit.TrueMinus(unit.Round(r.Low, u)), n(r.High))
}

// setU is what the digits of an answer are rounded by: half the set's width, as in findings.
func setU(r result.Result) float64 {
	switch {
	case r.High > r.Low:
		return (r.High - r.Low) / 2
	case r.U > 0:
		return r.U
	case r.Low > 0:
		return r.Low / 20
	}
	return 0
}

func piecesOf(l speech, parts []interval.Interval, n func(float64) string) string {
	return capital(l.pieces(parts, n))
}

func (l speech) pieces(parts []interval.Interval, n func(float64) string) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = l.Say("between {1} and {2}", n(p.Low), n(p.High))
		if math.IsInf(p.High, 1) {
			words[i] = l.Say("at least {1}", n(p.Low))
		}
	}
	return strings.Join(words, l.Say(", or")+" ")
}

// ReadingAdvice is what the readings say of a need, with what to do.
func ReadingAdvice(l *wording.Language, o result.Outcome, i int) string {
	n, v := o.Needs[i], o.Verdicts[i]
	s := l.Say("{1}, {2} to {3}: inside with {4} in 100, below with {5}, above with {6}.", capital(clean(v.Need)), three(n.Low), three(n.High), InHundred(l, v.Inside), InHundred(l, v.Below), InHundred(l, v.Above)) + " "
	switch v.Advice {
	case result.Inside:
		return s + l.Say("It is inside.")
	case result.Below:
		return s + l.Say("It is below.")
	case result.Above:
		return s + l.Say("It is above.")
	case result.CannotTell:
		return s + l.Say("This method cannot tell: {1} more readings would hardly settle it.", strconv.Itoa(result.MostReadings))
	}
	var who []string
	for _, x := range v.Settle[:min(2, len(v.Settle))] {
		by := l.Say("by anybody")
		if x.Reader != "" {
			by = l.Say("by {1}", clean(x.Reader))
		}
		who = append(who, speech{l}.things(x.Count, "more reading")+" "+by)
	}
	return s + l.Say("Test again: {1} would settle it in 4 of 5 cases.", strings.Join(who, l.Say(", or")+" "))
}

// InHundred is a chance as a count: 84, below 1, above 99.
func InHundred(l *wording.Language, p float64) string {
	switch {
	case p == 0:
		return "0"
	case p < 0.005:
		return l.Say("less than 1")
	case p > 0.995 && p < 1:
		return l.Say("more than 99")
	}
	return fmt.Sprintf("%.0f", 100*p)
}
