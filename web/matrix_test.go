package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// water are knowns in a water that shows share of the slope and a shift of its own;
// all invented.
func water(share, shift float64) string {
	off := []float64{0.0011, -0.0008, 0.0003, -0.0012, 0.0009, 0.0002, -0.0005, 0.0013, -0.001}
	out, n := "", 0
	for _, level := range []float64{0, 1, 2, 4, 8, 12} {
		for range 3 {
			c := share*level + shift
			out += fmt.Sprintf("%g %.4f\n", level, 0.012+0.068*c-0.0007*c*c+off[n%len(off)])
			n++
		}
	}
	return out
}

func waters(first, second string) url.Values {
	return form1("first", first, "second", second, "signal", "absorbance", "margin", "5")
}

func TestMatrixTellsSlopeAndShiftApart(t *testing.T) {
	s := newSite(t, false)
	if page := s.get("/curves").body; !strings.Contains(page, `href="/curves/matrix"`) || !strings.Contains(page, `href="/curves/additions"`) {
		t.Error("the list of curves does not lead there")
	}
	if a := s.get("/curves/matrix"); a.StatusCode != http.StatusOK || strings.Contains(a.body, `id="verdict"`) || !strings.Contains(a.body, `value="5"`) {
		t.Errorf("before anything: %d", a.StatusCode)
	}
	for name, c := range map[string]struct {
		share, shift float64
		margin       string
		wants        []string
		never        string
	}{
		"nothing":   {1, 0, "5", []string{"The slope is the same in both waters.", "No constant shift is seen", `class="m-est within"`}, "standard additions cure it"},
		"a slope":   {0.85, 0, "5", []string{"The water changes the slope.", "85.", "standard additions cure it too", `class="m-est outside"`}, "comes on top"},
		"a shift":   {1, 0.5, "5", []string{"The slope is the same in both waters, but it shifts every reading alike.", "Standard additions do not cure it"}, "proportional"},
		"both":      {0.85, 0.5, "5", []string{"The water changes the slope, and it shifts every reading alike.", "comes on top"}, "is the same"},
		"undecided": {1, 0, "0.01", []string{"Undecided whether the water changes the slope.", "would settle it", `class="m-est undecided"`}, "is the same"},
	} {
		v := waters(water(1, 0), water(c.share, c.shift))
		v.Set("margin", c.margin)
		a := s.post("/curves/matrix", v)
		if a.StatusCode != http.StatusOK || strings.Contains(a.body, c.never) {
			t.Errorf("%s: %d\n%s", name, a.StatusCode, inside(a.body))
		}
		for _, want := range append(c.wants, `class="m-second"`, `class="m-held"`, "12 0.", `id="row-offset-t"`) {
			if !strings.Contains(a.body, want) {
				t.Errorf("%s: no %q\n%s", name, want, inside(a.body))
			}
		}
	}
	percent := regexp.MustCompile(`(?m)^(\S+) (\S+)$`).ReplaceAllString("0 97\n0 97.2\n2 71\n2 71.3\n4 52\n4 52.2\n8 28\n8 28.1", "$1 $2")
	v := waters(percent, percent)
	v.Set("signal", "percent")
	if a := s.post("/curves/matrix", v); a.StatusCode != http.StatusOK || !strings.Contains(a.body, "is the same in both waters") {
		t.Errorf("transmittances: %d\n%s", a.StatusCode, inside(a.body))
	}
	far := waters(water(1, 0), water(1, 0)+"60 3\n60 3.1\n")
	if a := s.post("/curves/matrix", far); a.StatusCode != http.StatusOK || !strings.Contains(a.body, "2 points beyond the range") {
		t.Errorf("points beyond the range: %d\n%s", a.StatusCode, inside(a.body))
	}
}

