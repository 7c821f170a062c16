package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// Five ways in which people keep a table. The numbers are the same in all: a card
// and a meter that reads low, at three knowns. All invented.
var pastedTables = map[string]string{
	"long": "method,known,reading,reader\n" + long(","),
	"wide": "known (mg/L NO3),Violet card,Pocket meter\n0,0,0.2\n0,0..2,0.1\n0,0,0.3\n5,2..5,3.9\n5,5,4.2\n5,2..5,4.1\n10,10,8.4\n10,5..10,8.1\n10,10,8.0\n",
	"tabs with decimal commas": "method\tlevel\treading\n" + strings.ReplaceAll(
		"Pocket meter\t0\t0.2\nPocket meter\t0\t0.1\nPocket meter\t0\t0.3\nPocket meter\t5\t3.9\nPocket meter\t5\t4.2\nPocket meter\t5\t4.1\n", ".", ","),
	"a title above, other words": "My cards in May;;;\n;;;\nkit;true;reading;who\nViolet card;0;0;Ines\nViolet card;0;0 to 2;Tomo\nViolet card;0;0;Wren\n" +
		"Violet card;5;2-5;Ines\nViolet card;5;5;Tomo\nViolet card;5;between 2 and 5;Wren\nViolet card;10;10;Ines\nViolet card;10;5–10;Tomo\nViolet card;10;10;Wren\n",
	"units in cells": "method,known,reading\nPocket meter,0 mg/L,0.2 ppm\nPocket meter,0 mg/L,0.1 ppm\nPocket meter,0,0.2\nPocket meter,5 mg/L,4 mg/L\nPocket meter,5 mg/L,4.1\nPocket meter,5,3.9\n",
}

func long(comma string) string {
	out := ""
	for i, row := range []string{"Violet card,0,0", "Violet card,0,0..2", "Violet card,0,0", "Violet card,5,2..5", "Violet card,5,5", "Violet card,5,2..5",
		"Violet card,10,10", "Violet card,10,5..10", "Violet card,10,10", "Pocket meter,0,0.2", "Pocket meter,0,0.1", "Pocket meter,0,0.3",
		"Pocket meter,5,3.9", "Pocket meter,5,4.2", "Pocket meter,5,4.1", "Pocket meter,10,8.4", "Pocket meter,10,8.1", "Pocket meter,10,8.0"} {
		out += row + "," + []string{"Ines", "Tomo", "Wren"}[i%3] + "\n"
	}
	return strings.ReplaceAll(out, ",", comma)
}

// paste fills the first door.
func (p *Page) paste(text string) {
	p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.getElementById("pasted").value = %q`, text)))
}

// TestFirstDoor: from an empty bench to findings in three clicks after a paste:
// see how they are read, judge them, and there they are (two, and one to look).
func TestFirstDoor(t *testing.T) {
	browser := Start(t)
	for name, table := range pastedTables {
		t.Run(name, func(t *testing.T) {
			b := Serve(t, false)
			p := browser.Open(t, b.URL, Phone)
			p.Go("/")
			p.Text("How far can your water test be trusted?")
			p.paste(table)
			p.Press(`#have button[value="look"]`)
			p.Text("all understood")
			if name == "long" {
				p.here("readings-understood")
			}
			p.fill("low", "2", "high", "8", "within", "1.5")
			p.Press(`button[value="judge"]`)
			p.Text("Kept: ")
			if where := p.Where(); !strings.Contains(where, "/findings") {
				t.Errorf("ended at %s", where)
			}
			p.Text("right within 1.5")
			p.NoConsoleErrors()
		})
	}
}

// What is not understood is named, with what would be right; the rest can be judged
// without it, and the report says so.
func TestFirstDoorWithFaults(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/start")
	p.here("doors")
	p.Press(`#have button[value="look"]`)
	p.Text("nothing was pasted")
	p.ConsoleErrors()
	p.paste(strings.Replace(pastedTables["long"], "Pocket meter,5,3.9", "Pocket meter,5,about four", 1))
	p.Press(`#have button[value="look"]`)
	p.Text("Not all of it is understood yet")
	p.Text("about four")
	p.here("readings-not-understood")
	p.Press(`button[value="others"]`)
	p.Text("Kept: 17 readings")
	p.Follow("Trials")
	p.NoConsoleErrors()
}

// TestSecondDoor: from nothing to what a plan would decide with one form of nine
// fields, and from there to a sealed trial.
func TestSecondDoor(t *testing.T) {
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/")
	p.Press("#fair button.do")
	p.Text("no method was named")
	p.here("second-door-refused")
	p.ConsoleErrors()
	p.fillNamed("low", "2", "high", "6", "within", "1", "readers", "Ines, Tomo", "name_0", "Violet card", "detail_0", "0 1 2.5 5 10")
	p.Press("#fair button.do")
	p.Text("What it can decide")
	p.Text("would be decided in")
	p.here("plan-from-the-door")
	p.NoConsoleErrors()
}

// fillNamed types into the fields of the second door by their names.
func (p *Page) fillNamed(pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		p.Do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector("#fair [name=%s]").value = %q`, pairs[i], pairs[i+1])))
	}
}
