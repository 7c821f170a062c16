package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// curveInUse keeps a curve and takes its first version into use.
func (s *site) curveInUse() string {
	s.t.Helper()
	at := s.must("/curves/new", curveValues())
	s.must(at+"/adopt", form1("version", "1"))
	return at
}

func waterValues(more ...string) url.Values {
	v := form1("version", "1", "key", "a-key-of-this-result-1", "signals", "0.3345 0.3349", "water", "north tank")
	for i := 0; i+1 < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	return v
}

// TestKeepResultInBrowser: read, keep, see it, adopt another version, see both
// values, correct, withdraw.
func TestKeepResultInBrowser(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	at := s.curveInUse()
	page := laidOut(s.get(at + "/read?signals=0.3345+0.3349").body)
	key := regexp.MustCompile(`name="key" value="([A-Z0-9]{20,})"`).FindStringSubmatch(page)
	if key == nil || !strings.Contains(page, "Keep this result") || !strings.Contains(page, `name="signals" value="0.3345 0.3349"`) {
		t.Fatalf("the answer cannot be kept:\n%s", inside(page))
	}
	v := waterValues("key", key[1], "note", "before feeding")
	to := s.must(at+"/read", v)
	if to != at+"#results" || s.must(at+"/read", v) != to {
		t.Errorf("leads to %s", to)
	}
	page = s.get(at).body
	if n := strings.Count(page, ">north tank</a>"); n != 1 {
		t.Fatalf("a result sent twice stands there %d times\n%s", n, inside(page))
	}
	for _, want := range []string{"version 1, in use, says", `<td data-l="results">1</td>`, `class="m-est plain"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the curve’s page does not say %q\n%s", want, inside(page))
		}
	}

	// a version that reads a tenth less takes its place
	moved := curveValues()
	moved.Set("points", curvePointsOf(1.1))
	moved.Set("why", "knowns made anew")
	s.must(at+"/change", moved)
	s.must(at+"/adopt", form1("version", "2", "why", "knowns made anew"))
	page = laidOut(s.get(at).body)
	if m := regexp.MustCompile(`<b>(5\.0\d|4\.9\d)\d* \([^<]*\)</b> ?<span class="quiet">version 1, owner</span></td><td data-l="version in use says">5\.[45]\d* \([\d.]+ to [\d.]+\) ?<span class="quiet">&#43;0\.[45]`).FindString(page); m == "" {
		t.Errorf("old value and new one do not stand side by side\n%s", inside(page))
	}
	if !regexp.MustCompile(`(?s)2, in use</a>.*<td data-l="results">0</td>.*<td data-l="results">1</td>`).MatchString(page) {
		t.Errorf("results per version\n%s", inside(page))
	}
	if a := s.get(at + "/read?version=1&signals=0.3"); strings.Contains(a.body, "Keep this result") || !strings.Contains(a.body, "nothing is kept through it") {
		t.Error("a version that is not in use keeps results")
	}
	if a := s.post(at+"/read", waterValues()); a.StatusCode != http.StatusConflict || !strings.Contains(a.body, "version 1 is not in use") {
		t.Errorf("kept through a version that is not in use any more: %d", a.StatusCode)
	}

	one := at + "/results/1"
	page = s.get(one).body
	for _, want := range []string{"north tank: ", "Version 2, now in use, says", "0.3345 0.3349", "before feeding", "knowns", `value="north tank"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the result’s page does not say %q\n%s", want, inside(page))
		}
	}
	fix := waterValues("key", "a-key-of-a-correction-1", "signals", "0.2345", "why", "")
	if a := s.post(one, fix); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") || !strings.Contains(a.body, `value="0.2345"`) {
		t.Errorf("corrected without a why: %d\n%s", a.StatusCode, inside(a.body))
	}
	fix.Set("why", "digits swapped")
	two := s.must(one, fix)
	if page = s.get(two).body; two != at+"/results/2" || !strings.Contains(page, "digits swapped") || !strings.Contains(page, `class="was"`) || !strings.Contains(page, "version 1") {
		t.Errorf("%s\n%s", two, inside(page))
	}
	if a := s.post(one, waterValues("why", "again")); a.StatusCode != http.StatusConflict {
		t.Errorf("corrected twice: %d", a.StatusCode)
	}
	if a := s.post(two, form1("do", "withdraw", "key", "a-key-of-a-withdrawal", "why", " ")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") {
		t.Errorf("withdrawn without a why: %d", a.StatusCode)
	}
	last := s.must(two, form1("do", "withdraw", "key", "a-key-of-a-withdrawal", "why", "the wrong vial"))
	if page = s.get(last).body; !strings.Contains(page, "Withdrawn: the wrong vial") || strings.Contains(page, "Keep the correction") {
		t.Errorf("withdrawn:\n%s", inside(page))
	}
	if page = laidOut(s.get(at).body); !strings.Contains(page, "withdrawn: the wrong vial") || strings.Contains(page, `<td data-l="results">1</td>`) {
		t.Errorf("a withdrawn result counts, or is out of sight\n%s", inside(page))
	}
}

// TestRefusedResults: each bad input comes back beside its field with what was typed.
func TestRefusedResults(t *testing.T) {
	s := newSite(t, false)
	at := s.curveInUse()
	for name, c := range map[string]struct{ field, value, want string }{
		"no water":       {"water", " ", "nothing"},
		"no signal":      {"signals", "", "no signal"},
		"a word":         {"signals", "much", "is no number"},
		"dilution":       {"dilution", "thrice", "is no number"},
		"no dilution":    {"dilution", "0", "a factor above 0"},
		"below nothing":  {"dilution", "-2", "a factor above 0"},
		"u of dilution":  {"u_dilution", "100", "below 100 %"},
		"u of lot":       {"u_lot", "-1", "below 100 %"},
		"a yellow word":  {"own_colour", "pale", "is no number"},
		"clear alone":    {"clear", "0.001", "own colour"},
		"no time":        {"taken_at", "noon", "is no time"},
		"a time to come": {"taken_at", "2999-01-01T08:00", "a time to come"},
	} {
		v := waterValues("note", "kept text")
		v.Set(c.field, c.value)
		a := s.post(at+"/read", v)
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, c.want) || !strings.Contains(a.body, `class="wrong"`) || !strings.Contains(a.body, "Not ") {
			t.Errorf("%s: %d, want %q\n%s", name, a.StatusCode, c.want, inside(a.body))
		}
		if c.field == "water" || c.field == "taken_at" {
			if !strings.Contains(a.body, "kept text") || !strings.Contains(a.body, "The water holds") {
				t.Errorf("%s: the answer or what was typed is gone\n%s", name, inside(a.body))
			}
		}
	}
	s.must(at+"/read", waterValues())
	for path, want := range map[string]int{at + "/results/2": 404, at + "/results/x": 404, "/curves/2/results/1": 404, at + "?before=x": 200, at + "?before=1": 200} {
		if a := s.get(path); a.StatusCode != want {
			t.Errorf("%s: %d, want %d", path, a.StatusCode, want)
		}
	}
	if a := s.post("/curves/9/read", waterValues()); a.StatusCode != http.StatusNotFound {
		t.Errorf("a version under another curve: %d", a.StatusCode)
	}
	if a := s.post(at+"/read", waterValues("signals", "0.2")); a.StatusCode != http.StatusConflict {
		t.Errorf("another result under the same key: %d", a.StatusCode)
	}
}

// TestOwnColour: the colour of the water itself is taken off, kept, and there
// again to be corrected.
func TestOwnColour(t *testing.T) {
	s := newSite(t, false)
	at := s.curveInUse()
	v := waterValues("signals", "0.3645 0.3649", "own_colour", "0.031", "clear", "0.001")
	if page := laidOut(s.get(at + "/read?" + v.Encode()).body); !strings.Contains(page, "own colour, 0.03, was taken off once") || !strings.Contains(page, `name="own_colour" value="0.031"`) {
		t.Errorf("read without it:\n%s", inside(page))
	}
	s.must(at+"/read", v)
	page := s.get(at + "/results/1").body
	for _, want := range []string{"Its own colour", "0.031", "clear water 0.001", `value="0.031"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the result does not say %q:\n%s", want, inside(page))
		}
	}
}