func TestMatrixRefusesBesideTheField(t *testing.T) {
	s := newSite(t, false)
	good := water(1, 0)
	for name, c := range map[string]struct{ field, value, want string }{
		"nothing":    {"second", "", "no points"},
		"a word":     {"second", "0 0.01\n2 much\n4 0.3", "line 2: signal"},
		"no columns": {"first", "height;width\n1;2", "level"},
		"one level":  {"first", "2 0.1\n2 0.11\n2 0.12", "at one level"},
		"flat":       {"second", "0 0.1\n2 0.1\n4 0.1", "the signal is the same"},
		"too few":    {"second", "0 0.01\n", "at one level"},
		"a signal":   {"signal", "spoon", "“spoon”"},
		"no share":   {"margin", "0", "above 0 and below 100 %"},
		"a margin":   {"margin", "much", "“much” is no number"},
		"too many":   {"first", strings.Repeat("4 0.1\n", 2001), "at most 2000"},
	} {
		v := waters(good, good)
		v.Set(c.field, c.value)
		a := s.post("/curves/matrix", v)
		if a.StatusCode != http.StatusUnprocessableEntity || strings.Contains(a.body, `id="verdict"`) || c.want != "" && !beside(a.body, c.field, c.want) {
			t.Errorf("%s: %d, want %q beside %s\n%.4000s", name, a.StatusCode, c.want, c.field, inside(a.body))
		}
		if !strings.Contains(a.body, "12 0.") || c.field != "signal" && !strings.Contains(a.body, c.value) {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	v := waters("0 97\n2 250\n4 50", "0 97\n2 70\n4 -50")
	v.Set("signal", "percent")
	if a := s.post("/curves/matrix", v); a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, "first", "line 2: signal: 250 is no transmittance") || !beside(a.body, "second", "line 3: signal: -50 is no transmittance") {
		t.Errorf("no transmittances: %d\n%s", a.StatusCode, inside(a.body))
	}
}

func TestAdditionsSayWhatAWaterHolds(t *testing.T) {
	s := newSite(t, false)
	curve := s.must("/curves/new", curveValues())
	s.must(curve+"/adopt", form1("version", "1"))
	page := laidOut(s.get("/curves/additions").body)
	if !strings.Contains(page, `<option value="1">bench photometer, version 1</option>`) || strings.Contains(page, `id="result"`) {
		t.Errorf("before anything\n%s", inside(page))
	}
	points := func(share float64) string { // 3 in it already
		out := ""
		for i, x := range []float64{0, 0, 2, 2, 4, 4, 6, 6} {
			out += fmt.Sprintf("%g %.4f\n", x, 0.012+0.064*share*(x+3)+0.0008*float64(i%3-1))
		}
		return out
	}
	v := form1("points", points(1), "signal", "absorbance", "zero", "0.012", "u_zero", "0.0005")
	a := s.post("/curves/additions", v)
	if m := regexp.MustCompile(`<b>(2\.9\d*|3\.0\d*), (2\.\d+) to (3\.\d+)</b>`).FindString(a.body); a.StatusCode != http.StatusOK || m == "" || !strings.Contains(a.body, `class="m-est plain"`) || strings.Contains(a.body, "what the curve expects") {
		t.Errorf("%d\n%s", a.StatusCode, inside(a.body))
	}
	if !strings.Contains(a.body, "If the method answers in a straight line: <b>") {
		t.Errorf("no condition\n%s", inside(a.body))
	}
	curved := func(share float64) string { // as that curve bends
		out := ""
		for i, x := range []float64{0, 0, 2, 2, 4, 4, 6, 6} {
			c := share * (x + 3)
			out += fmt.Sprintf("%g %.4f\n", x, 0.012+0.068*c-0.0007*c*c+0.0008*float64(i%3-1))
		}
		return out
	}
	v.Set("curve", "1")
	v.Set("points", curved(1))
	if a := s.post("/curves/additions", v); a.StatusCode != http.StatusOK || strings.Contains(a.body, "straight line:") || !regexp.MustCompile(`<b>(2\.9\d*|3\.[01]\d*), `).MatchString(a.body) || !strings.Contains(a.body, "What is added shows") || !strings.Contains(a.body, `id="row-slope-t"`) || !strings.Contains(a.body, `<option value="1" selected>`) {
		t.Errorf("against a curve: %d\n%s", a.StatusCode, inside(a.body))
	}
	v.Set("points", curved(0.7))
	if a := s.post("/curves/additions", v); a.StatusCode != http.StatusOK || !strings.Contains(a.body, "the curve does not hold in this water") {
		t.Errorf("another slope: %d\n%s", a.StatusCode, inside(a.body))
	}
	for name, c := range map[string]struct{ points, want string }{
		"no rise":         {"0 0.2\n0 0.21\n4 0.2\n4 0.21", "does not rise with what was added"},
		"two readings":    {"0 0.2\n4 0.4", "at least 3 readings"},
		"not straight":    {"0 0.1\n0 0.101\n2 0.3\n2 0.301\n4 0.4\n4 0.401\n8 0.45\n8 0.451", "do not lie on a straight line"},
		"no pure water":   {points(1), "was not given"},
		"decimal commas,": {"0 0,204\n0 0,2041\n2 0,3321\n2 0,3324\n4 0,46\n4 0,4604", "was not given"},
	} {
		a := s.post("/curves/additions", form1("points", c.points, "signal", "absorbance"))
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, c.want) {
			t.Errorf("%s: %d, no %q\n%s", name, a.StatusCode, c.want, inside(a.body))
		}
	}
	// Transmittances: 10^−A of the same, in percent; pure water converts alike.
	percent := form1("points", "0 60.95\n0 61\n2 45.4\n2 45.39\n4 33.8\n4 33.81\n6 25.18\n6 25.17", "signal", "percent", "zero", "97.27", "u_zero", "0.1")
	if a := s.post("/curves/additions", percent); a.StatusCode != http.StatusOK || !regexp.MustCompile(`<b>(2\.9\d*|3\.[01]\d*), `).MatchString(a.body) {
		t.Errorf("transmittances: %d\n%s", a.StatusCode, inside(a.body))
	}
}

