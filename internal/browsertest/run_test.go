package browsertest

import (
	"context"
	"fmt"
	"strconv"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
)

// furnishRun is a bench whose methods show every state of the run screen. What is called on
// it by names is called as called has them.
func (b *Bench) furnishRun(t *testing.T, called func(string) string) trials.Trial {
	t.Helper()
	ctx := context.Background()
	if _, err := b.SavePerson(ctx, owner, knownwater.Person{Name: "Ines", Role: knownwater.Reader}); err != nil {
		t.Fatal(err)
	}
	p := trials.Plan{Title: called("Every pad"), Scale: Nitrate, Readers: []int64{1}, Sessions: 1, Replicates: 2, Blanks: 1,
		Knowns: []trials.Known{{Label: "blank", Blank: true, U: 0.05}, {Label: "high", Level: 7.2, U: 0.06}}}
	p.Water.Salinity, p.Water.Temperature = 35, 25
	var swatches []knownwater.Swatch
	for i, v := range []float64{0, 0.5, 1, 2.5, 5, 10, 20, 40, 80} {
		swatches = append(swatches, knownwater.Swatch{Value: v, Colour: fmt.Sprintf("#%02x%02x%02x", 245-20*i, 236-14*i, 208-6*i)})
	}
	for _, m := range []knownwater.MethodSpec{
		{Name: "Long card", Kind: knownwater.Chart, Scale: Nitrate, Swatches: swatches, Caution: "Metal powder: keep it dry; spent liquid into the closed jar.",
			Steps:    []knownwater.Step{{Name: "shake", Seconds: 20, HandsOn: true}, {Name: "stand", Seconds: 240}, {Name: "read", Within: 120}},
			Dilution: knownwater.Dilution{Over: 40, Factor: 8}},
		{Name: "Drop count", Kind: knownwater.Drops, Scale: Nitrate, DropValue: 2, Steps: []knownwater.Step{{Name: "count to the turn", Within: 90}}},
		{Name: "Bench cell", Kind: knownwater.Display, Scale: Nitrate, Resolution: 0.01, Steps: []knownwater.Step{{Name: "warm up", Seconds: 1}, {Name: "read", Within: 2}}},
	} {
		m.Name, m.Caution = called(m.Name), called(m.Caution)
		for i := range m.Steps {
			m.Steps[i].Name = called(m.Steps[i].Name)
		}
		saved, err := b.SaveMethod(ctx, owner, 0, m, "")
		if err != nil {
			t.Fatal(err)
		}
		p.Methods = append(p.Methods, trials.PlanMethod{VersionID: saved.VersionID, Together: true})
	}
	return b.sealed(t, p)
}

// TestRunScreens looks at the run screen in every state.
func TestRunScreens(t *testing.T) {
	t.Parallel()
	b := Serve(t, true)
	trial := b.furnishRun(t, func(s string) string { return s })
	p := Start(t).pair(t, b, 1)
	p.Go("/trials/" + strconv.FormatInt(trial.ID, 10) + "/run")
	p.ready()
	p.bring("Long card")
	p.state("run-to-begin")
	p.Press("#begin")
	p.Until("the first step", `document.querySelector(".b-time .lab").innerText.includes("shake") && `+press)
	p.state("run-hands-on")
	p.Until("the wait below a finger", `document.querySelector(".b-time .lab").innerText.includes("hands free")`)
	if !JS[bool](p, under) {
		t.Error("the screen was drawn anew by the clock while a finger was on it: its tap is lost")
	}
	JS[bool](p, lift)
	p.Until("the screen of the wait", "!"+under)
	p.Until("the wait", `document.querySelector(".b-air")?.innerText.includes("in the air") || document.querySelector(".b-time .lab").innerText.includes("hands free")`)
	// Another vial of the same method may have come to the front meanwhile: the one in the air is meant.
	p.Until("the vial in the air in front", `[...document.querySelectorAll("button")].some((b) => b.innerText.includes("Read it early")) ||
		([...document.querySelectorAll(".b-air button")].find((b) => b.title === "Long card" && b.innerText.includes("in the air"))?.click(), false)`)
	p.state("run-hands-free")
	p.PressText("Read it early")
	p.Press(`.brick[data-n="2.5..5"]`)
	p.state("run-early")
	p.Press("#remarks")
	p.PressText("bubbles")
	p.state("run-remarks")
	p.Press("#remarks")
	if got := JS[string](p, `document.querySelector(".brick[aria-pressed=true]")?.dataset.n ?? ""`); got != "2.5..5" {
		t.Errorf("after the remarks %q is chosen, want 2.5..5", got)
	}
	p.Press("#keep")
	p.Text("Why now?")
	p.state("run-why")
	p.Type("#why", "the lamp went out")
	p.Press("#why-keep")
	p.settled()
	rows := b.rows(t, trial.ID)
	if len(rows) != 1 || rows[0].Text != "2.5..5" || rows[0].OffBy >= 0 || len(rows[0].Flags) == 0 {
		t.Errorf("kept %+v", rows)
	}
	p.bring("Drop count")
	for range 7 {
		p.Press(".drop")
	}
	p.PressText("take one back")
	p.state("run-drops")
	p.Press("#keep")
	p.settled()
	p.bring("Bench cell")
	p.Press("#begin")
	p.Until("the pad", `!!document.querySelector(".digits")`)
	p.Until("the window to close", `document.querySelector(".b-time .lab")?.innerText.includes("too late")`)
	p.choose("", "4.73")
	p.state("run-late")
	p.Press("#keep")
	p.settled()
	p.PressText("Wipe")
	p.Text("Wipe the screen.")
	p.Shots("run-wipe")
	p.Resize(Phone)
	p.Until("the cover to go", `!document.querySelector("dialog")`)
	p.PressText("More")
	p.Press("dialog .tick input")
	p.Press("dialog .do")
	p.bring("Long card")
	p.PressText("Begin")
	p.PressText("Read it early")
	p.Press(`.brick[data-n="5"]`)
	p.state("run-left")
	p.NoConsoleErrors()
	late := b.rows(t, trial.ID)[2]
	if late.Text != "4.73" || late.OffBy <= 0 {
		t.Errorf("a reading after its window is off by %g s: %+v", late.OffBy, late)
	}
}

// A finger comes down on the vial in front and goes up again; under says whether what it came
// down on is still there.
const (
	press = `(window.under = document.querySelector(".b-vial"), window.under.dispatchEvent(new PointerEvent("pointerdown", {bubbles: true})))`
	lift  = `window.dispatchEvent(new PointerEvent("pointerup"))`
	under = `(window.under.isConnected)`
)

// bring turns to the first vial of a method, through the strip of vials or by
// reading what stands in front.
func (p *Page) bring(method string) {
	p.t.Helper()
	for range 45 {
		if JS[bool](p, fmt.Sprintf(`document.querySelector(".b-what")?.innerText.includes(%q) ?? false`, method)) {
			return
		}
		if JS[bool](p, fmt.Sprintf(`(() => { const b = [...document.querySelectorAll(".b-air button")].find((b) => b.title === %q); b?.click(); return !!b; })()`, method)) {
			continue
		}
		time.Sleep(80 * time.Millisecond)
	}
	p.t.Fatalf("no vial of %s can be brought to the front:\n%s", method, p.seen())
}

// state looks at the screen as it stands.
func (p *Page) state(name string) {
	p.t.Helper()
	p.Fits(name)
	p.Accessible(name)
	p.Shots(name)
	p.Resize(Phone)
}
