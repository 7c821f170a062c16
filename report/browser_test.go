package report_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
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
		}
		p.Accessible(name)
		p.NoConsoleErrors()
	}
	mu.Lock()
	defer mu.Unlock()
	for path := range asked {
		if path != "/full" && path != "/hostile" && path != "/empty" && path != "/favicon.ico" && path != "/" {
			t.Errorf("the page asked for %s", path)
		}
	}
}

func TestMain(m *testing.M) { browsertest.Main(m) }
