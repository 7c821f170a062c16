package report

import (
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"
	"sync"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/wording"
)

//go:embed page/*.gohtml page/*.html page/*.css
var pageFiles embed.FS

var pages = template.Must(template.New("page").ParseFS(pageFiles, "page/*.gohtml"))

// translated are the templates of the report in each language, parsed once.
var translated = sync.OnceValue(func() map[string]*template.Template {
	out := map[string]*template.Template{english.Tag(): pages}
	names, err := fs.Glob(pageFiles, "page/*.gohtml")
	if err != nil {
		panic(err) // the pattern is ours
	}
	for _, l := range wording.Languages() {
		t := template.New("page")
		for _, name := range names {
			source, err := pageFiles.ReadFile(name)
			if err == nil {
				_, err = t.Parse(l.Template(string(source)))
			}
			if err != nil {
				panic(err) // embedded, and a translation is text and places
			}
		}
		out[l.Tag()] = t
	}
	return out
})

// pageView is all that the page shows; its templates compute nothing.
type pageView struct {
	view
	in        speech
	Style     template.CSS
	Rail      []Link
	Folds     []foldView
	Story     *Story
	Verdicts  []verdictRow
	Specimen  template.HTML
	Ladders   []ladderSet
	Rulers    []rulerView
	RulerAxis template.HTML
	Pairs     []pairsView
	Hands     []handsView
	Responses []plotView
	Along     []alongSet
	ReadBacks []readBackView
	Settle    []settleView
	How       []howView

	LimitWords []limitRow
	Seed       uint64
	Version    string
	MCError    string
	Inputs     []string
	Data       template.JS
	Findings   template.JS
}

// verdictRow is one method with what it may be used for.
type verdictRow struct {
	Name, Kind, Reads string
	Needs             []verdictOnNeed
}

type verdictOnNeed struct {
	verdictView
	Strip stripView
}

type alongSet struct {
	Need  string
	Plots []plotView
}

type settleView struct{ Method, Need, What, Why string }

// Page is one page of findings with all that stands on it.
type Page struct {
	Findings assess.Findings
	Trial    knownwater.Trial
	Inputs   Inputs
	Behind   Behind // where the readings are; nil: none is named
	Answer   string // where answers to the open questions go; empty: they cannot be answered here

	// Language is that of the body's first screen, Units the units of its errors and needs; a
	// page that is written is a file, in English and in the trial's units.
	Language *wording.Language
	Units    Turns

	packed *packedInputs // the inputs as another program packed them; nil: packed here
}

// Behind is the address of the readings behind a level of a method, or of those of
// them that were read as text.
type Behind func(m assess.MethodFinding, level float64, text string) string

// Write writes the page so that it needs nothing else: style, figures and raw
// inputs are inside. It prints, and recheck can read it back.
func (p Page) Write(w io.Writer) error {
	v := p.view(english, asTheyAre)
	v.Style = template.CSS(Stylesheet())
	if err := v.data(p); err != nil {
		return err
	}
	if err := v.fold(); err != nil {
		return err
	}
	if err := pages.ExecuteTemplate(w, "page", v); err != nil {
		return fmt.Errorf("writing the report page: %w", err)
	}
	return nil
}

// Body is what stands on the page, to stand inside another one that links the
// style sheet: the same sentences, tables and figures, without the inputs. It
// has no style or script of its own, so that a strict policy lets it through.
func (p Page) Body() (template.HTML, error) {
	var b strings.Builder
	turn := p.Units
	if turn == nil {
		turn = asTheyAre
	}
	v := p.view(speech{p.Language}, turn)
	if err := v.fold(); err != nil {
		return "", err
	}
	if err := translated()[p.Language.Tag()].ExecuteTemplate(&b, "body", v); err != nil {
		return "", fmt.Errorf("writing the findings: %w", err)
	}
	return template.HTML(b.String()), nil
}

