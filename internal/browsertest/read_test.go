package browsertest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	notation "knownwater/science/reading"
)

// cardTrial is a trial of the violet card with all its readings taken; the card shows a share
// of what there is. Its key is still shut.
func (b *Bench) cardTrial(t *testing.T, title string, share float64) trials.Trial {
	t.Helper()
	ctx := context.Background()
	p := trials.Plan{Title: title, Scale: Nitrate, Needs: []int64{1}, Readers: []int64{1, 2}, Sessions: 1, Replicates: 4, Blanks: 4,
		Methods: []trials.PlanMethod{{VersionID: 1, Together: true}}}
	p.Water.Salinity, p.Water.Temperature = 35, 25
	for _, level := range []float64{0, 1, 2.5, 4, 7, 12, 18} {
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprint("K", level), Level: level, U: 0.01 + 0.005*level, Blank: level == 0})
	}
	trial := b.sealed(t, p)
	list, err := b.PrepList(ctx, owner, trial.ID)
	if err != nil {
		t.Fatal(err)
	}
	levels := map[string]float64{}
	for _, row := range list {
		for _, session := range row.Sessions {
			for _, v := range session.Vials {
				levels[v.Code] = row.Known.Level
			}
		}
	}
	m, err := b.MethodVersion(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(uint64(trial.ID), 7))
	for person, name := range map[int64]string{1: "Ines", 2: "Tomo"} {
		who := knownwater.Who{Person: person, Name: name, Role: knownwater.Reader, Device: "test"}
		run, err := b.Run(ctx, who, trial.ID, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range run.Vials {
			text := notation.Show(max(0, share*levels[v.Code]*(1+0.08*rng.NormFloat64())+0.15*rng.NormFloat64()), m.Spec.Method())
			if _, err := b.KeepReading(ctx, who, trials.NewReading{Key: fmt.Sprintf("a-key-of-the-card-%d-%d-%d", trial.ID, v.ID, person), Vial: v.ID, Text: text, ReadAt: time.Now()}); err != nil {
				t.Fatal(err)
			}
		}
	}
	return trial
}

// brick presses the brick of a reading on a chart's wall.
func (p *Page) brick(text string) {
	p.t.Helper()
	p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector('.brick input[value="%s"]').click()`, text)))
}

// TestRead goes from a trial whose readings are all taken to a result that stands beside
// what a later trial says: the key opened, the trial finished, its record adopted, a reading
// taken on a phone, kept, corrected, and a newer version beside it.
func TestRead(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	b.Furnish(t)
	p := Start(t).Open(t, b.URL, Phone)
	p.look("nothing", "/read")
	p.look("nothing", "/calibrations")
	b.cardTrial(t, "The card in spring", 1)
	p.Go("/trials/1")
	p.Follow("Open the key")
	p.Go("/trials/1")
	p.Follow("Finish the trial")
	p.Go("/trials/1/findings")
	p.Until("the findings", `document.querySelector(".report") !== null`)
	p.Follow("Use a record from now on")
	p.here("adopt")
	p.Follow("Use the record of Violet card")
	p.Text("In use: every reading of Violet card is turned round by it")
	p.here("record-adopted")
	p.look("adopted", "/calibrations")

	p.Resize(Phone)
	p.Go("/read")
	p.Text("Match on the card")
	p.here("read-pad")
	p.Resize(Phone)
	p.brick("5..10")
	p.Follow("Read it")
	p.Text("most likely")
	p.Text("Hold a low-nutrient tank, 0.5 to 8: inside with")
	p.here("read-answer")
	p.Dark(true)
	p.here("read-answer-dark")
	p.Dark(false)
	p.Resize(Phone)
	p.Follow("One more of this sample")
	p.Text("Of this sample already: 5..10")
	p.brick("10")
	p.Follow("Read it")
	p.Text("Keep 5..10, 10")
	p.here("read-two")
	p.PressText("Keep 5..10, 10")
	p.Text("few words") // it has no name yet
	p.here("read-without-a-water")
	p.ConsoleErrors()
	p.Resize(Phone)
	p.fill("water", "north tank", "note", "before feeding")
	p.Follow("Keep 5..10, 10")
	p.Text("Kept.")
	p.Text("north tank: ")
	p.Text("version 1 of the record")
	p.here("record-result")
	p.fill("readings", "5..10 5", "why", "the second was another row")
	p.Follow("Keep the correction")
	p.Text("the second was another row")
	p.here("record-result-corrected")

	later := b.cardTrial(t, "The card in autumn", 0.8)
	ctx := context.Background()
	if _, err := b.OpenKey(ctx, owner, later.ID, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Finish(ctx, owner, later.ID); err != nil {
		t.Fatal(err)
	}
	p.Go(fmt.Sprintf("/trials/%d/adopt", later.ID))
	p.Follow("Use the record of Violet card")
	p.Text("Not taken into use") // no reason was given
	p.here("adopt-refused")
	p.ConsoleErrors()
	p.fill("why", "half a year later")
	p.Follow("Use the record of Violet card")
	p.Text("Version 2 of the record")
	p.Text("version 2, in use, says")
	p.here("record-with-results")
	p.Follow("north tank")
	p.Text("Version 2, now in use, says")
	p.Text("The value kept still stands.")
	p.here("record-result-beside")
	p.NoConsoleErrors()
}

// cardInUse is the card’s record of a trial of it, adopted.
func (b *Bench) cardInUse(t *testing.T) calibrations.Record {
	t.Helper()
	ctx := context.Background()
	trial := b.cardTrial(t, "The card in spring", 1)
	if _, err := b.OpenKey(ctx, owner, trial.ID, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Finish(ctx, owner, trial.ID); err != nil {
		t.Fatal(err)
	}
	rec, err := b.AdoptRecord(ctx, owner, calibrations.NewRecord{Trial: trial.ID, Version: 1, Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return rec
}
