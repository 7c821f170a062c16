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
	"knownwater/wording"
)

// historyJSON is a log, judged, as docs/formats.md fixes it.
type historyJSON struct {
	Results   []loggedJSON  `json:"results"`
	Checks    []checksJSON  `json:"checks"`
	Bridges   []bridgeJSON  `json:"bridges"`
	Levels    []levelJSON   `json:"levels"`
	Between   []betweenJSON `json:"between"`
	Trends    []trendJSON   `json:"trends"`
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
	Reader        *string     `json:"reader"`
	Known         num.Number  `json:"known"`
	N             int         `json:"n"`
	State         string      `json:"state"`
	Rule          *string     `json:"rule"`
	SignalledAt   *string     `json:"signalled_at"`
	Onset         *onsetJSON  `json:"onset"`
	ExpectedDelay num.Number  `json:"expected_delay"`
	DelayMost     num.Number  `json:"expected_delay_most"` // in four of five cases
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
	Since         []sinceJSON `json:"since"`
}

// sinceJSON are the checks since the method was back, by themselves.
type sinceJSON struct {
	From        string     `json:"from"`
	N           int        `json:"n"`
	State       string     `json:"state"`
	Rule        *string    `json:"rule"`
	SignalledAt *string    `json:"signalled_at"`
	Onset       *onsetJSON `json:"onset"`
}

type onsetJSON struct {
	Best      string     `json:"best"`
	From      string     `json:"from"`
	To        string     `json:"to"`
	Ratio     num.Number `json:"ratio"`
	RatioLow  num.Number `json:"ratio_low"`
	RatioHigh num.Number `json:"ratio_high"`
	Drifts    bool       `json:"drifts"`
	Back      bool       `json:"back"`
	Again     *string    `json:"again"` // the day from which on results are told again
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
	j := historyJSON{Results: []loggedJSON{}, Checks: []checksJSON{}, Bridges: []bridgeJSON{}, Levels: []levelJSON{}, Between: []betweenJSON{}, Trends: []trendJSON{}, Slopes: []slopeJSON{}, Changes: []changedJSON{}, Holds: []holdJSON{}, NoteCodes: []string{}}
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
	j := checksJSON{Analyte: analyte, Method: c.Method, Lot: orNull(c.Lot), Reader: orNull(c.Reader), Known: num.Number(c.Known), N: len(c.Entries), State: string(c.Chart.State), Points: []pointJSON{}, Since: []sinceJSON{},
		ExpectedDelay: num.None, DelayMost: num.None, RunLength: num.None, RunLengthLow: num.None, RunLengthHigh: num.None, AimedAt: num.None, Power: num.None, Ratio: num.Number(c.Ratio), RatioLow: num.Number(c.Low), RatioHigh: num.Number(c.High)}
	if c.Why != nil {
		s := Say(*c.Why)
		j.Because = &s
		return j
	}
	l := c.Chart.Limits
	j.ExpectedDelay, j.DelayMost, j.RunLength, j.RunLengthLow, j.RunLengthHigh, j.AimedAt, j.Power =
		num.Number(l.Delay), num.Number(l.DelayMost), num.Number(l.RunLength), num.Number(l.Least), num.Number(l.Most), num.Number(l.Shift), num.Number(c.Chart.Power)
	for i, p := range c.Chart.Points {
		average := num.Number(p.Average)
		if l.Individual == 0 {
			average = num.None
		}
		j.Points = append(j.Points, pointJSON{c.Entries[c.From+i].Row, num.Number(p.Seen[0]), num.Number(p.Seen[1]), num.Number(p.Up), num.Number(p.Down), average})
	}
	j.Rule, j.SignalledAt, j.Onset = rangOf(c)
	for s := c.Since; s != nil; s = s.Since {
		one := sinceJSON{From: s.Entries[0].At.Format(time.DateOnly), N: len(s.Entries), State: string(s.Chart.State)}
		one.Rule, one.SignalledAt, one.Onset = rangOf(*s)
		j.Since = append(j.Since, one)
	}
	return j
}

// rangOf is what rang, when, and since when the method reads otherwise.
func rangOf(c history.Checks) (rule, at *string, onset *onsetJSON) {
	if !c.SignalAt.IsZero() {
		at = &c.Entries[c.From+c.Chart.Signal].Typed
	}
	if o := c.Onset; o != nil {
		onset = &onsetJSON{o.Best.Format(time.DateOnly), o.From.Format(time.DateOnly), o.To.Format(time.DateOnly), num.Number(o.Ratio), num.Number(o.Low), num.Number(o.High), o.Drifts, o.Back, nil}
		if c.Since != nil {
			again := o.Again.Format(time.DateOnly)
			onset.Again = &again
		}
	}
	return orNull(string(c.Chart.Rule)), at, onset
}

func loggedLine(r history.Result) string {
	says := "not turned round: no record"
	if r.Outcome != nil {
		says = LoggedSays(nil, *r.Outcome)
	}
	s := fmt.Sprintf("%-16s  %-14s %-12s %-8s %-10s %s", clean(r.Typed), clean(r.Water), clean(r.Method), clean(r.Reader), AsRead(r.Entry), says)
	if r.Again != nil {
		s += "; " + english.Say("by now {1}", LoggedSays(nil, *r.Again))
	}
	switch {
	case r.Standing == history.Waits:
		s += "; " + english.Say("waits")
	case r.Doubt != nil && r.Doubt.Code == "may-have-moved":
		s += "; " + english.Say("may have moved by then")
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
func LoggedSays(l *wording.Language, o result.Outcome) string {
	s := ReadingBrief(l, o)
	if r := o.Result; !math.IsNaN(r.Estimate) && r.Open == inverse.Closed && r.Parts == nil && !math.IsNaN(r.Low) {
		s += ", " + l.Say("best {1}", unit.TrueMinus(unit.Round(r.Estimate, setU(r))))
	}
	return s
}

// ChecksSay is what the checks of a known say, in a sentence or two.
func ChecksSay(l *wording.Language, c history.Checks) string {
	name := clean(c.Method)
	if c.Lot != "" {
		name += ", " + l.Say("lot {1}", clean(c.Lot))
	}
	if c.Reader != "" {
		name += ", " + l.Say("read by {1}", clean(c.Reader))
	}
	return l.Say("{1}, known {2}, {3}:", name, brief(c.Known), speech{l}.things(len(c.Entries), "check")) + " " + checksTell(l, c)
}

func checksTell(l *wording.Language, c history.Checks) string {
	if c.Why != nil {
		return speech{l}.words(*c.Why) + "."
	}
	s := ""
	limits := c.Chart.Limits
	rung := l.Say("A shift of {1} times the scatter of one check would by now have rung with {2} in 100", fmt.Sprintf("%.2g", limits.Shift), InHundred(l, c.Chart.Power))
	switch c.Chart.State {
	case control.Moved:
		s += l.Say("moved. {1} rang on {2}", capital(l.Say(string(c.Chart.Rule))), speech{l}.onDay(c.SignalAt))
		if o := c.Onset; o != nil {
			since := l.Say("since {1}", speech{l}.onDay(o.Best))
			if !o.From.Equal(o.To) {
				since = l.Say("since some day between {1} and {2}, most likely {3}", speech{l}.onDay(o.From), speech{l}.onDay(o.To), speech{l}.onDay(o.Best))
			}
			ratio, low, high := ofHundred(o.Ratio), ofHundred(o.Low), ofHundred(o.High)
			switch {
			case c.Since != nil:
				s += "; " + l.Say("it read otherwise {1}, and as it should again from {2} at the latest. Results between wait, and those from {2} on are told again. {3} since then:",
					since, speech{l}.onDay(o.Again), capital(speech{l}.things(len(c.Since.Entries), "check"))) + " " + checksTell(l, *c.Since)
				return s
			case o.Back:
				s += "; " + l.Say("it read otherwise {1}, and by the last checks likely as it should again: its results wait until more checks make that sure", since)
			case o.Drifts && math.IsNaN(o.Ratio):
				s += "; " + l.Say("it has drifted {1}, or since earlier if more slowly at first", since)
			case o.Drifts:
				s += "; " + l.Say("it has drifted {1}, or since earlier if more slowly at first, and by the last check reads {2} of what it should ({3} to {4})", since, ratio, low, high)
			case math.IsNaN(o.Ratio):
				s += ", " + atOnce(speech{l}, *o, since)
			default:
				s += "; " + l.Say("it reads {1} of what it should ({2} to {3})", ratio, low, high) + ", " + atOnce(speech{l}, *o, since)
			}
		}
	case control.Holds:
		s += l.Say("holds") + nowReads(speech{l}, c) + ". " + rung
		if !c.SignalAt.IsZero() {
			s += ". " + l.Say("{1} rang on {2}, and all checks together speak against it: a false alarm", capital(l.Say(string(c.Chart.Rule))), speech{l}.onDay(c.SignalAt))
		}
	default:
		if !c.SignalAt.IsZero() {
			s += l.Say("undecided. {1} rang on {2}, and all checks together leave open whether it reads otherwise: test it twice more", capital(l.Say(string(c.Chart.Rule))), speech{l}.onDay(c.SignalAt))
			break
		}
		why := l.Say("nothing rang, which is too few checks to say that it holds")
		if c.Chart.Enough() {
			why = l.Say("nothing rang, and its checks and what its record leaves open do not rule out that it reads otherwise")
		}
		s += why + nowReads(speech{l}, c) + ". " + rung
	}
	such := l.Say("Such a shift")
	if !c.SignalAt.IsZero() { // what was said before is of the shift that was seen
		such = l.Say("A shift of {1} times the scatter of one check", fmt.Sprintf("%.2g", limits.Shift))
	}
	half, alarms := speech{l}.things(int(limits.Delay), "check"), lengthOf(speech{l}, limits)
	if math.IsInf(limits.DelayMost, 1) {
		return s + ". " + l.Say("{1} that begins now rings within {2} in half of all cases, in fewer than four of five within {3}. A false alarm comes once in {4}.", such, half, fmt.Sprint(control.Furthest), alarms)
	}
	return s + ". " + l.Say("{1} that begins now rings within {2} in half of all cases, within {3} in four of five. A false alarm comes once in {4}.", such, half, fmt.Sprintf("%.0f", limits.DelayMost), alarms)
}

// atOnce is since when a method reads otherwise that is told to have moved at once: one that was on its way before began earlier.
func atOnce(l speech, o history.Onset, since string) string {
	if o.From.Equal(o.To) {
		return since
	}
	return l.Say("{1}, or since earlier if little by little before", since)
}

// nowReads is what all checks together read.
func nowReads(l speech, c history.Checks) string {
	if math.IsNaN(c.Ratio) {
		return ""
	}
	return "; " + l.Say("over all of them it read {1} of what it should ({2} to {3})", ofHundred(c.Ratio), ofHundred(c.Low), ofHundred(c.High))
}

// ChecksAlert is what checks that rang say, in a sentence for whoever reads now. A method that was away is told
// so until the checks since say that it holds; empty: there is nothing to tell.
func ChecksAlert(l *wording.Language, c history.Checks) string {
	who, now := clean(c.Method), c.Now()
	switch {
	case c.Lot != "" && c.Reader != "":
		who = l.Say("{1}, lot {2}, read by {3},", who, clean(c.Lot), clean(c.Reader))
	case c.Lot != "":
		who = l.Say("{1}, lot {2},", who, clean(c.Lot))
	case c.Reader != "":
		who = l.Say("{1}, read by {2},", who, clean(c.Reader))
	}
	o := now.Onset
	switch {
	case o == nil && (c.Onset == nil || now.Chart.State == control.Holds):
		return ""
	case o == nil:
		for c.Since.Onset != nil {
			c = *c.Since
		}
		return l.Say("{1} read otherwise from about {2} on, and by its checks of {3} as it should again from {4} at the latest: results between wait.",
			who, l.Time(c.Onset.Best, "2 January"), brief(c.Known), l.Time(c.Onset.Again, "2 January"))
	case o.Back:
		return l.Say("{1} read otherwise for a while from about {2} on, and by the last of its checks of {3} likely as it should again.", who, l.Time(o.Best, "2 January"), brief(c.Known))
	}
	if o.Drifts && !math.IsNaN(o.Ratio) {
		return l.Say("{1} drifts: by its last check it reads {2} of what it should ({3} to {4}); it began about {5} or earlier, by its checks of {6}.",
			who, ofHundred(o.Ratio), ofHundred(o.Low), ofHundred(o.High), l.Time(o.Best, "2 January"), brief(c.Known))
	}
	since := l.Time(o.Best, "2 January")
	if !o.From.Equal(o.To) {
		since = l.Say("about {1}", since)
	}
	if math.IsNaN(o.Ratio) {
		return l.Say("{1} reads otherwise than it did since {2}, by its checks of {3}.", who, since, brief(c.Known))
	}
	return l.Say("{1} reads {2} of what it should ({3} to {4}) since {5}, by its checks of {6}.", who, ofHundred(o.Ratio), ofHundred(o.Low), ofHundred(o.High), since, brief(c.Known))
}

// lengthOf is a run length as people say it, with what the record's doubt makes of it.
func lengthOf(l speech, limits control.Limits) string {
	s := l.Say("{1} checks", fmt.Sprintf("%.0f", twoDigits(limits.RunLength)))
	if limits.Most > 1.5*limits.Least {
		most := fmt.Sprintf("%.0f", twoDigits(limits.Most))
		if limits.Most > 99999 {
			most = l.Say("any number")
		}
		s += " " + l.Say("on average ({1} to {2} by what the record leaves open)", fmt.Sprintf("%.0f", twoDigits(limits.Least)), most)
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
