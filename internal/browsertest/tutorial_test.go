package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/demo"
	"knownwater/science/plan"
)

// The pictures of docs/tutorial-bench.md are this wide and high.
var (
	leaflet  = Size{1000, 760, false}
	handheld = Size{390, 780, true}
)

// Picture saves what stands on the screen where KNOWNWATER_PICTURES names a
// folder, for the documents.
func (p *Page) Picture(name string) {
	p.t.Helper()
	dir := os.Getenv("KNOWNWATER_PICTURES")
	if dir == "" {
		return
	}
	png := Get(p, chromedp.CaptureScreenshot())
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		p.t.Fatal(err)
	}
}

// show brings an element to the top of the screen.
func (p *Page) show(css string) {
	p.t.Helper()
	p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector(%q).scrollIntoView({block: "start"})`, css)))
}

// TestTutorial goes the way of docs/tutorial-bench.md: the demo's bench first, where no picture is
// taken with the two methods alone that it speaks of, then a trial of one's own up to the first reading.
func TestTutorial(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	data, err := demo.Trial(1)
	if err != nil {
		t.Fatal(err)
	}
	if os.Getenv("KNOWNWATER_PICTURES") == "" {
		unspoken := func(method string) bool { return method != "Dogwood" && method != "Elm" }
		data.Methods = slices.DeleteFunc(data.Methods, func(m knownwater.Method) bool { return unspoken(m.Name) })
		data.Observations = slices.DeleteFunc(data.Observations, func(o knownwater.Observation) bool { return unspoken(o.Method) })
	}
	if _, err := b.ImportTrial(context.Background(), owner, trials.DataSet{Data: data, Title: "The Saltmarsh Shed against known water", Source: "readings.csv"}); err != nil {
		t.Fatal(err)
	}
	p := Start(t).Open(t, b.URL, leaflet)
	p.readTheDemo()
	p.settleTheSwap()
	p.NoConsoleErrors()
	p.ownTrial(b)
}

func (p *Page) readTheDemo() {
	p.t.Helper()
	p.Go("/")
	p.Text("it will stand here in a moment")
	p.Text("For “spot more than 15”: use Dogwood, diluted ×8.")
	p.Picture("today")
	p.Follow("Findings")
	p.Text("Were two vials swapped, R6K7T (level 6.1) and H4R3T (level 20.1)?")
	p.Picture("findings")
	p.Do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("details").forEach((d) => d.open = true)`))
	p.show("#ladder .ladders")
	p.Picture("ladder")
	p.Do(chromedp.Evaluate[chromedp.Void](`[...document.querySelectorAll("#levels article")].find((a) => a.innerText.startsWith("Elm")).querySelectorAll("tbody th a")[4].click()`))
	p.Text("Elm, at 6.1")
	p.Text("R6K7T")
	p.Picture("behind")
}

// settleTheSwap leaves the two readings out of which the findings asked.
func (p *Page) settleTheSwap() {
	p.t.Helper()
	for _, v := range []struct{ code, level string }{{"R6K7T", "6.1"}, {"H4R3T", "20.1"}} {
		for {
			p.Go("/trials/1/readings?method=Elm&dilution=1&level=" + v.level)
			open := `[...document.querySelectorAll("tbody tr")].filter((r) => r.querySelector("th a").innerText === "` + v.code + `" && !r.querySelector(".was"))`
			if JS[int](p, open+`.length`) == 0 {
				break
			}
			p.Do(chromedp.Evaluate[chromedp.Void](`window.before = true; ` + open + `[0].querySelector("th a").click()`))
			p.Until("the reading", `window.before === undefined && document.readyState === "complete"`)
			p.Type("#why", "R6K7T and H4R3T stood in each other’s place; the rack was photographed")
			p.Follow("Leave it out")
			p.Text("Left out, with your reason")
		}
	}
	p.Go("/trials/1/findings")
	p.Text("left out")
	p.Until("the findings both ways", `!!document.querySelector("#both")`)
	p.show("#both")
	p.Picture("both-ways")
}

