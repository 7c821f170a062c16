package calibrations

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/decide"
	"knownwater/science/result"
	"knownwater/web/form"
	"knownwater/web/render"
)

// kept is what is said of a sample when its result is kept.
type kept struct {
	Key, Water, Note, Program string
	TakenAt                   time.Time
	Of                        *knownwater.Sample
}

// answer is what the readings of a sample say.
type answer struct {
	Sentence    string
	Rows        []needRow
	Decisions   []decision
	Axis        template.HTML
	Notes       []string
	Again, Anew string // addresses: one more of this sample, another sample
	Hidden      []hidden
	Text, Words string // on the button that keeps it
}

// needRow is the answer against one need, or alone.
type needRow struct {
	Mark  template.HTML
	Words string
	Class string
}

type hidden struct{ Name, Value string }

// answer turns the readings round and puts the answer into words and marks.
func (s *Pages) answer(ctx context.Context, as render.Reader, p *readPage, readings []string) error {
	q, err := s.question(ctx, p, readings)
	if err != nil || p.Form.Bad() {
		return err
	}
	o, err := p.Chosen.read(ctx, q)
	if faults := form.FaultsOf(err); faults != nil {
		for _, x := range faults {
			if x.Column == "--reading" || x.Column == "readings" {
				x.Column = "reading"
			}
			p.Form.AddFault(x)
		}
		return nil
	}
	if err != nil {
		return err
	}
	p.Answer, p.Hints = answerOf(as, as.Outcome(o), p), hints[p.Chosen.Scale.Analyte]
	if p.Water != nil {
		p.Answer.Notes = append(p.Answer.Notes, report.SayAllIn(as.Language, decide.Disturbed(p.Chosen.Scale.Analyte, p.Water.Spec.Note))...)
	}
	return s.elsewhere(ctx, as, p, o)
}

// question is what was read and under what conditions, with the needs on its scale.
func (s *Pages) question(ctx context.Context, p *readPage, readings []string) (result.Question, error) {
	f := p.Form
	q := result.Question{Readings: readings, Lot: f.Text("lot"), Dilution: f.Number("dilution", "a factor such as 8"), UDilution: f.Number("u_dilution", form.WantNumber) / 100}
	if len(readings) > 0 {
		if err := q.ReadBy(p.readers(len(readings))); err != nil {
			return q, err
		}
	}
	if f.Text("dilution") != "" && !(q.Dilution > 0) && f.Wrong("dilution") == nil {
		f.Reject("dilution", f.Text("dilution"), "a factor above 0, such as 8 for 1 part in 8")
	}
	if !(q.UDilution >= 0 && q.UDilution < 1) && f.Wrong("u_dilution") == nil {
		f.Reject("u_dilution", f.Text("u_dilution")+" %", "from 0 to below 100 %, such as 0.4")
	}
	if p.AsksNitrite() && f.Text("nitrite")+f.Text("u_nitrite") != "" {
		q.NitriteKnown, q.Nitrite, q.UNitrite = f.Text("nitrite") != "", f.Number("nitrite", form.WantNumber), f.Number("u_nitrite", form.WantNumber)
		if !q.NitriteKnown && f.Wrong("u_nitrite") == nil {
			f.Reject("nitrite", "nothing", "the nitrite that this is the doubt of, mg/L")
		}
		for name, v := range map[string]float64{"nitrite": q.Nitrite, "u_nitrite": q.UNitrite} {
			if !(v >= 0 && v <= knownwater.MostNitrite) && f.Wrong(name) == nil {
				f.Reject(name, f.Text(name), "mg/L NO2, from 0 up")
			}
		}
	}
	needs, err := s.Bench.Needs(ctx)
	for _, n := range needs {
		if p.Check || p.Coded || p.Water != nil && !slices.Contains(p.Water.Spec.Needs, n.ID) {
			continue // of another water
		}
		if !n.Retired && n.Scale == p.Chosen.Scale {
			q.Needs = append(q.Needs, n.Need)
		}
	}
	return q, err
}

func answerOf(as render.Reader, o result.Outcome, p *readPage) *answer {
	a := &answer{Sentence: report.ReadingSays(as.Language, o), Notes: report.SayAllIn(as.Language, o.Notes), Text: strings.Join(o.Readings, ", "), Words: report.ReadingBrief(as.Language, o)}
	scale := rulerScale(o)
	a.Decisions = decisionsOf(as, o)
	for i, v := range o.Verdicts {
		mark, judged := adviceMark[v.Advice]
		if !judged {
			mark = chart.Undecided
		}
		class := adviceClass[v.Advice]
		if class == "" {
			class = "undecided"
		}
		n := o.Needs[i]
		row := chart.Row{ID: fmt.Sprint("need-", i), Title: a.Words + "; " + n.Name, Scale: &scale, Need: &chart.Stretch{Low: n.Low, High: n.High}, Bars: report.Bars(o.Result, mark)}
		a.Rows = append(a.Rows, needRow{template.HTML(row.SVG()), report.ReadingAdvice(as.Language, o, i), class})
	}
	if len(a.Rows) == 0 {
		row := chart.Row{ID: "says-row", Title: a.Words, Scale: &scale, Bars: report.Bars(o.Result, chart.Plain)}
		a.Rows = []needRow{{Mark: template.HTML(row.SVG())}}
	}
	a.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
	a.address(p, o.Question)
	return a
}

// address says where one more reading of this sample, and another sample, are taken,
// and what goes along when this one is kept.
func (a *answer) address(p *readPage, q result.Question) {
	again := url.Values{}
	for _, name := range []string{"with", "reader", "lot", "dilution", "u_dilution", "nitrite", "u_nitrite", "tank", "role"} {
		if v := p.Form.Text(name); v != "" || name == "reader" {
			again.Set(name, v)
			a.Hidden = append(a.Hidden, hidden{name, v})
		}
	}
	again.Set("with", p.Chosen.With)
	names := p.readers(len(q.Readings))
	again.Set("reader", names[0]) // the first stays the one who reads, until another is tapped
	a.Anew = "/read?" + again.Encode()
	for i, text := range q.Readings {
		again.Add("before", text)
		again.Add("by", names[i])
		a.Hidden = append(a.Hidden, hidden{"readings", text})
		if q.By != nil {
			a.Hidden = append(a.Hidden, hidden{"by", names[i]})
		}
	}
	a.Again = "/read?" + again.Encode()
}

// rulerScale holds the answer and every need that it is held against.
func rulerScale(o result.Outcome) chart.Scale {
	levels := []float64{o.Result.Low, o.Result.High, o.Result.Estimate}
	for _, n := range o.Needs {
		levels = append(levels, n.Low, n.High)
	}
	most := 0.0
	for _, v := range levels {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			most = math.Max(most, v)
		}
	}
	return chart.ScaleFor(append(slices.DeleteFunc(levels, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) }), 1.15*most)...)
}