// TestResultsArePaged: twenty at a time, and the older ones behind a link.
func TestResultsArePaged(t *testing.T) {
	s := newSite(t, false)
	at := s.curveInUse()
	for i := range 23 {
		s.must(at+"/read", waterValues("key", fmt.Sprintf("a-key-of-this-result-%d", i), "water", fmt.Sprintf("tank %02d", i)))
	}
	page := s.get(at).body
	if n := strings.Count(page, ">tank "); n != 20 || !strings.Contains(page, at+"?before=4#results") {
		t.Errorf("%d on the first page\n%s", n, inside(page))
	}
	if page = s.get(at + "?before=4").body; strings.Count(page, ">tank ") != 3 || strings.Contains(page, "Older results") {
		t.Error("the second page")
	}
}

// TestReadersKeepResults: a reader reads through the version in use, and sees
// and corrects their own results only.
func TestReadersKeepResults(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	at := s.curveInUse()
	s.must(at+"/points", form1("version", "1", "point", "5", "use", "out", "why", "a bubble"))
	reader, other := s.paired(1), s.paired(2)
	if a := reader.get("/"); !strings.Contains(a.body, "/read?with=curve-1") {
		t.Errorf("nothing leads a reader to the curve\n%s", inside(a.body))
	}
	if a := reader.get(at + "/read?signals=0.3"); a.StatusCode != 200 || !strings.Contains(a.body, "version 1, in use") || strings.Contains(a.body, `href="/curves`) {
		t.Errorf("a reader reads: %d\n%s", a.StatusCode, inside(a.body))
	}
	if a := reader.get(at + "/read?version=2&signals=0.3"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a reader reads through a version not in use: %d", a.StatusCode)
	}
	one := reader.must(at+"/read", waterValues("water", "w"+script, "note", script))
	if a := reader.get(one); a.StatusCode != 200 || !strings.Contains(a.body, "Keep the correction") || strings.Contains(a.body, "<script>alert") || !strings.Contains(a.body, "&lt;script&gt;") {
		t.Errorf("their own: %d\n%s", a.StatusCode, inside(a.body))
	}
	if page := s.get(at).body; strings.Contains(page, "<script>alert") || !strings.Contains(page, "&lt;script&gt;") {
		t.Error("script on the curve’s page")
	}
	if a := other.get(one); a.StatusCode != http.StatusForbidden {
		t.Errorf("another’s: %d", a.StatusCode)
	}
	if a := other.post(one, waterValues("why", "mine now")); a.StatusCode != http.StatusForbidden {
		t.Errorf("another corrects it: %d", a.StatusCode)
	}
	if a := reader.get(at); a.StatusCode != http.StatusForbidden {
		t.Errorf("a reader sees the curve’s points: %d", a.StatusCode)
	}
	if a := s.as().post(at+"/read", waterValues()); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("nobody keeps: %d", a.StatusCode)
	}
	reader.must(one, waterValues("key", "a-key-of-a-correction-1", "why", "digits swapped"))
}

