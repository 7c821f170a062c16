package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"knownwater"
)

var fieldValue = regexp.MustCompile(`<(?:input|textarea) id="([a-z_]+)"[^>]*?(?: value="([^"]*)"[^>]*>|>([^<]*)</textarea>)`)

// TestCurveFromTrial goes from a finished trial of an absorbance method to a curve
// by the links and the form that the pages give.
func TestCurveFromTrial(t *testing.T) {
	s := newSite(t, false)
	for _, name := range []string{"Ines", "Tomo"} {
		s.must("/people", form1("name", name, "role", "reader"))
	}
	s.must("/methods/new", form1("name", "Bench absorbance", "kind", "absorbance", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "resolution", "0.001", "steps", "read, within 5 min"))
	s.must("/methods/1/lots", form1("code", "R7", "opened_on", "2026-03-01", "expires_on", "2099-08-31", "tests", "99"))
	v := form1("title", "Salt or not", "question", "Which curve?", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "salinity", "35", "temperature", "25",
		"sessions", "1", "replicates", "3", "blanks", "3", "readers", "1", "readers", "2", "methods", "1", "together_1", "yes", "sigma0_1", "0.002", "kappa_1", "1", "do", "seal")
	for i, level := range []float64{0, 1, 2, 4, 6, 8, 12} {
		v.Set(fmt.Sprint("known_level_", i), fmt.Sprint(level))
		v.Set(fmt.Sprint("known_u_", i), fmt.Sprint(0.005+0.004*level))
	}
	v.Set("known_blank_0", "yes")
	trial := s.must(s.must("/trials", form1("title", "Salt or not")), v)
	if strings.Contains(s.get("/curves").body, "Make a curve of it") {
		t.Error("a trial that is not finished offers its readings")
	}
	if a := s.get("/curves/new?trial=1&method=1"); a.StatusCode != http.StatusConflict {
		t.Errorf("a trial that runs: %d", a.StatusCode)
	}

	// both readers read every vial; who knows the truth is this test only
	levels := s.truth()
	run := 0
	for person := int64(1); person <= 2; person++ {
		r, err := s.bench.Run(context.Background(), knownwater.Who{Person: person, Name: "x", Role: knownwater.Owner}, 1, 1)
		if err != nil {
			t.Fatal(err)
		}
		s.must("/me", form1("person", fmt.Sprint(person)))
		for i, x := range r.Vials {
			c := levels[x.Code]
			text := fmt.Sprintf("%.3f", 0.012+0.068*c-0.0007*c*c+0.001*float64((i+int(person))%3-1))
			if person == 1 && i == 4 {
				text = "<0.001" // no signal that a curve can take
			}
			entry := fmt.Sprintf(`{"entries":[{"kind":"keep","reader":%d,"key":"0123456789abcdef%04d","vial":%d,"text":"%s","read_at":"2026-03-01T10:00:00Z"}]}`, person, run, x.ID, text)
			if a := s.do(s.request("POST", trial+"/entries", "application/json", entry)); a.StatusCode != 200 || strings.Contains(a.body, "refused") {
				t.Fatalf("reading: %d %s", a.StatusCode, a.body)
			}
			run++
		}
	}
	s.must(trial+"/key", form1("why", "all read"))
	s.must(trial+"/finish", form1())

	if page := s.get("/curves").body; !strings.Contains(page, "Make a curve of it") || !strings.Contains(page, `href="/curves/new?trial=1&amp;method=1"`) {
		t.Fatalf("the finished trial is not offered\n%s", inside(page))
	}
	page := s.get("/curves/new?trial=1&method=1").body
	if !strings.Contains(page, "1 reading of the trial not taken over") {
		t.Errorf("nothing says what was not taken over\n%.900s", inside(page))
	}
	form := url.Values{}
	for _, m := range fieldValue.FindAllStringSubmatch(page, -1) {
		form.Set(m[1], strings.ReplaceAll(strings.ReplaceAll(m[2]+m[3], "&#34;", `"`), "&#43;", "+"))
	}
	if form.Get("name") != "Bench absorbance" || form.Get("lot") != "" && form.Get("lot") != "R7" || !strings.Contains(form.Get("note"), "read more than once") {
		t.Errorf("the form holds %v", form)
	}
	if n := strings.Count(form.Get("points"), "\n") - 1; n != len(levels) {
		t.Errorf("%d points of %d vials", n, len(levels))
	}
	for name, value := range map[string]string{"analyte": "nitrate", "signal": "absorbance", "source": "trial “Salt or not”"} {
		if !regexp.MustCompile(regexp.QuoteMeta(value)).MatchString(page) {
			t.Errorf("%s is not %s", name, value)
		}
		form.Set(name, value)
	}
	at := s.must("/curves/new", form)
	page = s.get(at).body
	for _, want := range []string{"Version 1 reads nitrate", "trial “Salt or not”", "No known was held out", "7 knowns, 21 vials"} {
		if !strings.Contains(page, want) {
			t.Errorf("the curve does not say %q\n%.2500s", want, inside(page))
		}
	}
	if a := s.get("/curves/new?trial=1&method=2"); a.StatusCode != http.StatusNotFound {
		t.Errorf("a method that the trial has not: %d", a.StatusCode)
	}
}

// truth is the level of each vial, by its code, of the only trial, as its owner finds it on the
// preparation list.
func (s *site) truth() map[string]float64 {
	s.t.Helper()
	list, err := s.bench.PrepList(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, 1)
	if err != nil {
		s.t.Fatal(err)
	}
	out := map[string]float64{}
	for _, row := range list {
		for _, session := range row.Sessions {
			for _, v := range session.Vials {
				out[v.Code] = row.Known.Level
			}
		}
	}
	return out
}
