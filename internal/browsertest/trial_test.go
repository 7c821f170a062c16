package browsertest

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"knownwater/bench/trials"
)

// planSmall plans and seals a trial of both methods and both readers.
func (b *Bench) planSmall(t *testing.T) trials.Trial {
	t.Helper()
	ctx := context.Background()
	methods, err := b.Methods(ctx)
	if err != nil {
		t.Fatal(err)
	}
	p := trials.Plan{Title: "Card against display", Question: "Which of the two holds a low-nutrient tank?", Scale: Nitrate, Needs: []int64{1}, Readers: []int64{1, 2},
		Sessions: 1, Replicates: 1, Blanks: 1, Knowns: []trials.Known{{Label: "blank", Blank: true, U: 0.05}, {Label: "low", Level: 1.2, U: 0.02}, {Label: "high", Level: 7.2, U: 0.06}}}
	p.Water.Salinity, p.Water.Temperature = 35, 25
	for _, m := range methods {
		p.Methods = append(p.Methods, trials.PlanMethod{VersionID: m.VersionID, Together: true})
	}
	return b.sealed(t, p)
}

// pair lets a new phone in as a person, through the address in its QR code.
func (br *Browser) pair(t *testing.T, b *Bench, person int64) *Page {
	t.Helper()
	pairing, err := b.NewPairing(context.Background(), owner, person, 0)
	if err != nil {
		t.Fatal(err)
	}
	p := br.Open(t, b.URL, Phone)
	p.Go("/pair/" + pairing.Token)
	p.Follow("Pair this phone")
	p.Text("This phone now reads as " + pairing.Person.Name)
	return p
}

// code is the vial in front.
func (p *Page) code() string {
	return JS[string](p, `document.querySelector(".b-code")?.innerText ?? ""`)
}

// done is how many readings the screen counts.
func (p *Page) done() int {
	n, _ := strconv.Atoi(JS[string](p, `document.querySelector(".b-prog b")?.innerText ?? "-1"`))
	return n
}

// ready waits for the run screen's script.
func (p *Page) ready() {
	p.t.Helper()
	p.Until("the run screen", `document.getElementById("bench")?.dataset.ready === "yes"`)
}

// readOne begins and reads the vial in front: bricks and digits that reading
// names are pressed, then Keep.
func (p *Page) readOne(card, digits string) string {
	p.t.Helper()
	p.Until("a vial in front", `!!document.querySelector(".b-code")`)
	code := p.code()
	before := p.done()
	if JS[bool](p, `!!document.getElementById("begin")`) {
		p.Press("#begin")
	}
	p.Until("the pad", `!!document.getElementById("keep")`)
	p.choose(card, digits)
	p.keep()
	p.Until("the reading of "+code+" to count", fmt.Sprintf(`Number(document.querySelector(".b-prog b")?.innerText) === %d`, before+1))
	return code
}

// keep presses Keep at once: by a pointer, the page may draw itself anew between press and release
// (it does when what was queued has been sent), and the press is nobody's.
func (p *Page) keep() {
	p.t.Helper()
	p.Until("Keep", `(() => { const b = document.getElementById("keep"); b?.click(); return !!b; })()`)
}

// choose presses the brick that reads card, or types digits.
func (p *Page) choose(card, digits string) {
	p.t.Helper()
	if JS[bool](p, `!!document.querySelector(".wall")`) {
		p.Until("the brick "+card, fmt.Sprintf(`(() => { const b = document.querySelector(".brick[data-n=\"%s\"]"); b?.click(); return !!b; })()`, card))
		return
	}
	for _, d := range digits {
		p.Until("the key "+string(d), fmt.Sprintf(`(() => { const b = [...document.querySelectorAll(".key")].find((x) => x.innerText === %q); b?.click(); return !!b; })()`, string(d)))
	}
}

// settled waits until everything on the phone has been sent.
func (p *Page) settled() {
	p.t.Helper()
	p.Until("an empty queue", `document.querySelector(".news")?.innerText.match(/all sent|alles gesendet/) != null`)
}

