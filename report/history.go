package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// historyJSON is a log, judged, as docs/formats.md fixes it.
type historyJSON struct {
	Results   []loggedJSON  `json:"results"`
	Checks    []checksJSON  `json:"checks"`
	Bridges   []bridgeJSON  `json:"bridges"`
	Levels    []levelJSON   `json:"levels"`
	Slopes    []slopeJSON   `json:"slopes"`
	Changes   []changedJSON `json:"changes"`
	Holds     []holdJSON    `json:"holds"`
	Notes     []string      `json:"notes"`
	NoteCodes []string      `json:"note_codes"`
}

type loggedJSON struct {
	Row      int        `json:"row"`
	TakenAt  string     `json:"taken_at"`
	Water    string     `json:"water"`
	Method   string     `json:"method"`
	Lot      *string    `json:"lot"`
	Reader   *string    `json:"reader"`
	Reading  string     `json:"reading"`
	Nitrite  num.Number `json:"nitrite"`
	Analyte  *string    `json:"analyte"`
	Unit     *string    `json:"unit"`
	Basis    *string    `json:"basis"`
	Estimate num.Number `json:"estimate"`
	Low      num.Number `json:"low"`
	High     num.Number `json:"high"`
	Open     *string    `json:"open"`
	Again    *againJSON `json:"again"`
	Standing string     `json:"standing"`
	Doubt    *string    `json:"doubt"`
}

type againJSON struct {
	Estimate num.Number `json:"estimate"`
	Low      num.Number `json:"low"`
	High     num.Number `json:"high"`
	Open     *string    `json:"open"`
	Unit     *string    `json:"unit"`
}

type checksJSON struct {
	Analyte       *string     `json:"analyte"`
	Method        string      `json:"method"`
	Lot           *string     `json:"lot"`
	Known         num.Number  `json:"known"`
	N             int         `json:"n"`
	State         string      `json:"state"`
	Rule          *string     `json:"rule"`
	SignalledAt   *string     `json:"signalled_at"`
	Onset         *onsetJSON  `json:"onset"`
	ExpectedDelay num.Number  `json:"expected_delay"`
	DelayMost     num.Number  `json:"expected_delay_most"` // in nine of ten draws of the record
	RunLength     num.Number  `json:"run_length_in_control"`
	RunLengthLow  num.Number  `json:"run_length_low"` // 80 of 100 draws of the record
	RunLengthHigh num.Number  `json:"run_length_high"`
	AimedAt       num.Number  `json:"aimed_at"` // standard deviations of one check
	Power         num.Number  `json:"power"`
	Ratio         num.Number  `json:"ratio"` // what all checks read to what they should
	RatioLow      num.Number  `json:"ratio_low"`
	RatioHigh     num.Number  `json:"ratio_high"`
	Points        []pointJSON `json:"points"`
	Because       *string     `json:"because"`
}

type onsetJSON struct {
	Best      string     `json:"best"`
	From      string     `json:"from"`
	To        string     `json:"to"`
	Ratio     num.Number `json:"ratio"`
	RatioLow  num.Number `json:"ratio_low"`
	RatioHigh num.Number `json:"ratio_high"`
}

type pointJSON struct {
	Row     int        `json:"row"`
	Low     num.Number `json:"z_low"`
	High    num.Number `json:"z_high"`
	Up      num.Number `json:"sum_up"`
	Down    num.Number `json:"sum_down"`
	Average num.Number `json:"average"`
}

// HistoryJSON is a log, judged, for programs.
func HistoryJSON(hs []history.History, notes []note.Note) any { return historyWire(hs, notes) }

func historyWire(hs []history.History, notes []note.Note) historyJSON {
	j := historyJSON{Results: []loggedJSON{}, Checks: []checksJSON{}, Bridges: []bridgeJSON{}, Levels: []levelJSON{}, Slopes: []slopeJSON{}, Changes: []changedJSON{}, Holds: []holdJSON{}, NoteCodes: []string{}}
	for _, r := range resultsOf(hs) {
		j.Results = append(j.Results, loggedOf(r))
	}
	for _, h := range hs {
		analyte := orNull(measured(h).Analyte)
		for _, c := range h.Checks {
			j.Checks = append(j.Checks, checksOf(c, analyte))
		}
		j.waters(h, analyte)
	}
	all := notesOf(hs, notes)
	j.Notes = SayAll(all)
	for _, n := range all {
		j.NoteCodes = append(j.NoteCodes, n.Code)
	}
	return j
}

