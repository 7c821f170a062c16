package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// curvePoints are absorbances bent a little; 3 and 9 are held out. All invented.
func curvePoints() string { return curvePointsOf(1) }

// curvePointsOf are the same signals on knowns that hold more by a factor.
func curvePointsOf(factor float64) string {
	off := []float64{0.0011, -0.0008, 0.0003, -0.0012, 0.0009, 0.0002, -0.0005, 0.0013, -0.001}
	out, n := "level;signal;u_level;role\n", 0
	for _, level := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 9, 12} {
		for range 3 {
			out += fmt.Sprintf("%g;%.4f;%.3f;%s\n", factor*level, 0.012+0.068*level-0.0007*level*level+off[n%len(off)], 0.005+0.004*level, map[bool]string{true: "check", false: "fit"}[level == 3 || level == 9])
			n++
		}
	}
	return out
}

func curveValues() url.Values {
	return form1("name", "bench photometer", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "signal", "absorbance", "points", curvePoints(), "lot", "R7", "matrix", "salt mix, salinity 35", "valid_until", "2099-12-31")
}

// TestCurveInBrowser: from nothing to a curve in use, and a signal read back.
func TestCurveInBrowser(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	if a := s.get("/curves"); !strings.Contains(a.body, "No curve is kept yet") || !strings.Contains(a.body, "New curve") {
		t.Errorf("an empty list: %d\n%s", a.StatusCode, inside(a.body))
	}
	v := curveValues()
	v.Set("need", "1")
	at := s.must("/curves/new", v)
	page := s.get(at).body
	for _, want := range []string{"Version 1 reads nitrate in salt mix from 0 to", "Judged by 2 knowns", `class="m-held"`, "can’t judge", `word within`, "stray light", "not in use",
		"The least sure of them, at ", " low and ", `class="m-range"`, ">held out, 3</text>", ">held out, 9</text>", `<span class="sign"><svg`, "2 of 2 <span class=\"word within\">within</span>", "none seen, p = ", "2 knowns, 6 vials", "8 knowns, 24 vials", "goes from the lowest fitted known to", `detection limit</a>)`} {
		if !strings.Contains(page, want) {
			t.Errorf("the curve does not say %q\n%s", want, inside(page))
		}
	}
	if a := s.post(at+"/points", form1("version", "1", "point", "5", "use", "out", "why", "")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") || !strings.Contains(a.body, `value="5" selected`) {
		t.Errorf("left out without a reason: %d\n%s", a.StatusCode, inside(a.body))
	}
	s.must(at+"/points", form1("version", "1", "point", "5", "use", "out", "why", "a bubble"))
	page = s.get(at).body
	for _, want := range []string{"Version 2 reads", "23 vials", "a bubble", `class="m-gone"`, ">left out, 0.5</text>", "Version 2 in place of version 1: From 0.5 to 8"} {
		if !strings.Contains(page, want) {
			t.Errorf("the second version does not say %q\n%s", want, inside(page))
		}
	}
	s.must(at+"/adopt", form1("version", "2"))
	if page = s.get(at).body; !strings.Contains(page, "2, in use") || !strings.Contains(s.get("/curves").body, "version 2, in use") {
		t.Error("it is not said to be in use")
	}
	if a := s.post(at+"/adopt", form1("version", "1")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") {
		t.Errorf("another in its place without a why: %d", a.StatusCode)
	}
	a := s.get(at + "/read?signals=0.3345+0%2C3345")
	m := regexp.MustCompile(`<b>(4\.9[789]\d|5\.0[012]\d) mg/L NO3 \((4\.\d+) to (5\.\d+)\)</b>`).FindStringSubmatch(a.body)
	if a.StatusCode != 200 || m == nil { // 0.012 + 0.068·5 − 0.0007·25 = 0.3345
		t.Errorf("the signal of 5: %d\n%s", a.StatusCode, inside(a.body))
	}
	for query, want := range map[string]string{"signals=2": "above", "signals=-0.2": "below", "signals=0.3&dilution=8": "taken as exact"} {
		if a := s.get(at + "/read?" + query); a.StatusCode != 200 || !strings.Contains(a.body, want) {
			t.Errorf("%s: %d, no %q\n%s", query, a.StatusCode, want, inside(a.body))
		}
	}
	for _, query := range []string{"signals=", "signals=much", "signals=0.3&dilution=-2", "signals=0.3&u_lot=200"} {
		if a := s.get(at + "/read?" + query); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `class="wrong"`) {
			t.Errorf("%s: %d", query, a.StatusCode)
		}
	}
	if a := s.get(at + "/table?pairs=6"); a.StatusCode != 200 || strings.Count(a.body, `type="checkbox"`) != 6 || !strings.Contains(a.body, "It should show") {
		t.Errorf("a table of 6 pairs: %d\n%s", a.StatusCode, inside(a.body))
	}
	if a := s.get(at + "/table?order=3"); a.StatusCode != 200 || strings.Count(a.body, `type="checkbox"`) != 4 {
		t.Errorf("coefficients: %d\n%s", a.StatusCode, inside(a.body))
	}
	if a := s.get(at + "/table?pairs=1"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("one pair: %d", a.StatusCode)
	}
	if page = s.get(at + "/change").body; !strings.Contains(page, "0.5;") || !strings.Contains(page, "as kept in the curve") {
		t.Error("the change form is not filled")
	}
	s.must(at+"/retire", form1("retired", "yes"))
	if !strings.Contains(s.get("/curves").body, "put away") {
		t.Error("nothing says that it was put away")
	}
	for _, path := range []string{"/curves/99", "/curves/x/read", at + "?version=99", "/curves/new?trial=99&method=1"} {
		if a := s.get(path); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.StatusCode)
		}
	}
}

