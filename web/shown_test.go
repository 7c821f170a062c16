package web

import (
	"net/http"
	"strings"
	"testing"
)

// german is the same site in a browser whose person reads German.
func (s *site) german() *site {
	g := s.as()
	if a := g.post("/shown", form1("language", "de", "mark", "", "days", "", "back", "/read")); a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/read" {
		s.t.Fatalf("the choice was not kept: %d %s", a.StatusCode, a.Header.Get("Location"))
	}
	return g
}

// TestShown chooses language, numbers and days, and sees them; without a choice a browser's
// own language decides, and no address of another house is gone to.
func TestShown(t *testing.T) {
	s := newSite(t, false)
	page := s.get("/shown?back=/waters").body
	for _, want := range []string{`<html lang="en">`, "<h1>Language, numbers, days</h1>", `name="back" value="/waters"`, `<option value="de" lang="de">Deutsch</option>`} {
		if !strings.Contains(page, want) {
			t.Errorf("there is no %s\n%s", want, inside(page))
		}
	}
	asked := s.request("GET", "/shown", "", "")
	asked.Header.Set("Accept-Language", "de-CH, en;q=0.5")
	for who, page := range map[string]string{"asked for": s.do(asked).body, "chosen": s.german().get("/shown").body} {
		for _, want := range []string{`<html lang="de">`, "<h1>Sprache, Zahlen, Tage</h1>", `<option value="de" lang="de" selected>Deutsch</option>`, "1\u202f234,5"} { // its own name, not a number of the page
			if !strings.Contains(page, want) {
				t.Errorf("%s: there is no %s\n%s", who, want, inside(page))
			}
		}
	}
	s.finishedTrial("spring", 1, 1)
	s.post("/shown", form1("language", "en", "mark", "comma", "days", "dots"))
	if found := s.get("/trials/1/findings").body; !strings.Contains(found, `<html lang="en">`) || !strings.Contains(found, "0,") || strings.Contains(inside(found), ">±0.") {
		t.Errorf("no decimal commas in English\n%s", inside(found))
	}
	for _, back := range []string{"//elsewhere.example/", "https://elsewhere.example/", `/\elsewhere.example`, ""} {
		if at := s.post("/shown", form1("language", "xx", "mark", "xx", "days", "xx", "back", back)).Header.Get("Location"); at != "/" {
			t.Errorf("%q leads to %q", back, at)
		}
	}
}

// TestFilesAreEnglish asks for every file of a trial in German with commas: not a byte of
// one hangs on who asks.
func TestFilesAreEnglish(t *testing.T) {
	s := newSite(t, false)
	s.must("/needs", form1("name", "hold it low", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "low", "0", "high", "3", "permitted", "at 3 ± 1"))
	trial := s.finishedTrial("spring", 1, 1)
	s.get(trial + "/findings")
	de := s.german()
	for _, file := range []string{"/report.html", "/findings.json", "/findings.csv", "/readings.csv", "/summary/wide.png"} {
		a, b := s.get(trial+file), de.get(trial+file)
		if a.StatusCode != http.StatusOK || a.body != b.body || len(a.body) < 200 {
			t.Errorf("%s: %d, %d bytes, %d for somebody who reads German", file, a.StatusCode, len(a.body), len(b.body))
		}
	}
	rechecked(t, de.get(trial+"/report.html").body)
}
