package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// TestReadByACurve reads a signal on the page for tonight's reading, looks at it
// beside a need, and keeps it.
func TestReadByACurve(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	if page := s.get("/read").body; !strings.Contains(page, "No calibration is in use yet") {
		t.Errorf("nothing can be read yet\n%s", inside(page))
	}
	s.curveInUse()
	page := laidOut(s.get("/read").body) // one calibration: it is chosen
	for _, want := range []string{`href="/read?with=curve-1" aria-current="true">bench photometer</a>`, `name="reading"`, `name="dilution"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the pad does not say %q\n%s", want, inside(page))
		}
	}
	q := url.Values{"with": {"curve-1"}, "reading": {"0.3345"}}
	page = laidOut(s.get("/read?" + q.Encode()).body)
	for _, want := range []string{"Between 4.9", "most likely 4.9", "mg/L", "Hold a low-nutrient tank, 0.5 to 8: inside with ", "It is inside.", `id="need-0`, "Keep 0.3345"} {
		if !strings.Contains(page, want) {
			t.Errorf("the answer does not say %q\n%s", want, inside(page))
		}
	}
	if strings.Contains(page, "Nobody stated the unit") {
		t.Error("the curve's unit is not known to its answer")
	}
	more := s.get("/read?" + url.Values{"with": {"curve-1"}, "before": {"0.3345"}, "reading": {"0.3349"}}.Encode()).body
	if !strings.Contains(more, "Keep 0.3345, 0.3349") || !strings.Contains(more, "Of this sample already: 0.3345") {
		t.Errorf("two readings of one sample\n%s", inside(more))
	}
	for field, value := range map[string]string{"reading": "blue", "dilution": "-2", "u_dilution": "200"} {
		bad := url.Values{"with": {"curve-1"}, "reading": {"0.3345"}}
		bad.Set(field, value)
		if a := s.get("/read?" + bad.Encode()); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "Not read.") || !strings.Contains(a.body, `class="wrong`) {
			t.Errorf("%s %q: status %d\n%s", field, value, a.StatusCode, inside(a.body))
		}
	}

	key := regexp.MustCompile(`name="key" value="([A-Z0-9]{20,})"`).FindStringSubmatch(page)
	keep := url.Values{"with": {"curve-1"}, "readings": {"0.3345"}, "reader": {""}, "key": {key[1]}}
	if a := s.post("/read", keep); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "Not kept yet.") || !strings.Contains(a.body, "Keep 0.3345") {
		t.Errorf("without a water: status %d\n%s", a.StatusCode, inside(a.body))
	}
	keep.Set("water", "north tank")
	to := s.must("/read", keep)
	if again := s.must("/read", keep); again != to {
		t.Errorf("sent twice it leads to %s and %s", to, again)
	}
	if page := s.get(to).body; !strings.Contains(page, "north tank") || !strings.Contains(page, "4.99") {
		t.Errorf("kept:\n%s", inside(page))
	}
	if a := s.post("/read", url.Values{"with": {"curve-9"}, "readings": {"1"}, "water": {"x"}}); a.StatusCode != http.StatusNotFound {
		t.Errorf("a calibration that is not there: %d", a.StatusCode)
	}
	if a := s.post("/read", url.Values{"with": {"curve-1"}, "water": {"x"}, "key": {"0123456789abcdef0123"}}); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no reading: %d", a.StatusCode)
	}
	for path, page := range map[string]string{"read": s.get("/read?" + url.Values{"with": {"curve-1" + script}, "reading": {script}, "before": {script}, "reader": {script}, "lot": {script}}.Encode()).body} {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") {
			t.Errorf("%s: script came through unescaped", path)
		}
	}
}