// TestRefusedCurves: what was typed stands there, with the line at fault.
func TestRefusedCurves(t *testing.T) {
	s := newSite(t, false)
	for name, c := range map[string]struct{ points, want string }{
		"bare rows with a word": {"0 0.01\n2 0.15\n4 much", "line 3: signal"},
		"one level":             {"2 0.15\n2 0.16\n2 0.14", "all 3 points of the fit are at one level"},
		"nothing":               {"", "no points"},
		"no such columns":       {"height;width\n1;2", "level"},
	} {
		v := curveValues()
		v.Set("points", c.points)
		v.Set("note", "kept text")
		a := s.post("/curves/new", v)
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, c.want) || !strings.Contains(a.body, "kept text") || !strings.Contains(a.body, `class="wrong"`) || !strings.Contains(a.body, c.points) {
			t.Errorf("%s: %d, want %q\n%s", name, a.StatusCode, c.want, inside(a.body))
		}
	}
	v := curveValues()
	v.Set("points", "0 0,010\n0 0,012\n2 0,151\n2 0,149\n4 0,290\n4 0,288 check")
	if page := s.get(s.must("/curves/new", v)).body; !strings.Contains(page, "Version 1 reads") {
		t.Errorf("bare rows with commas:\n%s", inside(page))
	}
}

func TestCurveRolesAndScript(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	v := curveValues()
	for _, k := range []string{"name", "lot", "matrix", "note", "source"} {
		v.Set(k, k+script)
	}
	at := s.must("/curves/new", v)
	s.must(at+"/points", form1("version", "1", "point", "5", "use", "out", "why", script))
	bad := clone(v)
	for k := range bad {
		bad.Set(k, script)
	}
	pages := map[string]string{"refused": s.post("/curves/new", bad).body, "refused point": s.post(at+"/points", form1("version", "2", "point", script, "use", script, "why", script)).body}
	reader, nobody := s.paired(1), s.as()
	q := url.QueryEscape(script)
	for _, path := range []string{"/", "/curves", "/curves/new", at, at + "?point=" + q, at + "/change", at + "/read", at + "/read?signals=" + q + "&dilution=" + q, at + "/table", at + "/table?pairs=" + q} {
		pages[path] = s.get(path).body
		if a := reader.get(path); path != "/" && a.StatusCode != http.StatusForbidden {
			t.Errorf("reader, %s: %d", path, a.StatusCode)
		}
		if a := nobody.get(path); a.StatusCode != http.StatusSeeOther {
			t.Errorf("nobody, %s: %d", path, a.StatusCode)
		}
	}
	for _, path := range []string{"/curves/new", at + "/change", at + "/points", at + "/adopt", at + "/retire"} {
		if a := reader.post(path, v); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader posts %s: %d", path, a.StatusCode)
		}
	}
	for path, page := range pages {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") {
			t.Errorf("%s: script came through unescaped", path)
		}
	}
	if !strings.Contains(pages[at], "&lt;script&gt;") {
		t.Error("the script is nowhere: the test shows nothing")
	}
}

// TestSaturatedAndDiluted: saturated knowns stand aside and say so; every dilution
// has its curve in the title block.
func TestSaturatedAndDiluted(t *testing.T) {
	s := newSite(t, false)
	v := curveValues()
	v.Set("points", "level;signal\n0;0.010\n0;0.012\n1;0.110\n1;0.112\n2;0.210\n2;0.209\n4;0.42\n4;0.41\n8;0.62\n8;0.61\n16;0.63\n16;0.62\n")
	page := s.get(s.must("/curves/new", v)).body
	for _, want := range []string{"from 0 to 4 mg/L", "Saturated: above 8 ", "above 4 it isn’t used", ">left out, 16</text>", "saturated, not fitted", "4 knowns, 8 vials", "to the highest fitted known"} {
		if !strings.Contains(page, want) {
			t.Errorf("saturated knowns: the page does not say %q\n%s", want, inside(page))
		}
	}
	points := "level;signal;dilution\n"
	for i, level := range []float64{0, 1, 2, 4, 8, 0, 16, 32, 48, 64} {
		by := map[bool]float64{true: 1, false: 8}[i < 5]
		for k := range 2 {
			points += fmt.Sprintf("%g;%.4f;%g\n", level, 0.01+0.1*level/by+0.001*float64((i+k)%3), by)
		}
	}
	v = curveValues()
	v.Set("points", points)
	page = s.get(s.must("/curves/new", v)).body
	for _, want := range []string{"from 0 to 8 mg/L, diluted 8 times to 64", "Diluted 8 times, 0 to 64"} {
		if !strings.Contains(page, want) {
			t.Errorf("two dilutions: the page does not say %q\n%s", want, inside(page))
		}
	}
}
