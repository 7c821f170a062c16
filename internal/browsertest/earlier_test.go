package browsertest

import (
	"context"
	"fmt"
	"testing"

	"knownwater"
)

// TestEarlierLog brings in a log with headings and names of its own: its columns are asked about,
// what is refused says where, its rows stand in the water's history, and taken out they are gone.
func TestEarlierLog(t *testing.T) {
	ctx := context.Background()
	b := Serve(t, false)
	b.Furnish(t)
	rec := b.cardInUse(t)
	w, err := b.SaveWater(ctx, owner, 0, knownwater.WaterSpec{Name: "north tank"}, "")
	if err != nil {
		t.Fatal(err)
	}
	log := "Datum;Becken;Nitrat;Wetter;Probe\n"
	for i, text := range []string{"5", "2..5", "5", "5..10", "5", "5", "2..5", "5", "zwei"} {
		log += fmt.Sprintf("%d.3.2025;Nordbecken;%s;Regen;Karte\n", 3*i+1, text)
	}
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/waters")
	p.Follow("Earlier logs")
	p.look("empty", "/waters/earlier")
	p.put("pasted", log)
	p.Follow("See how it is read")
	p.Text("What is each column?")
	p.here("earlier-columns")
	for i, as := range []string{"taken_at", "water", "reading", "-", "method"} {
		p.put(fmt.Sprint("as_", i), as)
	}
	p.Follow("Read it so")
	p.Text("a date such as 2026-03-03")
	p.put("dates", "dmy")
	p.fill("only_lot", "unknown")
	p.Follow("Read it so")
	p.Text(`line 10: "zwei" is no reading`)
	p.here("earlier-refused")
	p.put("pasted", log[:len(log)-len("25.3.2025;Nordbecken;zwei;Regen;Karte\n")])
	p.Follow("Read it so")
	p.Text("Whose are these names?")
	p.put("water_0", fmt.Sprint(w.ID))
	p.put("method_0", fmt.Sprint(rec.Method))
	p.Follow("Read it so")
	p.Text("8 readings of 1 water by 1 method, all understood.")
	p.here("earlier-seen")
	p.Follow("Bring it in")
	p.Text("Kept: 8 readings")
	p.here("earlier")
	p.Go(fmt.Sprintf("/waters/%d/history", w.ID))
	p.Text("an earlier log")
	p.Text("Lots of " + rec.Spec.Method + " were not stated")
	p.here("earlier-history")
	p.Go("/waters/earlier")
	p.put("why-1", "of another tank")
	p.Follow("Take it out")
	p.Text("taken out")
	p.Go(fmt.Sprintf("/waters/%d/history", w.ID))
	p.Text("no results by a trial’s record yet")
	// the bench knows the columns by now
	p.Go("/waters/earlier")
	p.put("pasted", log)
	p.Follow("See how it is read")
	p.Until("no column is asked about", `document.querySelector("#columns") === null`)
	p.NoConsoleErrors()
}