// resultsOf are the results of all histories, in order of time.
func resultsOf(hs []history.History) (all []history.Result) {
	if len(hs) == 1 {
		return hs[0].Results
	}
	for _, h := range hs {
		all = append(all, h.Results...)
	}
	slices.SortStableFunc(all, func(a, b history.Result) int { return a.At.Compare(b.At) })
	return all
}

func loggedOf(r history.Result) loggedJSON {
	j := loggedJSON{Row: r.Row, TakenAt: r.Typed, Water: r.Water, Method: r.Method, Lot: orNull(r.Lot), Reader: orNull(r.Reader), Reading: r.Reading, Nitrite: num.None,
		Estimate: num.None, Low: num.None, High: num.None, Standing: string(r.Standing)}
	if r.NitriteKnown {
		j.Nitrite = num.Number(r.Nitrite)
	}
	if o := r.Outcome; o != nil {
		j.Analyte, j.Unit, j.Basis = orNull(o.Scale.Analyte), orNull(o.Scale.Unit), orNull(o.Scale.Basis)
		j.Estimate, j.Low, j.High, j.Open = num.Number(o.Result.Estimate), num.Number(o.Result.Low), num.Number(o.Result.High), orNull(string(o.Result.Open))
	}
	if o := r.Again; o != nil {
		j.Again = &againJSON{num.Number(o.Result.Estimate), num.Number(o.Result.Low), num.Number(o.Result.High), orNull(string(o.Result.Open)), orNull(o.Scale.Unit)}
	}
	if r.Doubt != nil {
		s := Say(*r.Doubt)
		j.Doubt = &s
	}
	return j
}

func checksOf(c history.Checks, analyte *string) checksJSON {
	j := checksJSON{Analyte: analyte, Method: c.Method, Lot: orNull(c.Lot), Known: num.Number(c.Known), N: len(c.Entries), State: string(c.Chart.State), Points: []pointJSON{},
		ExpectedDelay: num.None, DelayMost: num.None, RunLength: num.None, RunLengthLow: num.None, RunLengthHigh: num.None, AimedAt: num.None, Power: num.None, Ratio: num.Number(c.Ratio), RatioLow: num.Number(c.Low), RatioHigh: num.Number(c.High)}
	if c.Why != nil {
		s := Say(*c.Why)
		j.Because = &s
		return j
	}
	l := c.Chart.Limits
	j.ExpectedDelay, j.DelayMost, j.RunLength, j.RunLengthLow, j.RunLengthHigh, j.AimedAt, j.Power =
		num.Number(l.Delay), num.Number(l.DelayMost), num.Number(l.RunLength), num.Number(l.Least), num.Number(l.Most), num.Number(l.Shift), num.Number(c.Chart.Power)
	j.Rule = orNull(string(c.Chart.Rule))
	for i, p := range c.Chart.Points {
		average := num.Number(p.Average)
		if l.Individual == 0 {
			average = num.None
		}
		j.Points = append(j.Points, pointJSON{c.Entries[c.From+i].Row, num.Number(p.Seen[0]), num.Number(p.Seen[1]), num.Number(p.Up), num.Number(p.Down), average})
	}
	if !c.SignalAt.IsZero() {
		at := c.Entries[c.From+c.Chart.Signal].Typed
		j.SignalledAt = &at
	}
	if o := c.Onset; o != nil {
		j.Onset = &onsetJSON{o.Best.Format(time.DateOnly), o.From.Format(time.DateOnly), o.To.Format(time.DateOnly), num.Number(o.Ratio), num.Number(o.Low), num.Number(o.High)}
	}
	return j
}

func loggedLine(r history.Result) string {
	says := "not turned round: no record"
	if r.Outcome != nil {
		says = LoggedSays(*r.Outcome)
	}
	s := fmt.Sprintf("%-16s  %-14s %-12s %-8s %-10s %s", clean(r.Typed), clean(r.Water), clean(r.Method), clean(r.Reader), AsRead(r.Entry), says)
	switch {
	case r.Standing == history.Waits:
		s += "; waits"
	case r.Doubt != nil && r.Doubt.Code == "may-have-moved":
		s += "; may have moved by then"
	}
	return s
}

// AsRead is a reading as it was written down, with the dilution it was read at: "1..2 ×8".
func AsRead(e history.Entry) string {
	s := clean(e.Reading)
	if e.Dilution != 1 {
		s += " ×" + typed(e.Dilution, 0)
	}
	return s
}

// LoggedSays is an answer in a few words with its estimate: "3.1 to 7.4 mg/L, best 4.9".
func LoggedSays(o result.Outcome) string {
	s := ReadingBrief(o)
	if r := o.Result; !math.IsNaN(r.Estimate) && r.Open == inverse.Closed && r.Parts == nil && !math.IsNaN(r.Low) {
		s += ", best " + unit.TrueMinus(unit.Round(r.Estimate, setU(r)))
	}
	return s
}

