package report

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/history"
	"knownwater/wording"
)

// SaidTreated names the treated waters among what was said of a log: then a page is of an experiment.
const SaidTreated = "treated"

// EffectPage is an experiment on waters, judged, as one page that carries what it was computed from.
type EffectPage struct {
	Effect  history.Effect
	Needs   []knownwater.Need
	Inputs  Inputs
	Version string

	packed *packedInputs // the inputs as another program packed them; nil: packed here
}

// EffectBar is the effect, or what one water did: its interval beside words. No mark: it cannot be told.
type EffectBar struct {
	Name, Words string
	Mark        template.HTML
}

// EffectBars are what each water did and last the effect, on one scale; axis is that.
func EffectBars(l *wording.Language, e history.Effect) (bars []EffectBar, axis template.HTML) {
	ends := []float64{e.Low, e.High}
	for _, w := range e.Waters {
		ends = append(ends, w.Low, w.High)
	}
	low, high := chart.Around(ends...)
	bar := func(id, name, words string, v, from, to float64, verdict chart.Verdict) {
		b := EffectBar{Name: name, Words: words}
		if !math.IsNaN(v) {
			b.Mark = template.HTML(chart.Row{ID: id, Low: low, High: high, Bars: []chart.Bar{{Low: from, High: to, Notch: v, Verdict: verdict}}}.SVG())
		}
		bars = append(bars, b)
	}
	for i, w := range e.Waters {
		bar(fmt.Sprint("step-", i), clean(w.Water), SteppedSays(l, w, UnitBehind(e.Scale)), w.Step, w.Low, w.High, chart.Plain)
	}
	if math.IsNaN(e.Value) {
		return bars, ""
	}
	verdict := chart.Plain
	switch e.Verdict {
	case history.Undecided:
		verdict = chart.Undecided
	case history.SameForNeed:
		verdict = chart.Within
	}
	bar("effect-bar", l.Say("the effect"), l.Say("What the treated waters did beside what the control waters did."), e.Value, e.Low, e.High, verdict)
	return bars, template.HTML(chart.Row{Low: low, High: high}.Axis(true))
}

// effectView is all that the page shows; its template computes nothing.
type effectView struct {
	Title, Version, Head, More string
	carried
	Facts                   []fact
	Unit                    string
	Bars                    []EffectBar
	Axis                    template.HTML
	Wander                  string
	Notes, Inside, Cautions []string
}

// effectFindings are the data of the page.
type effectFindings struct {
	Version string `json:"version"`
	effectJSON
}

func (p EffectPage) found() any { return effectFindings{p.Version, effectWire(p.Effect)} }

func (p EffectPage) version() string { return p.Version }

func (p EffectPage) as(packed *packedInputs) LoggedPage {
	p.packed = packed
	return p
}

// Write writes the page so that it needs nothing else.
func (p EffectPage) Write(w io.Writer) error {
	v := p.view()
	var err error
	if v.carried, err = carriedBy(p, p.Inputs, p.packed, "page/experiment.css"); err != nil {
		return err
	}
	if err := pages.ExecuteTemplate(w, "experiment", v); err != nil {
		return fmt.Errorf("writing the page of the experiment: %w", err)
	}
	return nil
}

func (p EffectPage) view() effectView {
	e := p.Effect
	v := effectView{Title: english.Say("Did it work? {1}", clean(strings.Join(e.Treated, ", "))), Version: orUnknown(clean(p.Version)), Cautions: experimentCautions, Notes: SayAll(e.Notes),
		Unit: e.Scale.String(), Inside: p.Inputs.allSizes()}
	v.Head, v.More = EffectSays(nil, e)
	v.Bars, v.Axis = EffectBars(nil, e)
	if !math.IsNaN(e.Wander) {
		v.Wander = WanderSays(nil, e)
	}
	add := func(label, value string, all bool) {
		v.Facts = append(v.Facts, fact{Label: label, Value: value, All: all})
	}
	add(english.Say("Treated"), clean(strings.Join(e.Treated, ", ")), false)
	add(english.Say("Control"), clean(strings.Join(e.Control, ", ")), false)
	add(english.Say("Done on"), onDay(e.From), false)
	if e.Settle > 0 {
		add(english.Say("Left out"), english.Say("{1} from then on", things(e.Settle, "day")), false)
	}
	if !e.Since.IsZero() {
		add(english.Say("Counted from"), onDay(e.Since), false)
	}
	if !e.Until.IsZero() {
		add(english.Say("Counted until"), onDay(e.Until), false)
	}
	add(english.Say("Log"), clean(base(p.Inputs.Readings.Name)), false)
	add(english.Say("Records from"), p.Inputs.recordNames(), true)
	for _, n := range p.Needs {
		if n.Change > 0 {
			add(english.Say("Need"), english.Say("{1}: a change of {2} matters", clean(n.Name), brief(n.Change)), true)
		}
	}
	if made := clean(p.Inputs.Made); made != "" {
		add(english.Say("Page made"), made, true)
	}
	return v
}

// experimentCautions are those of any page, and of one about an experiment.
var experimentCautions = []string{
	wording.Key("Not for drinking water, medical, regulatory or compliance decisions, and no substitute for a laboratory."),
	wording.Key("What is said holds for these waters. With few of them, what one did by itself at that time weighs as much as what was done."),
	wording.Key("Undecided is no proof that nothing happened."),
}
