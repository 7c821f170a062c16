package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/num"
)

func fixtureInputs() Inputs {
	return Inputs{
		Readings: File{"readings.csv", []byte("method,level,reading\nAlder card,3.13,2..3.5\n\"=1+1\",0,\x00\xff\n")},
		Methods:  File{"methods.toml", []byte("analyte = \"nitrate\"\n")},
		Need:     File{"need.toml", []byte("[[need]]\nname = \"keep a low-nutrient tank\"\n")},
		Options:  map[string]string{"seed": "7"},
		Made:     "2 March 2026",
	}
}

func page(t *testing.T, f assess.Findings, trial knownwater.Trial, in Inputs) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, f, trial, in); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// hostileFixture gives every text of a person a name that would do harm.
const hostile = "</script><script>alert(1)</script><img src=x onerror=alert(2)>\"'`{{.}}\x1b[31m\u202e=cmd|'/C calc'!A0"

func hostileFixture() (assess.Findings, knownwater.Trial) {
	f, t := fixture()
	long := hostile + strings.Repeat("Überlänge", 60)
	bad := []note.Note{note.Told(hostile), note.New(hostile).Name(hostile, hostile)}
	rtl := "بطاقة " + hostile
	f.Analyte, f.Basis, f.Unit, f.Version = hostile, hostile, hostile, hostile
	for i := range f.Methods {
		m := &f.Methods[i]
		m.Method, m.Technique, m.Matrix = []string{long, rtl, hostile}[i%3], hostile, rtl
		m.Notes = bad
		m.Shape.Name, m.Shape.Why = hostile, []note.Note{note.Told(hostile)}
		for j := range m.Needs {
			m.Needs[j].Need, m.Needs[j].Why, m.Needs[j].AtShare = t.Needs[0].Name, bad, bad
		}
		for j := range m.Techniques {
			m.Techniques[j].From, m.Techniques[j].To = rtl, hostile
		}
		for j := range m.Readers {
			m.Readers[j].Reader = long
		}
		for j := range m.ReadBack {
			m.ReadBack[j].Reading = hostile
		}
		for j := range m.Levels {
			for k := range m.Levels[j].Seen {
				m.Levels[j].Seen[k].Text = hostile
			}
		}
	}
	f.Notes = bad
	f.Questions = []doubt.Question{{Kind: hostile, Method: hostile, Says: note.Told(hostile), At: []doubt.Place{{Row: 3, Level: 1, Reading: hostile}}}, {Says: note.Told(long), HoldsBack: true}}
	t.Needs[0].Name = hostile
	for i := range f.Methods {
		for j := range f.Methods[i].Needs {
			f.Methods[i].Needs[j].Need = hostile
		}
	}
	for i := range t.Observations {
		o := &t.Observations[i]
		o.Reader, o.Technique, o.Session, o.Vial, o.Matrix, o.Lot = hostile, long, hostile, hostile, rtl, hostile
	}
	return f, t
}

// cases are the findings that every template must take.
func cases() map[string]func() (assess.Findings, knownwater.Trial) {
	return map[string]func() (assess.Findings, knownwater.Trial){
		"full":    fixture,
		"hostile": hostileFixture,
		"empty":   func() (assess.Findings, knownwater.Trial) { return assess.Findings{}, knownwater.Trial{} },
		"no need": func() (assess.Findings, knownwater.Trial) {
			f, t := fixture()
			t.Needs = nil
			for i := range f.Methods {
				f.Methods[i].Needs = nil
			}
			return f, t
		},
		"nothing computed": nothingComputed,
	}
}

