package calibrations

import (
	"context"
	"crypto/rand"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// readPage is tonight's reading: a method, its pad, and at once what it says.
type readPage struct {
	Methods []choice
	Chosen  *chosen
	Form    *form.Form // the reading
	Before  []string   // readings of this sample that were taken before
	Answer  *answer
	Keep    *form.Form // the water, when it was tested
	Waters  []choice   // what is tested again and again, last tested first
	Water   *knownwater.Water
	Check   bool     // known water is tested
	Alerts  []string // what checks say of the chosen method and lot
	Hints   []string // what the trade knows to disturb it
	Key     string   // of a result sent twice
}

// choice is one calibration in use.
type choice struct {
	Path, Name string
	Chosen     bool
}

// chosen is the calibration that a reading is turned round by.
type chosen struct {
	With          string // in the address
	Name          string
	Scale         unit.Scale
	Pad           render.Pad
	Readers, Lots []string // that were tried
	Provenance    string
	read          func(context.Context, result.Question) (result.Outcome, error)
	keep          func(context.Context, knownwater.Who, result.Question, kept) (path string, err error)
}

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

// Loose are the faults that stand beside no field.
func (p readPage) Loose() []string {
	return p.Form.Loose("reading", "dilution", "u_dilution")
}

// LooseKeep are the faults of keeping that stand beside no field.
func (p readPage) LooseKeep() []string {
	return p.Keep.Loose("water", "taken_at", "note", "known", "u_known", "filtered", "salinity", "temperature", "hours_kept")
}

// Typed is what stands in the box of a pad of digits or drops.
func (p readPage) Typed() string { return p.Form.Text("reading") }

// MoreOpen opens what is folded where something in it is filled in or wrong.
func (p readPage) MoreOpen() bool {
	for _, name := range []string{"lot", "dilution", "u_dilution"} {
		// of a water they stand there as the last time; the fold's name says them
		if p.Form.Text(name) != "" && p.Water == nil && !p.Check || p.Form.Wrong(name) != "" {
			return true
		}
	}
	return false
}

// read is asked with the reading in the address: nothing is kept by looking.
func (s *Pages) read(w http.ResponseWriter, r *http.Request) {
	s.showRead(w, r, &form.Form{Values: r.URL.Query()}, &form.Form{})
}

func (s *Pages) showRead(w http.ResponseWriter, r *http.Request, f, keep *form.Form) {
	p := readPage{Form: f, Keep: keep, Key: keep.Text("key"), Before: f.Values["before"]}
	if p.Key == "" {
		p.Key = rand.Text()
	}
	if by := page.WhoIs(r); !f.Values.Has("reader") && by.Person != 0 { // not asked yet: whoever looks
		f.Set("reader", by.Name)
	}
	err := s.choose(r.Context(), &p)
	if readings := p.readings(); err == nil && p.Chosen != nil && len(readings) > 0 {
		err = s.answer(r.Context(), &p, readings)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	status := http.StatusOK
	if f.Bad() || keep.Bad() {
		status = http.StatusUnprocessableEntity
	}
	s.Show(w, r, status, "read", page.Frame{Title: "Read", Part: "read", Page: p})
}

// keep keeps what the page said: it is computed again from what was typed.
func (s *Pages) keep(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	asked := &form.Form{Values: url.Values{"reader": f.Values["reader"]}}
	for _, name := range []string{"with", "lot", "dilution", "u_dilution", "tank", "role"} {
		asked.Set(name, f.Get(name))
	}
	if readings := f.Values["readings"]; len(readings) > 0 {
		asked.Values["before"] = readings[:len(readings)-1]
		asked.Set("reading", readings[len(readings)-1])
	}
	p := readPage{Form: asked, Before: asked.Values["before"]}
	if err := s.choose(r.Context(), &p); err != nil {
		s.Fail(w, r, err)
		return
	}
	if p.Chosen == nil {
		s.NotFound(w, r)
		return
	}
	q, err := s.question(r.Context(), &p, p.readings())
	k := kept{Key: f.Text("key"), Water: f.Text("water"), Note: f.Get("note"), Program: s.Options.Version, TakenAt: f.LocalTime("taken_at")}
	p.sample(f, &k)
	path := ""
	if err == nil && !asked.Bad() && !f.Bad() {
		path, err = p.Chosen.keep(r.Context(), page.WhoIs(r), q, k)
	}
	if f.Refused(err) || asked.Bad() {
		s.showRead(w, r, &form.Form{Values: asked.Values}, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Kept. Nothing that is decided later changes it.")
	switch {
	case p.Water != nil:
		path = "/waters/" + render.ID(p.Water.ID)
	case p.Check:
		path = "/checks"
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
}

// choose fills in what can be read by, and the one that was chosen.
func (s *Pages) choose(ctx context.Context, p *readPage) error {
	all, err := s.Bench.Calibrations(ctx)
	if err != nil {
		return err
	}
	of := map[string]int{} // how many there are of a name
	for _, c := range all {
		of[c.Name]++
	}
	last, err := s.Bench.LastResults(ctx, mostRemembered)
	if err != nil {
		return err
	}
	if err := s.chooseWater(ctx, p, last); err != nil {
		return err
	}
	all = lastUsedFirst(all, last, p.Water)
	with := p.Form.Text("with")
	if with == "" && len(all) > 0 && (p.Water != nil || p.Check) && !p.Form.Values.Has("with") { // ten seconds: what was used last is chosen
		with = withOf(all[0])
		p.Form.Set("with", with)
	}
	for _, c := range all {
		name := c.Name
		if of[name] > 1 && c.Matrix != "" {
			name += ", " + c.Matrix
		}
		is := withOf(c) == with || with == "" && len(all) == 1
		p.Methods = append(p.Methods, choice{p.path("with", withOf(c)), name, is})
		if !is {
			continue
		}
		if p.Chosen, err = s.chosen(ctx, c); err != nil {
			return err
		}
		if err := s.watch(ctx, p, c, last); err != nil {
			return err
		}
	}
	return nil
}

// withOf names a calibration in an address: the version, so that a page that was opened
// before another was taken into use says by what it read.
func withOf(c knownwater.Calibration) string { return string(c.Kind) + "-" + render.ID(c.Version) }

// ReadPath is where readings are turned round by a calibration.
func ReadPath(c knownwater.Calibration) string { return "/read?with=" + withOf(c) }

func (s *Pages) chosen(ctx context.Context, c knownwater.Calibration) (*chosen, error) {
	if c.Kind == knownwater.ByRecord {
		x, err := s.Bench.RecordVersion(ctx, c.Version)
		if err != nil {
			return nil, err
		}
		return s.byRecord(ctx, c, x)
	}
	x, err := s.Bench.CurveVersion(ctx, c.Version)
	return s.byCurve(c, x), err
}

// byRecord reads by a trial's record of a method, on the method's own pad.
func (s *Pages) byRecord(ctx context.Context, c knownwater.Calibration, x calibrations.Record) (*chosen, error) {
	m, err := s.Bench.MethodVersion(ctx, x.Spec.Version)
	if err != nil {
		return nil, err
	}
	known, err := s.Bench.Performance(ctx, x)
	if err != nil {
		return nil, err
	}
	return &chosen{With: withOf(c), Name: x.Spec.Method, Scale: x.Spec.Scale, Pad: render.PadOf(m.Spec), Readers: known.Readers, Lots: known.Lots,
		Provenance: fmt.Sprintf("By version %d of its record, from the trial “%s”: %s%s.", x.Version, x.Spec.Title, render.Count(x.Spec.Readings, "reading"), inWater(x.Spec.Matrix)),
		read: func(ctx context.Context, q result.Question) (result.Outcome, error) {
			return s.Bench.Say(ctx, x, calibrations.NewResult{Signals: strings.Join(q.Readings, " "), Reader: q.Reader, Lot: q.Lot, Dilution: q.Dilution, UDilution: q.UDilution}, q.Needs)
		},
		keep: func(ctx context.Context, by knownwater.Who, q result.Question, k kept) (string, error) {
			r, err := s.Bench.KeepResult(ctx, by, calibrations.NewResult{Key: k.Key, Record: x.VersionID, Water: k.Water, Signals: strings.Join(q.Readings, " "), Reader: q.Reader, Lot: q.Lot,
				Dilution: q.Dilution, UDilution: q.UDilution, TakenAt: k.TakenAt, Note: k.Note, Program: k.Program, Of: k.Of})
			return recordResultPath(r), err
		}}, nil
}

func inWater(matrix string) string {
	if matrix == "" {
		return ""
	}
	return " in " + matrix
}

// byCurve reads signals: a curve belongs to no method of the bench.
func (s *Pages) byCurve(c knownwater.Calibration, x calibrations.Curve) *chosen {
	return &chosen{With: withOf(c), Name: x.Spec.Name, Scale: x.Spec.Scale, Pad: render.Pad{Form: "digits", Signed: true},
		Provenance: fmt.Sprintf("By version %d of the curve.", x.Version),
		read: func(ctx context.Context, q result.Question) (result.Outcome, error) {
			d, err := s.Bench.Fit(x)
			if err != nil {
				return result.Outcome{}, err
			}
			return d.Answer(q)
		},
		keep: func(ctx context.Context, by knownwater.Who, q result.Question, k kept) (string, error) {
			r, err := s.Bench.KeepResult(ctx, by, calibrations.NewResult{Key: k.Key, Version: x.VersionID, Water: k.Water, Signals: strings.Join(q.Readings, " "),
				Dilution: q.Dilution, UDilution: q.UDilution, TakenAt: k.TakenAt, Note: k.Note, Program: k.Program, Of: k.Of})
			return resultPath(r), err
		}}
}

// readings are those of the sample: what was read before, and what was read now.
func (p *readPage) readings() []string {
	now := p.Form.Text("reading")
	if beyond := p.Form.Text("beyond"); beyond != "" {
		now = beyond
	}
	if now == "" {
		return nil
	}
	return append(slices.Clone(p.Before), now)
}

// answer turns the readings round and puts the answer into words and marks.
func (s *Pages) answer(ctx context.Context, p *readPage, readings []string) error {
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
	p.Answer, p.Hints = answerOf(o, p), hints[p.Chosen.Scale.Analyte]
	return nil
}

// question is what was read and under what conditions, with the needs on its scale.
func (s *Pages) question(ctx context.Context, p *readPage, readings []string) (result.Question, error) {
	f := p.Form
	q := result.Question{Readings: readings, Reader: f.Text("reader"), Lot: f.Text("lot"), Dilution: f.Number("dilution", "a factor such as 8"), UDilution: f.Number("u_dilution", form.ANumber) / 100}
	if f.Text("dilution") != "" && !(q.Dilution > 0) && f.Wrong("dilution") == "" {
		f.Reject("dilution", f.Text("dilution"), "a factor above 0, such as 8 for 1 part in 8")
	}
	if !(q.UDilution >= 0 && q.UDilution < 1) && f.Wrong("u_dilution") == "" {
		f.Reject("u_dilution", f.Text("u_dilution")+" %", "from 0 to below 100 %, such as 0.4")
	}
	needs, err := s.Bench.Needs(ctx)
	for _, n := range needs {
		if p.Check || p.Water != nil && !slices.Contains(p.Water.Spec.Needs, n.ID) {
			continue // of another water
		}
		if !n.Retired && n.Scale == p.Chosen.Scale {
			q.Needs = append(q.Needs, n.Need)
		}
	}
	return q, err
}

// adviceClass and adviceMark are how the advice on a need is coloured and drawn.
var (
	adviceClass = map[string]string{result.Inside: "within", result.Below: "outside", result.Above: "outside"}
	adviceMark  = map[string]chart.Verdict{result.Inside: chart.Within, result.Below: chart.Outside, result.Above: chart.Outside}
)

func answerOf(o result.Outcome, p *readPage) *answer {
	a := &answer{Sentence: report.ReadingSays(o), Notes: report.SayAll(o.Notes), Text: strings.Join(o.Readings, ", "), Words: report.ReadingBrief(o)}
	scale := rulerScale(o)
	a.Decisions = decisionsOf(o)
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
		row := chart.Row{ID: fmt.Sprint("need-", i), Title: a.Words + "; " + n.Name, Scale: &scale, Need: &chart.Stretch{Low: n.Low, High: n.High}, Bars: bars(o.Result, mark)}
		a.Rows = append(a.Rows, needRow{template.HTML(row.SVG()), report.ReadingAdvice(o, i), class})
	}
	if len(a.Rows) == 0 {
		row := chart.Row{ID: "says-row", Title: a.Words, Scale: &scale, Bars: bars(o.Result, chart.Plain)}
		a.Rows = []needRow{{Mark: template.HTML(row.SVG())}}
	}
	a.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
	a.address(p, o.Readings)
	return a
}

// address says where one more reading of this sample, and another sample, are taken,
// and what goes along when this one is kept.
func (a *answer) address(p *readPage, readings []string) {
	again := url.Values{}
	for _, name := range []string{"with", "reader", "lot", "dilution", "u_dilution", "tank", "role"} {
		if v := p.Form.Text(name); v != "" || name == "reader" {
			again.Set(name, v)
			a.Hidden = append(a.Hidden, hidden{name, v})
		}
	}
	again.Set("with", p.Chosen.With)
	a.Anew = "/read?" + again.Encode()
	for _, text := range readings {
		again.Add("before", text)
		a.Hidden = append(a.Hidden, hidden{"readings", text})
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

// bars are the pieces of an answer as intervals, open where it goes on without end.
func bars(r result.Result, v chart.Verdict) (out []chart.Bar) {
	pieces := r.Pieces()
	if len(pieces) == 0 {
		pieces = []interval.Interval{{Low: r.Low, High: r.High}}
	}
	for _, x := range pieces {
		b := chart.Bar{Low: x.Low, High: x.High, Notch: math.NaN(), Verdict: v}
		if math.IsNaN(b.High) && r.Open == inverse.Above {
			b.High = math.Inf(1)
		}
		if r.Estimate >= x.Low && !(r.Estimate > b.High) {
			b.Notch = r.Estimate
		}
		out = append(out, b)
	}
	return out
}