// TestWholeTrial is the job from the pairing of two phones to the published
// report, with what goes wrong at a bench.
func TestWholeTrial(t *testing.T) {
	t.Parallel()
	b := Serve(t, true)
	b.Furnish(t)
	trial := b.planSmall(t)
	at := "/trials/" + strconv.FormatInt(trial.ID, 10)
	br := Start(t)
	ines, tomo := br.pair(t, b, 1), br.pair(t, b, 2)

	ines.Text("Go to the bench")
	ines.Shots("reader-today")
	ines.Resize(Phone)
	for _, p := range []*Page{ines, tomo} {
		p.Go(at + "/run")
		p.ready()
	}
	ines.Shots("run-ready")
	ines.Resize(Phone)

	// A countdown survives a reload.
	for JS[bool](ines, `!document.querySelector(".b-what")?.innerText.includes("Violet card")`) {
		ines.readOne("2", "4.7")
	}
	card := ines.code()
	ines.Press("#begin")
	ines.Until("the vial in the air", `document.querySelector(".lab")?.innerText === "vial" && !document.getElementById("begin")`)
	ines.settled()
	ines.Go(at + "/run")
	ines.ready()
	ines.Until("the started vial after the reload", fmt.Sprintf(`document.body.innerText.includes(%q)`, card))
	ines.Until("its pad, when its time has come", `!!document.querySelector(".wall")`)
	if got := ines.code(); got != card {
		t.Fatalf("after the reload %s is in front, want %s", got, card)
	}
	ines.choose("2..5", "")
	ines.Shots("run-chart")
	ines.Resize(Phone)
	ines.Accessible("run, chart")
	ines.Fits("run, chart")
	ines.Press("#keep")

	// The connection drops; reading goes on, and both phones stay apart.
	tomo.Offline(true)
	tomo.readOne("0.5", "1.3")
	tomo.readOne("2", "6.9")
	tomo.Text("waiting on this phone")
	tomo.Shots("run-offline")
	tomo.Resize(Phone)
	ines.readOne("5", "7.0")
	ines.settled()
	if n := len(b.rows(t, trial.ID)); n != ines.done() {
		t.Errorf("%d readings are kept while one phone is offline, want the %d of the other", n, ines.done())
	}
	// What a finger is on stays where it is while the queue is sent.
	JS[bool](tomo, press)
	tomo.Offline(false)
	tomo.settled()
	if !JS[bool](tomo, under) {
		t.Error("the screen was drawn anew because the queue was sent: a tap on it is lost")
	}
	JS[bool](tomo, lift)
	tomo.ConsoleErrors() // the browser reports every request that the dropped line cost

	// Undo, then read again.
	before := tomo.done()
	tomo.PressText("Undo")
	tomo.Until("the count to go back", fmt.Sprintf(`Number(document.querySelector(".b-prog b")?.innerText) === %d`, before-1))
	tomo.Until("its pad", `!!document.getElementById("keep")`)
	tomo.choose("0.5..2", "6.8")
	tomo.keep()

	for _, p := range []*Page{ines, tomo} {
		for !JS[bool](p, `document.body.innerText.includes("Every vial of this session is read")`) {
			p.readOne("2", "3.3")
		}
		p.settled()
		p.NoConsoleErrors()
	}
	tomo.Accessible("run, over")
	tomo.Fits("run, over")
	tomo.Shots("run-over")
	tomo.Resize(Phone)

	// A reading is corrected with a reason.
	ines.Go(at + "/mine")
	ines.Accessible("mine")
	ines.Fits("mine")
	ines.Shots("mine")
	ines.Resize(Phone)
	ines.PressText("Correct it")
	ines.Do(setFirst("input[name=text]", firstText(ines)), setFirst("input[name=why]", "I had tapped beside it"))
	ines.Follow("Keep the correction")
	ines.Text("Corrected.")

	// A reader sees no findings before they are due.
	ines.Go(at + "/findings")
	ines.Text("the key is sealed")
	ines.ConsoleErrors()

	// The owner opens the key, leaves a reading out, reads and publishes.
	boss := br.Open(t, b.URL, Desk)
	boss.look("stranger", "/sign-in")
	boss.look("stranger", "/pair/ABCDEFGHIJKLMNOPQRSTUVWXYZ234567")
	boss.Go("/sign-in")
	boss.Type("#passphrase", Passphrase)
	boss.Follow("Sign in")
	boss.look("owner", "/")
	boss.Go("/people")
	boss.Follow("Pair a phone")
	boss.Text("scan this with the phone")
	boss.Accessible("pairing")
	boss.Fits("pairing")
	boss.Resize(Phone)
	boss.Fits("pairing")
	boss.Shots("pairing")
	boss.look("trial", at)
	boss.look("blind", at+"/readings")
	boss.Go(at)
	boss.Follow("Open the key")
	boss.Text("Behind the numbers")
	boss.Go(at + "/readings")
	boss.Follow(boss.firstCode())
	boss.Type("#why", "spilled while shaking")
	boss.Follow("Leave it out")
	boss.Text("Left out, with your reason")
	for _, path := range []string{"", "/findings", "/findings?left-out=in", "/readings", "/readings?all=1", "/readings/1", "/publish", "/labels", "/sheet"} {
		boss.look("opened", at+path)
	}
	boss.Go(at + "/findings")
	boss.Text("1 reading left out")
	report := JS[string](boss, `fetch("`+at+`/report.html?names=out").then((r) => r.text())`)
	for _, want := range []string{"knownwater-inputs", "How the trial was run", "spilled while shaking"} {
		if !strings.Contains(report, want) {
			t.Errorf("the report does not say %q", want)
		}
	}
	if strings.Contains(report, "Ines") || strings.Contains(report, "Tomo") {
		t.Error("the report without names has names")
	}
	recheck(t, report)
	for _, path := range []string{"/findings", "/labels", "/sheet"} {
		boss.Go(at + path)
		if pdf := boss.PDF("print" + file(path)); len(pdf) < 10000 {
			t.Errorf("printed on paper %s is %d bytes", path, len(pdf))
		}
	}

	// Once finished, its readers may see it.
	boss.Go(at)
	boss.Follow("Finish the trial")
	ines.Go(at + "/findings")
	ines.Text("Left out, corrected")
	ines.NoConsoleErrors()
	boss.NoConsoleErrors()
}