// nothingComputed has every number missing.
func nothingComputed() (assess.Findings, knownwater.Trial) {
	n := num.None
	_, t := fixture()
	need := assess.ErrorWithin{Verdict: assess.Undecided, WorstAt: n, Error95: n, Low: n, High: n, Permitted: n}
	m := assess.MethodFinding{Method: "Alder card", Kind: "chart", Dilution: 1, N: 1, MCError: n,
		Levels: []assess.LevelFinding{{Level: 3.13, N: 1, Mean: n, MeanLow: n, MeanHigh: n, SD: n, SDLow: n, SDHigh: n, Bias: n, BiasLow: n, BiasHigh: n,
			Recovery: n, RecoveryLow: n, RecoveryHigh: n, SingleU: n, MidpointMean: n, Seen: []assess.SeenReading{{Text: "?", Low: n, High: n, Count: 1}}}},
		Spread: assess.Spread{Sigma0: n, Kappa: n, At: n, RepeatabilitySD: n, RepeatabilityLow: n, RepeatabilityHigh: n, ReaderSD: n, ReaderLow: n, ReaderHigh: n,
			SessionSD: n, SessionLow: n, SessionHigh: n, VialSD: n, VialLow: n, VialHigh: n, LotSD: n, LotLow: n, LotHigh: n},
		Readers:    []assess.Offset{{Reader: "Ines", Offset: n, Low: n, High: n}},
		Line:       assess.Line{Intercept: n, InterceptSE: n, Slope: n, SlopeSE: n, LackOfFitP: n},
		Shape:      assess.Shape{At: []float64{0, 1}, Mean: []num.Number{n, n}},
		Limits:     assess.Limits{Critical: n, Detection: n, Quantification: n},
		Steps:      []assess.Step{{At: 0, SmallestStep: n, OtherReader: n}},
		Pairs:      []assess.Pair{{Low: 0, High: 1, RightOrder: n, Tie: n, TestsASide: n, RightOrderOthers: n, TieOthers: n}},
		Techniques: []assess.TechniqueFinding{{From: "a", To: "b", Apart: assess.Apart{Difference: n, Low: n, High: n, Low90: n, High90: n}, ByLevel: []assess.TechniqueAt{{Apart: assess.Apart{Difference: n, Low: n, High: n, Low90: n, High90: n}, Permitted: n}}, Margin: n, Verdict: assess.Undecided, SDRatio: n, SDRatioLow: n, SDRatioHi: n}},
		Needs: []assess.NeedFinding{{Need: fakeNeeds[0].Name, Verdict: assess.Undecided, Raw: need, Corrected: need, MoreTests: n,
			Along: []assess.AlongNeed{{At: 1, Permitted: 1, Raw: n, RawLow: n, RawHigh: n, Corrected: n, CorrLow: n, CorrHigh: n}}}},
		ReadBack: []assess.ReadBack{{Reading: "1", Level: n, Low: n, High: n}},
	}
	return assess.Findings{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3", Methods: []assess.MethodFinding{m}}, t
}

func TestHTMLOfEveryCase(t *testing.T) {
	for name, make := range cases() {
		f, trial := make()
		p := page(t, f, trial, fixtureInputs())
		checkPage(t, name, p)
		if name == "hostile" {
			if path := os.Getenv("KNOWNWATER_HOSTILE"); path != "" {
				_ = os.WriteFile(path, []byte(p), 0o644)
			}
		}
	}
	if path := os.Getenv("KNOWNWATER_PAGE"); path != "" { // to look at it
		f, trial := fixture()
		if err := os.WriteFile(path, []byte(page(t, f, trial, fixtureInputs())), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// checkPage: nothing is fetched, nothing runs, ids are unique, tags close.
func checkPage(t *testing.T, name, p string) {
	t.Helper()
	if n := strings.Count(p, "<script"); n != 2 {
		t.Errorf("%s: %d script elements, want the two data blocks", name, n)
	}
	for _, bad := range []string{"<img", "onerror=alert(2)>", "\x1b", "\u202e", "NaN", "+Inf", "%!", "<no value>", "ZgotmplZ"} {
		body := p[:strings.Index(p, "<script")]
		if strings.Contains(body, bad) {
			t.Errorf("%s: the page holds %q", name, bad)
		}
	}
	for _, m := range regexp.MustCompile(`(?i)(?:src|href|action|data)="([^"]*)"|url\(([^)]*)\)|@import`).FindAllString(p[:strings.Index(p, "<script")], -1) {
		if !strings.HasPrefix(m, `href="#`) && !strings.HasPrefix(m, "url(#") {
			t.Errorf("%s: the page would fetch %s", name, m)
		}
	}
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(`\sid="([^"]*)"`).FindAllStringSubmatch(p, -1) {
		if seen[m[1]] {
			t.Errorf("%s: the id %q stands twice", name, m[1])
		}
		seen[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`aria-labelledby="([^"]*)"|url\(#([^)]*)\)|href="#([^"]*)"`).FindAllStringSubmatch(p, -1) {
		for _, id := range strings.Fields(m[1] + " " + m[2] + " " + m[3]) {
			if !seen[id] {
				t.Errorf("%s: nothing has the id %q", name, id)
			}
		}
	}
	wellFormed(t, name, p)
}

// wellFormed reads the page as XML with HTML's void elements closed by hand.
func wellFormed(t *testing.T, name, p string) {
	t.Helper()
	p = regexp.MustCompile(`<(meta|br)([^>]*)>`).ReplaceAllString(strings.TrimPrefix(p, "<!doctype html>\n"), "<$1$2/>")
	p = regexp.MustCompile(`(?s)<(script|style)([^>]*)>.*?</(script|style)>`).ReplaceAllString(p, "<$1$2></$1>")
	p = strings.NewReplacer(` open`, ``).Replace(p)
	dec := xml.NewDecoder(strings.NewReader(p))
	dec.Entity = xml.HTMLEntity
	for {
		_, err := dec.Token()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return
		}
	}
}

func TestTextOfEveryCase(t *testing.T) {
	for name, make := range cases() {
		f, trial := make()
		for _, width := range []int{0, 60, 80, 200} {
			s := Text(f, trial, Options{Width: width})
			for i, line := range strings.Split(s, "\n") {
				if n := len([]rune(line)); n > 100 {
					t.Errorf("%s, width %d: line %d has %d columns", name, width, i+1, n)
				}
			}
			for _, bad := range []string{"\x1b", "\u202e", "NaN", "Inf", "%!"} {
				if strings.Contains(s, bad) {
					t.Errorf("%s: the text holds %q", name, bad)
				}
			}
		}
	}
}

// Words that must never stand in a report.
func TestForbiddenWords(t *testing.T) {
	f, trial := fixture()
	both := strings.ToLower(Text(f, trial, Options{}) + page(t, f, trial, Inputs{}))
	for _, bad := range []string{"accura", "no difference", "undetect", "laboratory-grade", "certified", "verified", "approved", " ppm", "pass", "fail"} {
		if strings.Contains(both, bad) {
			t.Errorf("the report says %q", bad)
		}
	}
}

// A rendered page must say the unit with its basis wherever numbers stand.
func TestUnitAndBasisAreSaid(t *testing.T) {
	f, trial := fixture()
	p := page(t, f, trial, Inputs{})
	for _, id := range []string{"verdicts", "ladder", "levels", "limits", "apart", "hands", "response", "along", "readback"} {
		i := strings.Index(p, `id="`+id+`"`)
		if i < 0 {
			t.Fatalf("no section %s", id)
		}
		section := p[i : i+strings.Index(p[i:], "</section>")]
		if !strings.Contains(section, "mg/L NO3") {
			t.Errorf("section %s does not say mg/L NO3", id)
		}
	}
}

// Contrast by WCAG 2.2 (relative luminance): text 4.5, marks 3, on paper.
func TestContrast(t *testing.T) {
	css, err := pageFiles.ReadFile("page/sheet.css")
	if err != nil {
		t.Fatal(err)
	}
	for i, block := range regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(string(css), -1) {
		tokens := map[string]string{}
		for _, m := range regexp.MustCompile(`--([\w-]+): (#[0-9a-f]{3,6})`).FindAllStringSubmatch(block[1], -1) {
			tokens[m[1]] = m[2]
		}
		if tokens["paper"] == "" {
			continue
		}
		for _, text := range []string{"ink", "ink-2", "known", "need-edge", "within", "undecided", "outside"} {
			if c := contrast(tokens[text], tokens["paper"]); c < 4.5 {
				t.Errorf("palette %d: %s on paper has %.2f", i, text, c)
			}
		}
		for _, mark := range []string{"edge", "was"} {
			if c := contrast(tokens[mark], tokens["paper"]); c < 3 {
				t.Errorf("palette %d: %s on paper has %.2f", i, mark, c)
			}
		}
		for _, on := range []string{"ink", "known", "within", "outside", "need-edge"} {
			if c := contrast(tokens[on], tokens["need"]); c < 3 {
				t.Errorf("palette %d: %s on the need has %.2f", i, on, c)
			}
		}
	}
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + .05) / (math.Min(x, y) + .05)
}

func luminance(hex string) float64 {
	hex = strings.TrimPrefix(hex, "#")
	if len(hex) == 3 {
		hex = fmt.Sprintf("%c%c%c%c%c%c", hex[0], hex[0], hex[1], hex[1], hex[2], hex[2])
	}
	var r, g, b int
	fmt.Sscanf(hex, "%02x%02x%02x", &r, &g, &b)
	lin := func(v int) float64 {
		c := float64(v) / 255
		if c <= .04045 {
			return c / 12.92
		}
		return math.Pow((c+.055)/1.055, 2.4)
	}
	return .2126*lin(r) + .7152*lin(g) + .0722*lin(b)
}
