package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// query puts values into an address.
func query(pairs ...string) string { return "?" + form1(pairs...).Encode() }

// The curve of the tests gives 0.012 at a blank, 0.3947 at 6 and 0.6068 at 10.
func TestRecheckSaysWhetherACurveHolds(t *testing.T) {
	s := newSite(t, false)
	at := s.must("/curves/new", curveValues()) + "/recheck"
	if page := s.get(strings.TrimSuffix(at, "/recheck")).body; !strings.Contains(page, `href="`+at+`?version=1"`) {
		t.Errorf("the curve does not lead to its re-check\n%s", inside(page))
	}
	if a := s.get(at); a.StatusCode != http.StatusOK || strings.Contains(a.body, `id="verdict"`) || !strings.Contains(a.body, `name="margin" type="text" value="5"`) {
		t.Errorf("before anything is typed: %d\n%s", a.StatusCode, inside(a.body))
	}
	for name, c := range map[string]struct {
		query string
		wants []string
	}{
		"as it was":         {query("blank", "0,012 0.0125", "level_1", "6", "signals_1", "0.3947 0.395", "margin", "5"), []string{"It holds.", "within 5 %", `class="m-est within"`, "it stands"}},
		"a lower slope":     {query("blank", "0.012 0.0121", "level_1", "6", "u_1", "0.02", "signals_1", "0.3586 0.3590", "level_3", "10", "u_3", "0.03", "signals_3", "0.5671 0.5675", "margin", "5"), []string{"a slope update is enough", "the knowns agree", `class="m-est outside"`}},
		"one known":         {query("blank", "0.012", "level_2", "6", "signals_2", "0.3588", "margin", "5"), []string{"a slope update is enough", "Test one more known near the top"}},
		"the blank moved":   {query("blank", "0.05;0.05", "level_1", "6", "signals_1", "0.3947", "margin", "5"), []string{"make a new curve", "The blank has moved", "it has moved"}},
		"knowns disagree":   {query("blank", "0.012", "level_1", "4", "signals_1", "0.2728", "level_2", "10", "signals_2", "0.50", "margin", "5"), []string{"make a new curve", "do not agree"}},
		"a margin too fine": {query("blank", "0.012", "level_1", "6", "signals_1", "0.3947", "margin", "0.1"), []string{"Undecided.", "More replicates"}},
	} {
		a := s.get(at + c.query)
		if a.StatusCode != http.StatusOK {
			t.Errorf("%s: %d\n%s", name, a.StatusCode, inside(a.body))
		}
		for _, want := range c.wants {
			if !strings.Contains(a.body, want) {
				t.Errorf("%s: no %q\n%s", name, want, inside(a.body))
			}
		}
	}
}

func TestRecheckRefusesBesideTheField(t *testing.T) {
	s := newSite(t, false)
	at := s.must("/curves/new", curveValues()) + "/recheck"
	for name, c := range map[string]struct{ query, field, want string }{
		"nothing":          {query("blank", ""), "blank", "no signal"},
		"no known":         {query("blank", "0.012"), "level_1", "no known"},
		"a word":           {query("blank", "0.012", "level_1", "6", "signals_1", "much"), "signals_1", "“much” is no number"},
		"no signal":        {query("blank", "0.012", "level_2", "6"), "signals_2", "no signal"},
		"no level":         {query("blank", "0.012", "level_2", "", "signals_2", "0.39"), "level_2", "above 0 and up to"},
		"beyond the range": {query("blank", "0.012", "level_1", "60", "signals_1", "0.39"), "level_1", "up to 12, where the curve ends"},
		"u above level":    {query("blank", "0.012", "level_1", "6", "u_1", "7", "signals_1", "0.39"), "u_1", "smaller than the level"},
		"a margin":         {query("blank", "0.012", "level_1", "6", "signals_1", "0.39", "margin", "200"), "margin", "below 100 %"},
	} {
		a := s.get(at + c.query)
		if a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, c.field, c.want) {
			t.Errorf("%s: %d, want %q beside %s\n%s", name, a.StatusCode, c.want, c.field, inside(a.body))
		}
		typed, _ := url.ParseQuery(c.query[1:])
		for field, v := range typed {
			if v[0] != "" && !strings.Contains(a.body, `name="`+field+`" type="text" value="`+v[0]+`"`) {
				t.Errorf("%s: %s lost what was typed", name, field)
			}
		}
	}
	if a := s.get(at + query("blank", "0.012", "level_1", "6", "signals_1", "9")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "nowhere on the curve") {
		t.Errorf("a signal off the curve: %d\n%s", a.StatusCode, inside(a.body))
	}
	for _, path := range []string{"/curves/99/recheck", at + "?version=99"} {
		if a := s.get(path); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.StatusCode)
		}
	}
}

// beside says whether the fault stands under its field.
func beside(page, field, want string) bool {
	_, after, found := strings.Cut(page, ` name="`+field+`"`)
	if !found {
		return false
	}
	after, _, _ = strings.Cut(after, "<label")
	return strings.Contains(after, want)
}

