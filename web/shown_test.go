package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"knownwater/science/unit"
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
	for _, want := range []string{`<html lang="en">`, "<h1>Language, numbers, days, units</h1>", `name="back" value="/waters"`, `<option value="de" lang="de">Deutsch</option>`} {
		if !strings.Contains(page, want) {
			t.Errorf("there is no %s\n%s", want, inside(page))
		}
	}
	asked := s.request("GET", "/shown", "", "")
	asked.Header.Set("Accept-Language", "de-CH, en;q=0.5")
	for who, page := range map[string]string{"asked for": s.do(asked).body, "chosen": s.german().get("/shown").body} {
		for _, want := range []string{`<html lang="de">`, "<h1>Sprache, Zahlen, Tage, Einheiten</h1>", `<option value="de" lang="de" selected>Deutsch</option>`, ">1,234.5</option>", "1\u202f234,5"} { // their own names, no numbers of the page
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
	n := s.inUnits(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"})
	if a, b := s.get(trial+"/report.html"), n.get(trial+"/report.html"); a.body != b.body {
		t.Error("a report hangs on the units of who asks")
	}
}

// TestFindingsInUnits looks at the first screen of findings in nitrogen: needs, errors and what
// numbers say are turned; the method's own readings, its knowns and what is folded are not,
// which the page says.
func TestFindingsInUnits(t *testing.T) {
	s := newSite(t, false)
	at := s.bringIn(120) + "/findings" // a need from 0.5 to 8, ±0.5 to 1.5; knowns up to 12
	n := s.inUnits(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"})
	for who, c := range map[string]struct {
		on   *site
		want []string
	}{
		"as it is":    {s, []string{"0.5 to 8; permitted ±0.5 to ±1.5", "Upright: what you permit. mg/L NO3.", "mg/L NO3, 95 %", "<b><bdi>Above 12</bdi></b><bdi>mg/L NO3.</bdi>"}},
		"in nitrogen": {n, []string{"0.113 to 1.81; permitted ±0.11 to ±0.34", "Upright: what you permit. mg/L N.", "mg/L N, 95 %", "<b><bdi>Above 2.71</bdi></b><bdi>mg/L N.</bdi>", "folded below are in mg/L NO3, as the trial has them", "knowns from 0 to 12", "True concentrations, mg/L NO3."}}, // by 4.4266
	} {
		page := laidOut(c.on.get(at).body)
		for _, want := range c.want {
			if !strings.Contains(page, want) {
				t.Errorf("%s: no %q\n%s", who, want, inside(page))
			}
		}
		if said := strings.Contains(page, "as the trial has them"); said != (c.on == n) {
			t.Errorf("%s: says that units differ: %v", who, said)
		}
	}
}

// TestTypedWithAComma reads with decimal commas: 5,0..10,0 is 5..10, kept as such; a number in
// groups is refused with what would be right, and so is 5,000 from somebody who writes points.
func TestTypedWithAComma(t *testing.T) {
	s := newSite(t, false)
	trial := s.finishedTrial("spring", 1, 1)
	m := regexp.MustCompile(`name="method" value="(\d+)"`).FindStringSubmatch(s.get(trial + "/adopt").body)
	s.must(trial+"/adopt", form1("method", m[1]))
	de := s.german()
	with := func(text string) string {
		return "/read?" + url.Values{"with": {"record-1"}, "reading": {text}, "reader": {"Ines"}}.Encode()
	}
	for who, a := range map[string]answer{"with a comma": s.get(with("5,0..10,0")), "in German": de.get(with("5,0..10,0"))} {
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, "most likely") || !strings.Contains(a.body, "Keep 5.0..10.0") && !strings.Contains(a.body, "Keep 5,0..10,0") {
			t.Errorf("%s: %d\n%s", who, a.StatusCode, inside(a.body))
		}
	}
	for who, a := range map[string]answer{"groups": s.get(with("1.234,5")), "groups in German": de.get(with("1.234,5")), "perhaps groups": s.get(with("5,000"))} {
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "has a comma in a number") {
			t.Errorf("%s: %d\n%s", who, a.StatusCode, inside(a.body))
		}
	}
	if a := de.get(with("5,000")); a.StatusCode != http.StatusOK {
		t.Errorf("five in German: %d\n%s", a.StatusCode, inside(a.body))
	}
}