// ownTrial plans a card against a meter of the shed and reads the first vial.
func (p *Page) ownTrial(b *Bench) {
	p.t.Helper()
	ctx := context.Background()
	card, err := b.SaveMethod(ctx, owner, 0, knownwater.MethodSpec{Name: "Fern", Kind: knownwater.Chart, Scale: Nitrate, PackPrice: 22, PackTests: 60, Minutes: 6, HandsOnMinutes: 2,
		Caution:  "Acid in the second bottle: goggles and gloves.",
		Swatches: []knownwater.Swatch{{Value: 0, Colour: "#f6f1d8"}, {Value: 1, Colour: "#efe2b4"}, {Value: 2.5, Colour: "#e3cf9a"}, {Value: 5, Colour: "#d8b48c"}, {Value: 10, Colour: "#c98f80"}, {Value: 20, Colour: "#b06a78"}},
		Steps:    []knownwater.Step{{Name: "shake", Seconds: 10, HandsOn: true}, {Name: "stand", Seconds: 240}, {Name: "read", Within: 120}}}, "")
	if err != nil {
		p.t.Fatal(err)
	}
	if _, err := b.SaveLot(ctx, owner, knownwater.Lot{MethodID: card.ID, Code: "F7", OpenedOn: "2026-02-01", ExpiresOn: "2099-12-31", Tests: 60}); err != nil {
		p.t.Fatal(err)
	}
	meter := b.versionOf(p.t, "Dogwood")
	draft := trials.Plan{Title: "Fern against Dogwood", Question: "Can the card hold a tank as well as Dogwood does?", Scale: Nitrate, Needs: []int64{1}, Readers: []int64{1, 2},
		Sessions: 1, Replicates: 3, Blanks: 6, Duplicates: 1,
		Methods: []trials.PlanMethod{{VersionID: card.VersionID, Together: true, Guess: plan.Guess{Sigma0: 0.3, Kappa: 0.12, Reader: 0.5}}, {VersionID: meter, Guess: plan.Guess{Sigma0: 0.15, Kappa: 0.02}}}}
	draft.Water.Salinity, draft.Water.Temperature = 35, 25
	for i, level := range []float64{0, 1.2, 1.9, 3.7, 5.4, 6.8} {
		draft.Knowns = append(draft.Knowns, trials.Known{Label: fmt.Sprintf("bottle %d", i+1), Level: level, U: 0.06, UShared: 0.04, Blank: i == 0})
	}
	made, err := b.NewTrial(ctx, owner, draft)
	if err != nil {
		p.t.Fatal(err)
	}
	at := fmt.Sprintf("/trials/%d", made.ID)
	if os.Getenv("KNOWNWATER_PICTURES") != "" { // half a minute of simulating; TestScreens does it for a smaller plan
		p.Go(at + "/plan?outlook=1")
		p.Text("would be decided in")
		p.show("#outlook")
		p.Picture("outlook")
	}
	p.Go(at + "/plan")
	p.Follow("Keep and seal it")
	p.Text("Sealed.")
	p.Go(at)
	p.Follow("Go to the bench")
	p.Resize(handheld)
	p.ready()
	p.bring("Fern")
	p.Press("#begin")
	p.Until("the step", `document.querySelector(".b-time .lab").innerText.includes("shake")`)
	p.Picture("run-wait")
	p.Until("the wait", `document.querySelector(".b-air")?.innerText.includes("in the air") || document.querySelector(".b-time .lab").innerText.includes("hands free")`)
	p.bring("Fern")
	p.PressText("Read it early")
	p.Press(`.brick[data-n="2.5..5"]`)
	p.Text("Keep 2.5..5")
	p.Picture("run-pad")
}

// versionOf is the latest version of a method by its name.
func (b *Bench) versionOf(t *testing.T, name string) int64 {
	t.Helper()
	methods, err := b.Methods(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range methods {
		if m.Spec.Name == name {
			return m.VersionID
		}
	}
	t.Fatalf("there is no method %s", name)
	return 0
}
