package browsertest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	notation "knownwater/science/reading"
	"knownwater/science/unit"
)

// inGerman are the names that people gave, as somebody who writes German gives them.
var inGerman = map[string]string{
	"Every pad": "Alle Eingaben", "Long card": "Lange Karte", "Drop count": "Tropfentest", "Bench cell": "Messzelle", "shake": "schütteln", "stand": "stehen lassen",
	"read": "ablesen", "count to the turn": "bis zum Umschlag zählen", "warm up": "aufwärmen", "Metal powder: keep it dry; spent liquid into the closed jar.": "Metallpulver: trocken halten; Verbrauchtes in das geschlossene Gefäß.",
}

func calledInGerman(s string) string {
	if g, ok := inGerman[s]; ok {
		return g
	}
	return s
}

// english are words that hardly a sentence in English does without, and no German one has.
var english = strings.Fields(`the of and with for not is are this that from to at be by it its or but what which when you your reading readings vial vials keep begin read
	only than there until where each every other more most between above below within below undecided method known knowns need corrected permitted step steps anybody`)

var word = regexp.MustCompile(`\pL+`)

// germanOnly fails the test for every English word that is seen or read out.
func (p *Page) germanOnly(name string) {
	p.t.Helper()
	said := JS[string](p, `document.documentElement.lang + "\n" + document.title + "\n" + document.body.innerText + "\n" +
		[...document.querySelectorAll("[title], [aria-label], [placeholder], [alt], [data-l]")].filter((e) => e.closest("[lang]").lang === "de").flatMap((e) => ["title", "aria-label", "placeholder", "alt", "data-l"].map((a) => e.getAttribute(a) ?? "")).join("\n")`)
	if !strings.HasPrefix(said, "de\n") {
		p.t.Errorf("%s: its language is not German", name)
	}
	for line := range strings.Lines(said) {
		for _, w := range word.FindAllString(line, -1) {
			if slices.Contains(english, strings.ToLower(w)) {
				p.t.Errorf("%s: “%s” in %q", name, w, strings.TrimSpace(line))
			}
		}
	}
}

// german looks at the page as it stands: German alone, accessible, whole at a phone's width.
func (p *Page) german(name string) {
	p.t.Helper()
	p.Resize(Phone)
	p.germanOnly(name)
	p.Fits(name)
	p.Accessible(name)
	p.Shots(name)
	p.Resize(Phone)
}

// readGerman chooses German in the browser.
func (p *Page) readGerman() {
	p.t.Helper()
	p.Go("/shown")
	JS[bool](p, `(document.querySelector("#language").value = "de", document.querySelector("form.form button").click(), true)`)
	p.Until("the choice to be kept", `!document.querySelector("#language")`)
}

// TestGermanRunScreen reads a trial in German, in every state of the run screen.
func TestGermanRunScreen(t *testing.T) {
	t.Parallel()
	b := Serve(t, true)
	trial := b.furnishRun(t, calledInGerman)
	p := Start(t).pair(t, b, 1)
	p.readGerman()
	p.Go("/trials/" + strconv.FormatInt(trial.ID, 10) + "/run")
	p.ready()
	p.bring("Lange Karte")
	p.german("de-run-to-begin")
	p.Press("#begin")
	p.Until("the first step", `document.querySelector(".b-time .lab").innerText.includes("schütteln")`)
	p.germanOnly("de-run-hands-on")
	p.PressText("Früher ablesen")
	p.Press(`.brick[data-n="2.5..5"]`)
	p.german("de-run-early")
	if keep := JS[string](p, `document.querySelector("#keep").innerText`); !strings.Contains(keep, "2,5..5") {
		t.Errorf("the choice is shown as %q", keep)
	}
	p.Press("#remarks")
	p.PressText("Blasen")
	p.german("de-run-remarks")
	p.Press("#remarks")
	p.Press("#keep")
	p.Text("Warum jetzt?")
	p.germanOnly("de-run-why")
	p.Type("#why", "das Licht ging aus")
	p.Press("#why-keep")
	p.settled()
	p.bring("Tropfentest")
	for range 7 {
		p.Press(".drop")
	}
	p.german("de-run-drops")
	p.Press("#keep")
	p.settled()
	p.bring("Messzelle")
	p.Press("#begin")
	p.Until("the pad", `!!document.querySelector(".digits")`)
	p.Until("the window to close", `document.querySelector(".b-time .lab")?.innerText.includes("zu spät")`)
	for _, k := range []string{"4", ",", "7", "3"} {
		JS[bool](p, `([...document.querySelectorAll(".digits .key")].find((k) => k.innerText === "`+k+`").click(), true)`)
	}
	p.german("de-run-late")
	p.Offline(true)
	p.Press("#keep")
	p.Text("keine Verbindung")
	p.german("de-run-offline")
	p.Offline(false)
	p.settled()
	rows := b.rows(t, trial.ID)
	if texts := []string{rows[0].Text, rows[1].Text, rows[2].Text}; !slices.Equal(texts, []string{"2.5..5", "7d", "4.73"}) {
		t.Errorf("kept %q", texts)
	}
	p.PressText("Mehr")
	p.germanOnly("de-run-more")
	p.Press("dialog .do")
	p.PressText("Wischen")
	p.germanOnly("de-run-wipe")
}