// TestRecheckIsKept: alone, and as the next version of the curve.
func TestRecheckIsKept(t *testing.T) {
	s := newSite(t, false)
	curve := s.must("/curves/new", curveValues())
	at := curve + "/recheck"
	lower := []string{"version", "1", "blank", "0.012 0.0121", "level_1", "6", "u_1", "0.02", "signals_1", "0.3586 0.3590", "level_3", "10", "u_3", "0.03", "signals_3", "0.5671 0.5675", "margin", "5"}
	page := s.get(at + query(lower...)).body
	for _, want := range []string{"Make the next version of it", `name="why" type="text" value="Re-check of version 1: a slope update is enough."`, `type="hidden" name="signals_3" value="0.5671 0.5675"`} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q\n%s", want, inside(page))
		}
	}
	holds := form1("version", "1", "blank", "0.012", "level_1", "6", "signals_1", "0.3947", "margin", "5")
	if to := s.must(at, holds); !strings.HasSuffix(to, "?version=1#kept") {
		t.Errorf("kept alone leads to %s", to)
	}
	update := func(pairs ...string) url.Values { return form1(append(append([]string{}, lower...), pairs...)...) }
	if a := s.post(at, update("update", "yes", "why", " ")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "Not kept yet") || !strings.Contains(a.body, "no reason") || !strings.Contains(a.body, `id="verdict"`) {
		t.Errorf("an update without a why: %d\n%s", a.StatusCode, inside(a.body))
	}
	if to := s.must(at, update("update", "yes", "why", "the lamp is weaker")); to != curve {
		t.Errorf("an update leads to %s", to)
	}
	page = s.get(curve).body
	for _, want := range []string{"Version 2 reads", "the lamp is weaker", "multiplied by 0.89", "with its re-check"} {
		if !strings.Contains(page, want) {
			t.Errorf("the updated curve does not say %q\n%s", want, inside(page))
		}
	}
	page = laidOut(s.get(at).body)
	for _, want := range []string{"Newest first", "holds", `made <a href="/curves/1?version=2">version 2</a>`, "0.5671", "the lamp is weaker"} {
		if !strings.Contains(page, want) {
			t.Errorf("what was kept does not say %q\n%s", want, inside(page))
		}
	}
	if page := s.get(at + query(lower...)).body; strings.Contains(page, "Make the next version") || !strings.Contains(page, "There is a newer version") {
		t.Errorf("an old version may be updated\n%s", inside(page))
	}
	if a := s.post(at, update("update", "yes", "why", "late")); a.StatusCode != http.StatusConflict {
		t.Errorf("an update of an old version: %d", a.StatusCode)
	}
	now := update("update", "yes", "why", "again")
	now.Set("version", "2")
	if a := s.post(at, now); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no slope update to make") || !strings.Contains(a.body, "It holds.") {
		t.Errorf("an update where it holds: %d\n%s", a.StatusCode, inside(a.body))
	}
	if a := s.post(at, update("blank", "much")); a.StatusCode != http.StatusSeeOther { // the first blank counts
		t.Errorf("a second blank field: %d", a.StatusCode)
	}
	bad := update()
	bad.Set("signals_1", "0.36 much")
	if a := s.post(at, bad); a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, "signals_1", "“much” is no number") || strings.Contains(a.body, `id="verdict"`) {
		t.Errorf("a word among signals: %d\n%s", a.StatusCode, inside(a.body))
	}
	bad.Set("version", "99")
	if a := s.post(at, bad); a.StatusCode != http.StatusNotFound {
		t.Errorf("no such version: %d", a.StatusCode)
	}
}

// TestChangesAfterASlopeUpdate: it stays where the fit stays, and goes with
// another fit, and the page says so.
func TestChangesAfterASlopeUpdate(t *testing.T) {
	s := newSite(t, false)
	v := curveValues()
	curve := s.must("/curves/new", v)
	s.must(curve+"/recheck", form1("version", "1", "blank", "0.012 0.0121", "level_1", "6", "signals_1", "0.3586 0.3590", "margin", "5", "update", "yes", "why", "weaker"))
	if page := s.get(curve + "/change").body; !strings.Contains(page, "Its slope was multiplied by 0.89") {
		t.Errorf("the form of a change does not tell\n%s", inside(page))
	}
	v.Set("lot", "R8")
	v.Set("why", "new bottle")
	s.must(curve+"/change", v)
	if page := s.get(curve).body; !strings.Contains(page, "Version 3 reads") || !strings.Contains(page, "multiplied by 0.89") {
		t.Errorf("another lot undid the slope\n%s", inside(page))
	}
	v.Set("shape", "cubic")
	v.Set("why", "to compare")
	s.must(curve+"/change", v)
	if page := s.get(curve).body; !strings.Contains(page, "Version 4 reads") || strings.Contains(page, "multiplied by 0.89") || !strings.Contains(page, "without the slope update") {
		t.Errorf("another fit took the slope along, or said nothing\n%s", inside(page))
	}
}

func TestRecheckRolesAndScript(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	curve := s.must("/curves/new", curveValues())
	s.must(curve+"/recheck", form1("version", "1", "blank", "0.012", "level_1", "6", "signals_1", "0.3588", "margin", "5", "update", "yes", "why", script))
	bad := form1("version", "1", "blank", script, "level_1", script, "signals_1", script, "margin", script, "why", script)
	q := curve + "/recheck?" + bad.Encode()
	for path, page := range map[string]string{"kept": s.get(curve + "/recheck").body, "refused": s.post(curve+"/recheck", bad).body, "asked": s.get(q).body} {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") || !strings.Contains(page, "&lt;script&gt;") {
			t.Errorf("%s: script came through, or is nowhere\n%s", path, inside(page))
		}
	}
	reader, nobody := s.paired(1), s.as()
	if a := reader.get(q); a.StatusCode != http.StatusForbidden {
		t.Errorf("reader: %d", a.StatusCode)
	}
	if a := reader.post(curve+"/recheck", bad); a.StatusCode != http.StatusForbidden {
		t.Errorf("reader posts: %d", a.StatusCode)
	}
	if a := nobody.get(q); a.StatusCode != http.StatusSeeOther {
		t.Errorf("nobody: %d", a.StatusCode)
	}
}
