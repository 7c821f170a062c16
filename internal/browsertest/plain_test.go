package browsertest

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// TestPlainHTTP runs a phone that reaches the bench by a name over plain http:
// no secure context, so no wake lock, no service worker, no crypto.randomUUID
// and no Sec-Fetch-Site. The run screen must do without and say so.
func TestPlainHTTP(t *testing.T) {
	t.Parallel()
	b := ServeAs(t, "bench.example")
	b.Furnish(t)
	trial := b.planSmall(t)
	br := Start(t, "host-resolver-rules", "MAP bench.example 127.0.0.1")
	_, port, _ := strings.Cut(strings.TrimPrefix(b.URL, "http://"), ":")
	b.URL = "http://bench.example:" + port
	p := br.pair(t, b, 1)
	if JS[bool](p, `isSecureContext || "wakeLock" in navigator || !!crypto.randomUUID`) {
		t.Fatal("this is a secure context: the test would show nothing")
	}
	p.Go(fmt.Sprintf("/trials/%d/run", trial.ID))
	p.ready()
	p.readOne("2", "3.3")
	p.settled()
	p.PressText("More")
	p.Text("lets no page on plain http keep the screen on")
	p.Shots("run-more")
	p.Accessible("run, more")
	p.PressText("Go on")
	if got := len(b.rows(t, trial.ID)); got != 1 {
		t.Errorf("%d readings are kept, want 1", got)
	}
	p.NoConsoleErrors()
}

// TestNoIndexedDB runs a phone whose browser refuses IndexedDB: readings wait
// in localStorage instead.
func TestNoIndexedDB(t *testing.T) {
	t.Parallel()
	b, p, trial, run := reading(t)
	p.before(`Object.defineProperty(window, "indexedDB", {value: undefined})`)
	p.Go(run)
	p.ready()
	p.Offline(true)
	p.readOne("2", "3.3")
	if n := JS[int](p, `Object.keys(localStorage).filter((k) => k.startsWith("knownwater/queue/")).length`); n == 0 {
		t.Fatal("nothing waits in localStorage")
	}
	p.Offline(false)
	p.settled()
	if got := len(b.rows(t, trial.ID)); got != 1 {
		t.Errorf("%d readings are kept, want 1", got)
	}
}

// TestSentTwice loses the answer to a reading, so that the phone sends it again:
// the bench keeps it once.
func TestSentTwice(t *testing.T) {
	t.Parallel()
	b, p, trial, run := reading(t)
	p.before(`(() => { const real = window.fetch; let lost = 0; window.fetch = async (...a) => {
		const res = await real(...a);
		if (String(a[0]).endsWith("/entries") && lost++ < 3) { window.lost = lost; setTimeout(() => dispatchEvent(new Event("online")), 100); throw new TypeError("the answer was lost"); }
		return res; }; })()`)
	p.Go(run)
	p.ready()
	p.readOne("2", "3.3")
	p.settled()
	if JS[int](p, `window.lost ?? 0`) != 3 {
		t.Fatal("no answer was lost: the test shows nothing")
	}
	if got := len(b.rows(t, trial.ID)); got != 1 {
		t.Errorf("%d readings are kept, want 1", got)
	}
}

// TestSchedule asks the run screen's own clockwork: a new vial's hands-on steps
// never meet those of the vials in the air.
func TestSchedule(t *testing.T) {
	t.Parallel()
	b := Serve(t, false)
	p := Start(t).Open(t, b.URL, Desk)
	p.Go("/")
	got := JS[string](p, `import("/assets/run/when.js").then((w) => {
		const steps = [{name: "shake", seconds: 60, hands_on: true}, {name: "stand", seconds: 300}, {name: "read", seconds: 0, within: 120}];
		let bad = 0, air = [], t = 0;
		for (let i = 0; i < 30; i++) {
			const others = air.flatMap((b) => w.busy(steps, b, t));
			const at = w.mayBegin(steps, others, t);
			if (at < t) bad++;
			air.push(at);
			t = at;
		}
		const spans = air.flatMap((b) => w.busy(steps, b, 0)).sort((a, b) => a[0] - b[0]);
		for (let i = 1; i < spans.length; i++) if (spans[i][0] < spans[i - 1][1]) bad++;
		const at = w.where(steps, 0, 359e3), late = w.where(steps, 0, 481e3), read = w.where(steps, 0, 360e3);
		return JSON.stringify([bad, air[1], at.k, at.ends, read.read, read.ends, late.late, w.clock(61e3), w.clock(3.6e6)]);
	})`)
	if want := `[0,60000,1,360000,true,480000,true,"1:01","1:00:00"]`; got != want {
		t.Errorf("the clockwork says %s, want %s", got, want)
	}
}

// before runs script in every page before its own.
func (p *Page) before(script string) {
	p.t.Helper()
	if err := addScript(p.ctx, script); err != nil {
		p.t.Fatal(err)
	}
}

// TestKeyboard reads a vial without a pointer.
func TestKeyboard(t *testing.T) {
	t.Parallel()
	b, p, trial, run := reading(t)
	p.Go(run)
	p.ready()
	for !JS[bool](p, `!!document.querySelector(".digits")`) {
		p.readOne("2", "3.3")
	}
	before := p.done()
	p.focusByTab("3")
	p.Do(chromedp.KeyEvent("\r"))
	p.focusByTab("Keep")
	p.Do(chromedp.KeyEvent("\r"))
	p.Until("the reading to count", fmt.Sprintf(`Number(document.querySelector(".b-prog b")?.innerText) === %d`, before+1))
	p.settled()
	if got := len(b.rows(t, trial.ID)); got != before+1 {
		t.Errorf("%d readings are kept, want %d", got, before+1)
	}
}

// focusByTab presses Tab until a button that begins with text has the focus.
func (p *Page) focusByTab(text string) {
	p.t.Helper()
	for range 40 {
		p.Do(chromedp.KeyEvent("\t"))
		if JS[bool](p, fmt.Sprintf(`document.activeElement.tagName === "BUTTON" && document.activeElement.innerText.startsWith(%q)`, text)) {
			return
		}
	}
	p.t.Fatalf("Tab never reaches %q", text)
}

// TestWrongClock runs a phone whose clock is ten minutes slow: its times are
// put right before they are kept.
func TestWrongClock(t *testing.T) {
	t.Parallel()
	b, p, trial, run := reading(t)
	p.before(`{ const real = Date.now.bind(Date); Date.now = () => real() - 600e3; }`)
	p.Go(run)
	p.ready()
	p.Until("the bench's clock", `document.getElementById("bench").dataset.clock === "measured"`)
	p.readOne("2", "3.3")
	p.settled()
	rows := b.rows(t, trial.ID)
	if len(rows) != 1 {
		t.Fatalf("%d readings are kept, want 1", len(rows))
	}
	if off := time.Since(rows[0].ReadAt).Abs(); off > time.Minute {
		t.Errorf("the reading is dated %v away", off)
	}
}