// germanTrial is a trial whose findings have all that the first screen can show: a method
// to use, one that is undecided, one whose readings ask a question.
func (b *Bench) germanTrial(t *testing.T) trials.Trial {
	t.Helper()
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(7, 1))
	d := knownwater.Trial{Scale: Nitrate, Water: unit.StandardSea, Methods: []knownwater.Method{
		{Name: "Violette Karte", Kind: knownwater.Chart, Swatches: []float64{0, 2, 5, 10, 25}, AtShare: 0.25},
		{Name: "Taschenfotometer", Kind: knownwater.Display, Resolution: 0.1},
		{Name: "Grobe Karte", Kind: knownwater.Chart, Swatches: []float64{0, 10, 40}, AtShare: 0.25},
	}}
	for _, n := range []knownwater.Need{{Name: "niedrig halten", High: 3}, {Name: "hohe Werte erkennen", Low: 8, High: 15}} {
		n.Permitted = []knownwater.Permit{{At: n.High, Error: 0.35 * n.High}}
		d.Needs = append(d.Needs, n)
	}
	for k, m := range d.Methods {
		for i, level := range []float64{0, 1, 2.5, 4, 7, 12, 18} {
			for vial := range 4 {
				for _, reader := range []string{"Ines", "Tomo"} {
					seen := level*(1+[]float64{0.08, 0.03, 0.3}[k]*rng.NormFloat64()) + 0.15*rng.NormFloat64()
					if k == 1 && i == 4 && vial == 0 { // a slip
						seen = 0.7
					}
					text := notation.Show(max(0, seen), m)
					at, err := notation.Understand(text, m)
					if err != nil {
						t.Fatal(err)
					}
					d.Observations = append(d.Observations, knownwater.Observation{Method: m.Name, Level: level, ULevel: 0.01 + 0.005*level, Text: text, Seen: at, Dilution: 1,
						Reader: reader, Session: "1", Vial: fmt.Sprint(i, "-", vial), Matrix: "Salzwasser", Count: 1, Row: len(d.Observations) + 2})
				}
			}
		}
	}
	made, err := b.ImportTrial(ctx, owner, trials.DataSet{Title: "Frühjahr", Source: "frühjahr.csv", Data: d})
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// TestGermanFindings looks at the first screen of findings and at a counter card in German.
func TestGermanFindings(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	trial := b.germanTrial(t)
	p := Start(t).Open(t, b.URL, Phone)
	p.readGerman()
	p.Go("/shown")
	p.german("de-shown")
	p.Go("/trials/" + strconv.FormatInt(trial.ID, 10) + "/findings")
	p.Until("the findings", `!!document.querySelector("#use")`)
	p.german("de-findings")
	if said := JS[string](p, `document.querySelector("#use").innerText`); !regexp.MustCompile(`±\d+,\d`).MatchString(said) {
		t.Errorf("no decimal comma in\n%s", said)
	}
	p.Type("#why-0", "am Etikett abgelesen")
	p.PressText("Das ist das Wasser")
	p.Text("Gespeichert, mit Begründung.")
	p.Until("the findings", `!!document.querySelector("#use")`)
	p.germanOnly("de-findings-answered")
	if _, err := b.AdoptRecord(context.Background(), owner, calibrations.NewRecord{Trial: trial.ID, Version: 1}); err != nil {
		t.Fatal(err)
	}
	p.Go("/cards/1")
	p.Until("the card", `!!document.querySelector(".counter-card")`)
	p.german("de-card")
	p.NoConsoleErrors()
}
