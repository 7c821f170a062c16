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