// Stylesheet is the page's style sheet.
func Stylesheet() string {
	var out string
	for _, name := range []string{"page/sheet.css", "page/answer.css"} {
		css, err := pageFiles.ReadFile(name)
		if err != nil {
			panic(err) // embedded
		}
		out += string(css)
	}
	return out
}

// HTML writes a page of findings that were made from files.
func HTML(w io.Writer, f assess.Findings, t knownwater.Trial, in Inputs) error {
	return Page{Findings: f, Trial: t, Inputs: in}.Write(w)
}

// view is all that the page shows but its inputs and style.
func (p Page) view(l speech, turn Turns) pageView {
	v := newView(l, p.Findings, p.Trial, turn)
	f := oneWater(p.Findings)
	made := clean(p.Inputs.Made)
	if made != "" {
		v.Facts = append(v.Facts, fact{Label: "Page made", Value: made})
	}
	if p.Inputs.Signer != "" {
		v.Facts = append(v.Facts, fact{Label: "Signed by the bench", Value: Fingerprint(p.Inputs.Signer)})
	}
	evenOut(v.Facts)
	if p.Behind != nil {
		for i, m := range v.Methods {
			for j, l := range m.f.Levels {
				v.Methods[i].Levels[j].Behind = p.Behind(p.Findings.Methods[i], l.Level, "")
			}
		}
	}
	for i := range v.Answer.Open {
		v.Answer.Open[i].Asking = l.asking(p.Answer, fmt.Sprintf("why-%d", i), v.Answer.Open[i].q, f)
	}
	out := pageView{view: v, in: l, Seed: f.Seed, Version: orUnknown(clean(f.Version)), Story: p.Inputs.story()}
	out.figures(f, p.Trial, v, p.Behind)
	out.Settle = settleOf(f)
	out.How, out.LimitWords = how(f), limitWords
	return out
}

// evenOut lets the last fact take the whole width where it would stand alone.
func evenOut(facts []fact) {
	halves := 0
	for _, x := range facts {
		if !x.All {
			halves++
		}
	}
	if n := len(facts); n > 0 && halves%2 == 1 {
		facts[n-1].All = true
	}
}

// data puts inputs and findings into the page. json.Marshal writes <, > and &
// as escapes, so that the blocks cannot be ended from inside.
func (p *pageView) data(of Page) error {
	var err error
	p.Data, p.Findings, err = blocks(of.Inputs, of.packed, wireOf(of.Findings))
	p.Inputs = of.Inputs.sizes()
	return err
}

// blocks are the data blocks of a page; its inputs as they were packed where packed is not nil.
func blocks(in Inputs, packed *packedInputs, findings any) (data, found template.JS, err error) {
	if packed == nil {
		p, err := in.pack()
		if err != nil {
			return "", "", fmt.Errorf("packing the inputs: %w", err)
		}
		packed = &p
	}
	a, err := json.Marshal(packed)
	if err != nil {
		return "", "", fmt.Errorf("packing the inputs: %w", err)
	}
	b, err := json.Marshal(findings)
	if err != nil {
		return "", "", fmt.Errorf("packing the findings: %w", err)
	}
	return template.JS(a), template.JS(b), nil
}

// sizes are the files by name with their sizes.
func (in Inputs) sizes() (out []string) {
	for _, file := range []File{in.Readings, in.Methods, in.Need} {
		if file.Name != "" {
			out = append(out, fmt.Sprintf("%s (%s bytes)", clean(base(file.Name)), count(len(file.Data))))
		}
	}
	return out
}

