package browsertest

import (
	"context"
	"testing"

	"knownwater/demo/shed"
)

// TestFindAndPlace: somebody looks for a reading, renames the trial it stands in, puts it
// away, undoes that, takes it out and brings it back, on a phone.
func TestFindAndPlace(t *testing.T) {
	t.Parallel()
	b := ServeInvented(t)
	if err := shed.Furnish(context.Background(), b.Bench, "test"); err != nil {
		t.Fatal(err)
	}
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/")
	if rows := JS[float64](p, `new Set([...document.querySelectorAll(".top nav li")].map((l) => Math.round(l.getBoundingClientRect().top))).size`); rows != 1 {
		t.Errorf("the navigation takes %g rows on a phone", rows)
	}
	p.Follow("Find")
	p.Text("All of them have to be there")
	p.fill("words", "cedar")
	JS[bool](p, `(document.querySelector("#order").value = "level", true)`)
	p.Press("form[role=search] button")
	p.Until("readings that were found", `document.querySelectorAll("#readings tbody tr").length > 10`)
	levels := JS[[]float64](p, `[...document.querySelectorAll("#readings td.kn")].map((d) => parseFloat(d.innerText))`)
	for i := 1; i < len(levels); i++ {
		if levels[i] < levels[i-1] {
			t.Fatalf("sorted by level: %g after %g", levels[i], levels[i-1])
		}
	}
	p.Fits("what was found")
	p.Accessible("what was found")
	p.Shots("find")

	p.Go("/trials/1")
	title := JS[string](p, `document.querySelector("h1").innerText`)
	p.fill("title", "Autumn in the shed", "place-why", "its month was wrong")
	p.PressText("Rename")
	p.Text("It is called “Autumn in the shed” now")
	press := func(why, button, says string) {
		t.Helper()
		p.fill("place-why", why)
		p.PressText(button)
		p.Text(says)
	}
	press("last year’s", "Put away", "It is put away")
	p.PressText("Undo")
	p.Text("Undone")
	press("the neighbour’s file", "Take out: it should not be here", "It is taken out")
	p.Fits("a trial that was taken out")
	p.Accessible("a trial that was taken out")
	p.Shots("taken-out")
	p.Go("/trials")
	if JS[bool](p, `[...document.querySelectorAll("tbody th")].some((h) => h.innerText.includes("Autumn"))`) {
		t.Error("what was taken out stands in the list")
	}
	p.Go("/trials/1")
	press("it was ours after all", "Bring back", "It stands in the lists")
	p.Text("the neighbour’s file") // the history is kept
	p.Go("/find?words=" + "saltmarsh")
	p.Text("was “" + title + "”")
	p.NoConsoleErrors()
}
