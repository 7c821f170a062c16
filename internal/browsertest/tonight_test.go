package browsertest

import (
	"context"
	"fmt"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
)

// TestTonight keeps a reading of a water in two taps on a phone, without scrolling; another
// one without the bench, which gets it later; and lets checks of the lot ring, so that
// results wait until somebody says what became of them. The card and the slip are looked at.
func TestTonight(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := Serve(t, false)
	b.Furnish(t)
	rec := b.cardInUse(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	w, err := b.SaveWater(ctx, owner, 0, knownwater.WaterSpec{Name: "north tank", Litres: 300, Needs: []int64{1}}, "")
	must(err)
	lot := "A1"
	keep := func(text string, of knownwater.Sample, at time.Time) {
		t.Helper()
		_, err := b.KeepResult(ctx, owner, calibrations.NewResult{Key: fmt.Sprintf("a-key-of-tonight-%d", at.UnixNano()), Record: rec.VersionID, Water: "north tank", Signals: text, Reader: "Ines", Lot: lot, TakenAt: at, Program: "test", Of: &of})
		must(err)
	}
	day := time.Now().AddDate(0, 0, -60)
	keep("5", knownwater.Sample{Water: w.ID, Role: knownwater.Routine}, day)

	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/waters")
	p.Follow("Read tonight")
	p.Until("the page reads at once", `document.querySelector(".at-once") !== null`)
	p.brick("2..5")
	p.Until("what it says", `document.querySelector("#says .say")?.textContent.includes("most likely")`)
	if bottom, room := JS[float64](p, `document.querySelector(".pad").getBoundingClientRect().bottom`), JS[float64](p, `document.querySelector("#keep .keeprow").getBoundingClientRect().top`); bottom > room {
		t.Errorf("the pad ends at %.0f, Keep begins at %.0f: something scrolls before Keep", bottom, room)
	}
	if end := JS[float64](p, `document.querySelector("#keep .keeprow").getBoundingClientRect().bottom`); end > 844 {
		t.Errorf("Keep ends at %.0f", end)
	}
	p.Text("Leave it")
	p.here("tonight-read")
	p.Resize(Phone)
	p.PressText("Keep 2..5")
	p.Text("Kept.")
	p.here("water")

	// without the bench
	p.Go(fmt.Sprintf("/read?tank=%d", w.ID))
	p.Until("the page reads at once", `document.querySelector(".at-once") !== null`)
	p.Offline(true)
	p.brick("5")
	p.Until("it says that it is alone", `document.querySelector("#says")?.textContent.includes("cannot be reached")`)
	p.Shot("tonight-offline")
	p.PressText("Keep 5")
	p.Until("it waits here", `document.querySelector(".waiting-here")?.textContent.includes("kept on this phone")`)
	p.Offline(false)
	p.Until("the bench has it", `document.querySelector(".waiting-here").hidden`)
	p.ConsoleErrors()
	list, err := b.ResultsOfWater(ctx, w.ID, "", 10)
	must(err)
	if len(list) != 3 || list[0].Text != "5" || list[0].Reader != "Ines" || list[0].Lot != "A1" {
		t.Fatalf("kept: %+v", list)
	}

	// checks that read too low
	for i := range 5 {
		keep("2..5", knownwater.Sample{Role: knownwater.Checked, Known: 7, UKnown: 0.05}, day.AddDate(0, 0, 10+10*i))
	}
	p.Go(fmt.Sprintf("/waters/%d", w.ID))
	p.Text("wait")
	p.here("water-waits")
	p.look("rang", "/checks")
	p.look("rang", "/waters")
	p.Go(fmt.Sprintf("/read?tank=%d", w.ID))
	p.Text("of what it should")
	p.Go(fmt.Sprintf("/waters/%d", w.ID))
	p.fill("why", "the lot was thrown away")
	p.Press(`input[name=standing][value="left out"]`)
	p.Follow("Keep this")
	p.Text("Kept, with your reason")
	p.Text("left out")
	p.here("water-settled")
	// a new lot: side-by-side vials are asked for, below what is kept, and then say its ratio
	p.Go(fmt.Sprintf("/read?tank=%d&with=record-%d&reader=Ines&lot=A2", w.ID, rec.VersionID))
	p.Until("the page reads at once", `document.querySelector(".at-once") !== null`)
	p.Text("Lot A2 has not been tested beside lot A1 yet")
	p.brick("5")
	p.Until("what it says", `document.querySelector("#says .say")?.textContent.includes("most likely")`)
	p.Text("Lot A2 has not been tested beside lot A1 yet")
	if end := JS[float64](p, `document.querySelector("#keep .keeprow").getBoundingClientRect().bottom`); end > 844 {
		t.Errorf("with a new lot Keep ends at %.0f", end)
	}
	p.here("tonight-new-lot")
	p.Resize(Phone)
	lot = "A2"
	for i := range 3 {
		keep("5..10", knownwater.Sample{Role: knownwater.Checked, Known: 7, UKnown: 0.05}, day.AddDate(0, 0, 61).Add(time.Duration(-1-i)*24*time.Hour))
	}
	p.Go(fmt.Sprintf("/read?tank=%d&with=record-%d&reader=Ines&lot=A2", w.ID, rec.VersionID))
	p.Text("of what lot A1 did")
	p.here("tonight-lot-ratio")
	p.look("card", fmt.Sprintf("/cards/%d", rec.ID))
	p.look("slip", fmt.Sprintf("/waters/%d/slip", w.ID))
	p.look("form", fmt.Sprintf("/waters/%d/change", w.ID))
	p.look("form", "/waters/new")
	// a known hidden among coded vials
	p.Go("/checks/blind")
	p.fill("known", "7")
	p.fill("count", "2")
	p.Follow("Code the vials")
	p.Text("write the code alone on each")
	p.here("blind")
	vials, err := b.BlindVials(ctx, owner, 10)
	must(err)
	p.Go(fmt.Sprintf("/read?role=coded&with=record-%d&reader=Ines&lot=A1&reading=5", rec.VersionID))
	p.fill("vial", vials[0].SampleSpec.Vial)
	p.PressText("Keep 5")
	p.Text("Kept.")
	if checks, err := b.Checks(ctx); err != nil || checks[len(checks)-1].Of.Known != 7 || checks[len(checks)-1].Text != "5" {
		t.Errorf("the coded vial was kept as %+v, %v", checks[len(checks)-1].Of, err)
	}
	p.NoConsoleErrors()
}