func (p *pageView) figures(f assess.Findings, t knownwater.Trial, v view, behind Behind) {
	p.Specimen = figure(chart.Specimen("specimen", "One rung, enlarged; its marks are numbered as in the list beside it"))
	needs := make([]*knownwater.Need, len(t.Needs))
	for i := range t.Needs {
		needs[i] = &t.Needs[i]
	}
	if len(needs) == 0 {
		p.Ladders = []ladderSet{newLadders(f, nil, 0, v.Scale, behind)}
	}
	for i, n := range needs {
		if set := newLadders(f, n, i, v.Scale, behind); len(set.Ladders) > 0 {
			p.Ladders = append(p.Ladders, set)
		}
	}
	for i, m := range v.Methods {
		p.Verdicts = append(p.Verdicts, newVerdictRow(i, m, t))
		if h := newHands(i, m, v.Scale); h.Any() {
			p.Hands = append(p.Hands, h)
		}
		if r, ok := newResponse(i, m, v.Scale); ok {
			p.Responses = append(p.Responses, r)
		}
		if len(m.ReadBack) > 0 {
			p.ReadBacks = append(p.ReadBacks, newReadBackView(i, m, v.Scale))
		}
		if q := newPairs(m); len(q.Rows) > 0 {
			p.Pairs = append(p.Pairs, q)
		}
	}
	p.Rulers, p.RulerAxis = newRulers(f, v.Scale)
	for _, n := range v.Needs {
		set := alongSet{Need: n.Name}
		for i, m := range v.Methods {
			for j, x := range m.f.Needs {
				if clean(x.Need) == n.Name {
					need, _ := needOf(t, x.Need)
					if a, ok := newAlong(i, j, m, x, need, v.Scale); ok {
						set.Plots = append(set.Plots, a)
					}
				}
			}
		}
		if len(set.Plots) > 0 {
			p.Along = append(p.Along, set)
		}
	}
	for _, m := range f.Methods {
		if m.MCError.OK() {
			p.MCError = two(float64(m.MCError) * 100)
			break
		}
	}
}

func newVerdictRow(i int, m methodView, t knownwater.Trial) verdictRow {
	r := verdictRow{Name: m.Name, Kind: capital(m.Kind) + "; " + m.Counts, Reads: m.Reads}
	for j, d := range m.Verdicts {
		on := verdictOnNeed{verdictView: d}
		if j < len(m.f.Needs) {
			if n, ok := needOf(t, m.f.Needs[j].Need); ok {
				on.Strip = newStrip(m.f, &n, fmt.Sprintf("strip-%d-%d", i, j))
			}
		}
		r.Needs = append(r.Needs, on)
	}
	return r
}

func settleOf(f assess.Findings) []settleView {
	var out []settleView
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			if n.Verdict == assess.Undecided {
				out = append(out, settleView{nameOf(m), clean(n.Need), settle(n), sayTogether(n.Why)})
			}
		}
	}
	return out
}

// pairsView is the matrix of level pairs of one method.
type pairsView struct {
	No     int
	Name   string
	Heads  []string
	Rows   []pairRow
	Others bool
}

type pairRow struct {
	Low   string
	Cells []pairCell
}

type pairCell struct{ Order, Tie, Tests, Others string }

func newPairs(m methodView) pairsView {
	v := pairsView{No: m.No, Name: m.Name}
	var levels []float64
	for _, l := range m.f.Levels {
		levels = append(levels, l.Level)
	}
	if len(levels) < 2 || len(levels) > 16 {
		return v
	}
	at := map[[2]float64]assess.Pair{}
	for _, p := range m.f.Pairs {
		at[[2]float64{p.Low, p.High}] = p
	}
	for _, h := range levels[1:] {
		v.Heads = append(v.Heads, typed(h, 0))
	}
	found := false
	for i, low := range levels[:len(levels)-1] {
		r := pairRow{Low: typed(low, 0)}
		for j, high := range levels[1:] {
			p, ok := at[[2]float64{low, high}]
			if j < i || !ok {
				r.Cells = append(r.Cells, pairCell{})
				continue
			}
			found = true
			c := pairCell{Order: percent(p.RightOrder), Tie: percent(p.Tie), Others: percent(p.RightOrderOthers), Tests: none}
			if p.TestsASide.OK() {
				c.Tests = count(int(float64(p.TestsASide) + .999))
			}
			v.Others = v.Others || p.RightOrderOthers.OK()
			r.Cells = append(r.Cells, c)
		}
		v.Rows = append(v.Rows, r)
	}
	if !found {
		v.Rows = nil
	}
	return v
}
