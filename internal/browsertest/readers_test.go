package browsertest

import (
	"context"
	"fmt"
	"testing"

	"knownwater"
)

// TestTwoReaders: one sample, read by one person and then by another; it is kept with who read which, and
// its interval is narrower than that of the first look.
func TestTwoReaders(t *testing.T) {
	ctx := context.Background()
	b := Serve(t, false)
	b.Furnish(t)
	rec := b.cardInUse(t)
	w, err := b.SaveWater(ctx, owner, 0, knownwater.WaterSpec{Name: "north tank"}, "")
	if err != nil {
		t.Fatal(err)
	}
	p := Start(t).Open(t, b.URL, Phone)
	p.Go(fmt.Sprintf("/read?tank=%d&with=record-%d&reader=Ines", w.ID, rec.VersionID))
	p.Until("the page reads at once", `document.querySelector(".at-once") !== null`)
	p.brick("5")
	p.Until("what it says", `document.querySelector("#says .say")?.textContent.includes("most likely")`)
	p.Follow("One more of this sample")
	p.Text("Of this sample already: 5")
	p.Until("who read first is chosen again", `document.querySelector('input[name=reader][value=Ines]').checked`)
	p.Press(`input[name=reader][value="Tomo"]`)
	p.Until("the page reads at once", `document.querySelector(".at-once") !== null`)
	p.brick("2..5")
	p.Until("what both say", `document.querySelector("#keep .keeprow button")?.textContent.includes("2..5")`)
	p.here("two-readers")
	p.Resize(Phone)
	p.Press("#keep .keeprow button")
	p.Text("Kept.")
	list, err := b.ResultsOfWater(ctx, w.ID, "", 10)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if r := list[0]; r.Reader != "Ines; Tomo" || r.Text != "5 2..5" || r.Outcome.N != 2 {
		t.Errorf("kept %q, read by %q, %d readings", r.Text, r.Reader, r.Outcome.N)
	}
	p.Go(fmt.Sprintf("/waters/%d", w.ID))
	p.Text("Ines; Tomo")
	p.NoConsoleErrors()
}
