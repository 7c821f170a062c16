package report_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"regexp"
	"sync"
	"testing"

	"knownwater/internal/browsertest"
	"knownwater/report"
)

// TestPageInABrowser opens the page on a phone and a desk, light and dark:
// nothing wider than the screen, no finding of axe-core, nothing fetched, no
// word on the console.
func TestPageInABrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	var mu sync.Mutex
	asked := map[string]int{}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		asked[r.URL.Path]++
		mu.Unlock()
		make, ok := report.Cases()[r.URL.Path[1:]]
		if !ok {
			w.WriteHeader(http.StatusNoContent)
			return
		}
		f, trial := make()
		var b bytes.Buffer
		if err := report.HTML(&b, f, trial, report.FixtureInputs()); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(b.Bytes())
	}))
	t.Cleanup(server.Close)
	p := browsertest.Start(t).Open(t, server.URL, browsertest.Phone)
	for _, name := range []string{"full", "hostile", "empty"} {
		p.Go("/" + name)
		for _, s := range []browsertest.Size{browsertest.Phone, browsertest.Desk} {
			p.Resize(s)
			p.Fits(name)
			if name == "full" {
				firstScreen(t, p, s)
			}
		}
		p.Accessible(name)
		p.NoConsoleErrors()
		if name == "full" {
			fewPages(t, p)
		}
	}
	mu.Lock()
	defer mu.Unlock()
	for path := range asked {
		if path != "/full" && path != "/hostile" && path != "/empty" && path != "/favicon.ico" && path != "/" {
			t.Errorf("the page asked for %s", path)
		}
	}
}

// mostPages bounds what the page prints on as it opens, mostOpen what all of it, folds
// open, does: that is for a folder.
const mostPages, mostOpen = 6, 20

var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)

func fewPages(t *testing.T, p *browsertest.Page) {
	t.Helper()
	for _, c := range []struct {
		name, opened string
		most         int
	}{{"report", "", mostPages}, {"report-open", `document.querySelectorAll("details").forEach(d => d.open = true) === undefined`, mostOpen}} {
		if c.opened != "" {
			browsertest.JS[bool](p, c.opened)
		}
		n := len(pdfPage.FindAll(p.PDF(c.name), -1))
		t.Logf("%s: printed on %d pages", c.name, n)
		if n == 0 || n > c.most {
			t.Errorf("%s: printed on %d pages, want at most %d", c.name, n, c.most)
		}
	}
}

// firstScreen: the answer within 1,000 pixels of a desk and 1,900 of a phone, and
// the folded page within 15,000; a link into a fold opens it.
func firstScreen(t *testing.T, p *browsertest.Page, s browsertest.Size) {
	t.Helper()
	most := 1000.
	if s.Phone {
		most = 1900
	}
	if ends := browsertest.JS[float64](p, `document.querySelector(".thirds").getBoundingClientRect().bottom + scrollY`); ends > most {
		t.Errorf("on a screen of %d the answer ends at %g, want at most %g", s.Width, ends, most)
	}
	if all := browsertest.JS[float64](p, `document.documentElement.scrollHeight`); all > 15000 {
		t.Errorf("on a screen of %d the folded page is %g high", s.Width, all)
	}
	if !browsertest.JS[bool](p, `(location.hash = "#method-1", new Promise((done) => setTimeout(() => {
		const open = document.querySelector("#f-levels").open; document.querySelector("#f-levels").open = false; location.hash = ""; done(open); }, 100)))`) {
		t.Error("a link to a method does not open its fold")
	}
}

func TestMain(m *testing.M) { browsertest.Main(m) }
