package web

import (
	"context"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knownwater/bench"
	"knownwater/demo/shed"
)

// An invented bench opens from the empty bench's page, says of itself on every page
// that it is invented, leaves the real bench alone, and is gone with one press.
func TestInventedBench(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	s := newSiteOf(t, true, func(ctx context.Context, b *bench.Bench) error { return shed.Furnish(ctx, b, "test") })
	if a := s.post("/invented", nil); a.StatusCode == http.StatusSeeOther && a.Header.Get("Location") == "/" {
		t.Fatal("opened without signing in")
	}
	s.signInAsOwner()
	if page := s.get("/").body; !strings.Contains(page, "Show me an invented bench") || strings.Contains(page, "Throw it away") {
		t.Fatal("the empty bench does not offer it")
	}
	if a := s.post("/invented", nil); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("not opened: %d %s", a.StatusCode, a.body)
	}
	for _, path := range []string{"/", "/trials", "/trials/2", "/knowns", "/curves", "/methods", "/nowhere"} {
		if page := s.get(path).body; !strings.Contains(page, "<b>Invented.</b>") || !strings.Contains(page, "Throw it away") {
			t.Errorf("%s does not say that it is invented", path)
		}
	}
	if page := s.get("/trials").body; !strings.Contains(page, shed.Title) {
		t.Error("the finished trial is not there")
	}
	s.post("/trials", url.Values{"title": {"Tried out"}})
	other := s.as()
	other.signInAsOwner()
	if page := other.get("/trials").body; strings.Contains(page, "Tried out") || strings.Contains(page, "Invented.") {
		t.Error("another browser sees the invented bench, or what was done there")
	}
	stranger := s.as()
	req := stranger.request("GET", "/trials", "", "")
	req.AddCookie(&http.Cookie{Name: lookCookie, Value: "yes"})
	if a := stranger.do(req); a.StatusCode == http.StatusOK {
		t.Error("a stranger with the cookie gets in")
	}
	s.post("/invented/end", nil)
	if page := s.get("/trials").body; strings.Contains(page, "Tried out") || strings.Contains(page, "Invented.") || strings.Contains(page, shed.Title) {
		t.Error("it is still there")
	}
	if left, _ := filepath.Glob(filepath.Join(os.TempDir(), "knownwater-invented-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if list, err := s.bench.Trials(t.Context()); err != nil || len(list) != 0 {
		t.Errorf("the real bench holds %v, %v", list, err)
	}
	if people, err := s.bench.People(t.Context()); err != nil || len(people) != 0 {
		t.Errorf("the real bench has people %v, %v", people, err)
	}
}