func TestAdditionsRefuseBesideTheField(t *testing.T) {
	s := newSite(t, false)
	good := form1("points", "0 0.2\n2 0.33\n4 0.46\n6 0.59", "signal", "absorbance", "zero", "0.012", "u_zero", "0.001")
	for name, c := range map[string]struct{ field, value, want string }{
		"nothing":             {"points", "", "no points"},
		"a word":              {"points", "0 0.2\n2 much\n4 0.4", "line 2: signal"},
		"below nothing":       {"points", "0 0.2\n-2 0.1\n4 0.4", "line 2: level"},
		"a kind":              {"signal", "spoon", "“spoon”"},
		"zero a word":         {"zero", "none", "“none” is no number"},
		"u of nothing":        {"zero", "", "that this is the uncertainty of"},
		"u below 0":           {"u_zero", "-1", "from 0 up"},
		"zero beyond measure": {"zero", "1e30", "a signal"},
	} {
		v := clone(good)
		v.Set(c.field, c.value)
		a := s.post("/curves/additions", v)
		if a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, c.field, c.want) || strings.Contains(a.body, `id="result"`) {
			t.Errorf("%s: %d, want %q beside %s\n%s", name, a.StatusCode, c.want, c.field, inside(a.body))
		}
		if c.field != "points" && !strings.Contains(a.body, "6 0.59") || c.field != "signal" && !strings.Contains(a.body, c.value) {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	v := clone(good)
	v.Set("curve", "99")
	if a := s.post("/curves/additions", v); a.StatusCode != http.StatusNotFound {
		t.Errorf("no such curve: %d", a.StatusCode)
	}
	v = clone(good)
	v.Set("signal", "percent")
	v.Set("points", "0 60\n2 45\n4 33")
	v.Set("zero", "0.05")
	v.Set("u_zero", "1")
	if a := s.post("/curves/additions", v); a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, "u_zero", "smaller than the signal") {
		t.Errorf("a u larger than its signal: %d\n%s", a.StatusCode, inside(a.body))
	}
}

func TestWatersRolesAndScript(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	reader, nobody := s.paired(1), s.as()
	for path, v := range map[string]url.Values{"/curves/matrix": form1("first", script, "second", script, "signal", script, "margin", script), "/curves/additions": form1("points", script, "signal", script, "zero", script, "u_zero", script)} {
		a := s.post(path, v)
		if a.StatusCode != http.StatusUnprocessableEntity || strings.Contains(a.body, "<script>alert") || strings.Contains(a.body, "<img src=x") || !strings.Contains(a.body, "&lt;script&gt;") {
			t.Errorf("%s: %d, script came through or is nowhere\n%s", path, a.StatusCode, inside(a.body))
		}
		for _, a := range []answer{reader.get(path), reader.post(path, v)} {
			if a.StatusCode != http.StatusForbidden {
				t.Errorf("reader, %s: %d", path, a.StatusCode)
			}
		}
		if a := nobody.get(path); a.StatusCode != http.StatusSeeOther {
			t.Errorf("nobody, %s: %d", path, a.StatusCode)
		}
	}
}