// ChecksSay is what the checks of a known say, in a sentence or two.
func ChecksSay(c history.Checks) string {
	name := capital(clean(c.Method))
	if c.Lot != "" {
		name += ", lot " + clean(c.Lot)
	}
	s := fmt.Sprintf("%s, known %s, %s: ", name, brief(c.Known), things(len(c.Entries), "check"))
	if c.Why != nil {
		return s + Words(*c.Why) + "."
	}
	l := c.Chart.Limits
	switch c.Chart.State {
	case control.Moved:
		s += fmt.Sprintf("moved. %s rang on %s", capital(string(c.Chart.Rule)), c.SignalAt.Format("2 January 2006"))
		if o := c.Onset; o != nil {
			if !math.IsNaN(o.Ratio) {
				s += fmt.Sprintf("; it reads %s of what it should (%s to %s)", ofHundred(o.Ratio), ofHundred(o.Low), ofHundred(o.High))
			}
			if o.From.Equal(o.To) {
				s += fmt.Sprintf(", since %s", o.Best.Format("2 January 2006"))
			} else {
				s += fmt.Sprintf(", since between %s and %s, most likely %s", o.From.Format("2 January 2006"), o.To.Format("2 January 2006"), o.Best.Format("2 January 2006"))
			}
		}
	case control.Holds:
		s += "holds" + nowReads(c) + fmt.Sprintf(". A shift of %.2g times the scatter of one check would by now have been seen with %s in 100", l.Shift, InHundred(c.Chart.Power))
		if !c.SignalAt.IsZero() {
			s += fmt.Sprintf(". %s rang on %s, and all checks together speak against it: a false alarm", capital(string(c.Chart.Rule)), c.SignalAt.Format("2 January 2006"))
		}
	default:
		if !c.SignalAt.IsZero() {
			s += fmt.Sprintf("undecided. %s rang on %s, and all checks together leave open whether it reads otherwise: test it twice more", capital(string(c.Chart.Rule)), c.SignalAt.Format("2 January 2006"))
			break
		}
		s += "nothing rang, which is too few checks to say that it holds" + nowReads(c) + fmt.Sprintf(". A shift of %.2g times the scatter of one check would have been seen with %s in 100", l.Shift, InHundred(c.Chart.Power))
	}
	such := "Such a shift"
	if !c.SignalAt.IsZero() { // what was said before is of the shift that was seen
		such = fmt.Sprintf("A shift of %.2g times the scatter of one check", l.Shift)
	}
	return s + fmt.Sprintf(". %s takes about %s, and a false alarm comes once in %s.", such, things(int(math.Ceil(l.Delay)), "check"), lengthOf(l))
}

// nowReads is what all checks together read.
func nowReads(c history.Checks) string {
	if math.IsNaN(c.Ratio) {
		return ""
	}
	return fmt.Sprintf("; it reads %s of what it should (%s to %s)", ofHundred(c.Ratio), ofHundred(c.Low), ofHundred(c.High))
}

// ChecksAlert is what checks that rang say, in a sentence for whoever reads now.
func ChecksAlert(c history.Checks) string {
	s := capital(clean(c.Method))
	if c.Lot != "" {
		s += ", lot " + clean(c.Lot) + ","
	}
	o := c.Onset
	if math.IsNaN(o.Ratio) {
		s += " reads otherwise than it did"
	} else {
		s += fmt.Sprintf(" reads %s of what it should (%s to %s)", ofHundred(o.Ratio), ofHundred(o.Low), ofHundred(o.High))
	}
	return s + " since " + o.Best.Format("2 January") + ", by its checks of " + brief(c.Known) + "."
}

// lengthOf is a run length as people say it, with what the record's doubt makes of it.
func lengthOf(l control.Limits) string {
	s := fmt.Sprintf("%.0f checks", twoDigits(l.RunLength))
	if l.Most > 1.5*l.Least {
		most := fmt.Sprintf("%.0f", twoDigits(l.Most))
		if l.Most > 99999 {
			most = "any number"
		}
		s += fmt.Sprintf(" on average (%.0f to %s by what the record leaves open)", twoDigits(l.Least), most)
	}
	return s
}

// twoDigits rounds to two digits.
func twoDigits(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return v
	}
	p := math.Pow(10, math.Floor(math.Log10(v))-1)
	return math.Round(v/p) * p
}

func ofHundred(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }
