package report

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// HistoryPage is a log, judged, as one page that carries what it was computed from.
type HistoryPage struct {
	Histories []history.History // one of each analyte
	Notes     []note.Note
	Needs     []knownwater.Need
	Inputs    Inputs
	Version   string

	packed *packedInputs // the inputs as another program packed them; nil: packed here
}

// historyView is all that the page shows; its template computes nothing.
type historyView struct {
	Title, Version, Head string
	carried
	Lede            []string
	Facts           []fact
	Waters          []waterView
	Bridges, Checks []string
	Results         []resultRow
	Count, Left     string
	Notes           []string
	Inside          []string
	Cautions        []string
}

type waterView struct {
	No         int
	Name, Unit string
	Says       []string
	Figure     template.HTML
	Need, Torn bool
	Changes    []changeRow
}

type changeRow struct{ Earlier, Later, Across, Much, Rise, Fall, Smallest, Said, Class string }

type resultRow struct{ When, Water, By, Text, Said, Now, Standing string }

// mostOnPage are the results that are in the page's table.
const mostOnPage = 400

// historyFindings are the data of the page.
type historyFindings struct {
	Version string `json:"version"`
	historyJSON
}

func historyFound(hs []history.History, notes []note.Note, version string) historyFindings {
	return historyFindings{version, historyWire(hs, notes)}
}

// LoggedPage is a page about a log: its history, or an experiment that is judged by it.
type LoggedPage interface {
	Write(w io.Writer) error
	found() any // the data of the page
	version() string
	as(packed *packedInputs) LoggedPage
}

// carried is what a page needs besides what it shows: its style, and its data for recheck.
type carried struct {
	Style          template.CSS
	Data, Findings template.JS
}

func carriedBy(p LoggedPage, in Inputs, packed *packedInputs, own string) (c carried, err error) {
	style, err := pageFiles.ReadFile(own)
	if err != nil {
		return c, err
	}
	c.Style = template.CSS(Stylesheet() + string(style))
	c.Data, c.Findings, err = blocks(in, packed, p.found())
	return c, err
}

// LoggedNumbers lists where a page about a log says something else than what was computed again, as Numbers does.
func (d Document) LoggedNumbers(p LoggedPage, digits int) ([]Difference, error) {
	return d.numbers(p.found(), p.version(), digits)
}

// LoggedChanges makes the page again and lists where it is not the same, as Changes does.
func (d Document) LoggedChanges(p LoggedPage, digits int) ([]Change, error) {
	return d.changes(digits, func(w io.Writer, packed *packedInputs) error { return p.as(packed).Write(w) })
}

func (p HistoryPage) found() any { return historyFound(p.Histories, p.Notes, p.Version) }

func (p HistoryPage) version() string { return p.Version }

func (p HistoryPage) as(packed *packedInputs) LoggedPage {
	p.packed = packed
	return p
}

// Write writes the page so that it needs nothing else.
func (p HistoryPage) Write(w io.Writer) error {
	v := p.view()
	var err error
	if v.carried, err = carriedBy(p, p.Inputs, p.packed, "page/history.css"); err != nil {
		return err
	}
	if err := pages.ExecuteTemplate(w, "history", v); err != nil {
		return fmt.Errorf("writing the page of the history: %w", err)
	}
	return nil
}

func (p HistoryPage) view() historyView {
	v := historyView{Version: orUnknown(clean(p.Version)), Cautions: historyCautions, Notes: SayAll(notesOf(p.Histories, p.Notes))}
	var names []string
	var told toldWaters
	head := "" // of the last of them
	for _, h := range p.Histories {
		for _, name := range h.Waters() {
			if h.OnlyCompared(name) {
				continue
			}
			x := p.water(h, len(v.Waters), name)
			head = WaterHead(nil, h, name)
			v.Lede, x.Says = append(v.Lede, x.Says[0]), x.Says[1:] // what is said first of all
			v.Waters = append(v.Waters, x)
			told.add(h, name)
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		for _, b := range h.Bridges {
			v.Bridges = append(v.Bridges, BridgeSays(nil, b))
		}
		for _, c := range h.Checks {
			v.Checks = append(v.Checks, ChecksSay(nil, c))
		}
	}
	switch len(v.Lede) {
	case 0:
		v.Head = english.Say("No water of its own is in this log")
	case 1:
		v.Head = head
	default:
		v.Head = told.head(len(p.Histories) > 1)
	}
	v.Title = english.Say("Did it change? {1}", clean(strings.Join(names, ", ")))
	p.facts(&v)
	v.Inside = p.Inputs.allSizes()
	results := resultsOf(p.Histories)
	v.Count = things(len(results), "result")
	for _, r := range slices.Backward(results) {
		if len(v.Results) == mostOnPage {
			v.Left = count(len(results) - mostOnPage)
			break
		}
		v.Results = append(v.Results, resultOf(r))
	}
	return v
}

// toldWaters counts waters, each once for every analyte, and what became of them.
type toldWaters struct{ all, changed, broken int }

func (t *toldWaters) add(h history.History, name string) {
	t.all++
	if slices.ContainsFunc(h.Changes, func(c history.Change) bool {
		return c.Water == name && (c.Verdict == history.Rose || c.Verdict == history.Fell)
	}) {
		t.changed++
	}
	if len(h.ChangesOf(name).Broken) > 0 {
		t.broken++
	}
}

// head says how many waters changed.
func (t toldWaters) head(several bool) string {
	what := "waters"
	if several {
		what = english.Say("levels of waters")
	}
	s := english.Say("{1} of {2} {3} changed", strconv.Itoa(t.changed), strconv.Itoa(t.all), what)
	if t.changed == 0 {
		s = english.Say("Of none of {1} {2} a change could be told", strconv.Itoa(t.all), what)
	}
	if broken := t.broken; broken > 0 {
		s += "; " + english.Say("{1} cannot be followed all the way: nothing links its methods or lots", strconv.Itoa(broken))
	}
	return s
}

// allSizes are the files of a page about a log, with those of its records.
func (in Inputs) allSizes() []string {
	out := in.sizes()
	for _, r := range in.Records {
		out = append(out, english.Say("of {1}: {2}", clean(base(r.Report)), strings.Join(r.sizes(), ", ")))
	}
	return out
}

// recordNames are the reports that the records of such a page are from.
func (in Inputs) recordNames() string {
	var names []string
	for _, r := range in.Records {
		names = append(names, clean(base(r.Report)))
	}
	return strings.Join(names, ", ")
}

func (p HistoryPage) facts(v *historyView) {
	results := resultsOf(p.Histories)
	add := func(label, value string, all bool) {
		v.Facts = append(v.Facts, fact{Label: label, Value: value, All: all})
	}
	add("Log", clean(base(p.Inputs.Readings.Name)), false)
	add("Results", count(len(results)), false)
	if n := len(results); n > 0 {
		add("From", onDay(results[0].At), false)
		add("to", onDay(results[n-1].At), false)
	}
	add("Records from", p.Inputs.recordNames(), true)
	for _, n := range p.Needs {
		s := english.Say("{1}: {2} to {3}", clean(n.Name), brief(n.Low), brief(n.High))
		if n.Change > 0 {
			s += "; " + english.Say("a change of {1} matters", brief(n.Change))
		}
		add("Need", s, true)
	}
	if made := clean(p.Inputs.Made); made != "" {
		add("Page made", made, true)
	}
}

func (p HistoryPage) water(h history.History, i int, name string) waterView {
	v := waterView{No: i + 1, Name: clean(name), Says: WaterSays(nil, h, name)}
	scale, ok := h.ScaleOf(name)
	if several := len(p.Histories) > 1; several && ok {
		v.Name += ", " + clean(scale.Analyte)
		v.Says[0] = capital(clean(scale.Analyte)) + ", " + clean(name) + strings.TrimPrefix(v.Says[0], clean(name))
	}
	unitText := UnitBehind(scale)
	if v.Unit = english.Say("In {1}", scale.String()); !ok {
		v.Unit = english.Say("No unit: its methods have no record")
	}
	for _, s := range h.Slopes {
		if text := SlopeSays(nil, h, s); text != "" && s.Water == name {
			v.Says = append(v.Says, text)
		}
	}
	v.Says = append(v.Says, HoldsOf(nil, h, name)...)
	var need *chart.Stretch
	if len(p.Needs) == 1 && len(p.Histories) == 1 {
		need = &chart.Stretch{Low: p.Needs[0].Low, High: p.Needs[0].High}
	}
	v.Need = need != nil
	v.Figure = template.HTML(HistoryFigure(nil, fmt.Sprintf("over-time-%d", v.No), h, name, need, func(r history.Result) float64 {
		if r.Outcome == nil {
			return math.NaN()
		}
		return r.Outcome.Result.Estimate
	}))
	for _, c := range h.Changes {
		if c.Water == name {
			v.Changes = append(v.Changes, changeOf(c, unitText))
			v.Torn = v.Torn || c.Verdict == history.CannotBeTold && c.Came && !c.Whole
		}
	}
	return v
}

func changeOf(c history.Change, unitText string) changeRow {
	r := changeRow{Earlier: daysOf(english, c.From, c.Until, time.Time{}), Later: daysOf(english, c.Since, c.To, time.Time{}), Across: clean(c.Across), Much: none, Rise: none, Fall: none, Smallest: none, Said: string(c.Verdict)}
	if !math.IsNaN(c.Difference) {
		r.Much = byHowMuch(english, c, unitText)
	}
	if !math.IsNaN(c.PRise) {
		r.Rise, r.Fall = english.Say("{1} in 100", InHundred(nil, c.PRise)), english.Say("{1} in 100", InHundred(nil, c.PFall))
	}
	if !math.IsNaN(c.Smallest) && c.Verdict != history.Rose && c.Verdict != history.Fell { // who is told of a change need not know what else would be
		r.Smallest = unit.Round(c.Smallest, c.U) + unitText
	}
	switch c.Verdict {
	case history.SameForNeed:
		r.Class = "within"
	case history.Undecided, history.CannotBeTold:
		r.Class = "undecided"
	}
	return r
}

func resultOf(r history.Result) resultRow {
	row := resultRow{When: clean(r.Typed), Water: clean(r.Water), By: clean(r.Method), Text: AsRead(r.Entry), Said: "not turned round: no record"}
	if r.Reader != "" {
		row.By += ", " + clean(r.Reader)
	}
	if r.Lot != "" {
		row.By += ", " + english.Say("lot {1}", clean(r.Lot))
	}
	if r.Outcome != nil {
		row.Said = LoggedSays(nil, *r.Outcome)
	}
	if r.Again != nil {
		row.Now = LoggedSays(nil, *r.Again)
	}
	if r.Standing != history.Stands {
		row.Standing = string(r.Standing)
	}
	return row
}

// historyCautions are those of any page, and of one about a log.
var historyCautions = []string{
	"Not for drinking water, medical, regulatory or compliance decisions, and no substitute for a laboratory.",
	"What is said holds for the lots, readers and methods of this log, by the records that are inside this page.",
	"Do not dose or change a tank on a single reading, least of all on one below the detection limit or open at an end.",
}