// TestNoWaterGivesIt: a signal beyond the blank's scatter is less than nothing, in the
// unit as people write it.
func TestNoWaterGivesIt(t *testing.T) {
	s := newSite(t, false)
	v := curveValues()
	v.Set("unit", "umol/L")
	at := s.must("/curves/new", v)
	if page := s.get(at + "/read?version=1&signals=-0.5").body; !strings.Contains(page, "<b>less than nothing</b>") || strings.Contains(page, "below 0<") {
		t.Errorf("-0.5 reads:\n%s", inside(page))
	}
	v.Set("points", "level;signal\n0;0.010\n0;0.012\n1;0.110\n1;0.112\n2;0.210\n2;0.209\n4;0.42\n4;0.41\n8;0.62\n8;0.61\n16;0.63\n16;0.62\n")
	v.Set("shape", "quadratic")
	flat := s.must("/curves/new", v)
	if page := s.get(flat + "/read?version=2&signals=0.62").body; !strings.Contains(page, "<b>at least ") {
		t.Errorf("a saturated signal reads:\n%s", inside(page))
	}
	for _, path := range []string{at, at + "/read?version=1&signals=0.3", at + "/recheck", at + "/table"} {
		if page := s.get(path).body; !strings.Contains(page, "µmol/L") || strings.Contains(page, "umol/L") {
			t.Errorf("%s: the unit as it is typed:\n%s", path, inside(page))
		}
	}
}
