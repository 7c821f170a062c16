package web

import (
	"bytes"
	"fmt"
	"knownwater/web/guard"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// spectraCSV is a colour about 545 nm, 90 nm wide, with something yellow that disturbs
// below it; 0.02 of each is what one vial may be off. All invented.
func spectraCSV() string {
	bell := func(nm, at, width float64) float64 {
		return math.Exp(-4 * math.Ln2 * (nm - at) * (nm - at) / width / width)
	}
	levels := []float64{0, 0, 2, 2, 4, 4, 6, 6, 8, 8}
	out := "wavelength,blank,0"
	for _, c := range levels[2:] {
		out += fmt.Sprintf(",%g", c)
	}
	out += ",yellow water\n"
	off := []float64{0.0021, -0.0018, 0.0007, -0.0012, 0.0019, 0.0002, -0.0015, 0.0013, -0.002, 0.0009, 0.0004, -0.0006, 0.0016}
	n := 0
	for nm := 440.0; nm <= 660; nm += 5 {
		out += fmt.Sprintf("%g", nm)
		for _, c := range levels {
			out += fmt.Sprintf(",%.4f", 0.01+0.15*c*bell(nm, 545, 90)+off[n%len(off)])
			n++
		}
		out += fmt.Sprintf(",%.4f\n", 0.01+0.3*bell(nm, 430, 120))
	}
	return out
}

func TestScanChoosesAndFits(t *testing.T) {
	s := newSite(t, false)
	if page := s.get("/curves").body; !strings.Contains(page, `href="/curves/scan"`) {
		t.Error("the list of curves does not lead to the scan")
	}
	if a := s.get("/curves/scan"); a.StatusCode != http.StatusOK || strings.Contains(a.body, `id="choice"`) {
		t.Errorf("before anything: %d", a.StatusCode)
	}
	a := s.post("/curves/scan", form1("spectra", spectraCSV()))
	m := regexp.MustCompile(`Measure at (5[3-7]\d) nm`).FindStringSubmatch(a.body)
	if a.StatusCode != http.StatusOK || m == nil {
		t.Fatalf("%d\n%s", a.StatusCode, inside(a.body))
	}
	for _, want := range []string{`id="scan-t"`, `class="m-chosen"`, "a source 20 nm wide", "a source 40 nm wide", "yellow water", "10 vials of knowns at 5 levels", "<b>chosen</b>", `name="at" type="text" value="` + m[1] + `"`, "Fit a curve at this wavelength", "540,0.0"} {
		if !strings.Contains(laidOut(a.body), want) {
			t.Errorf("the scan does not say %q\n%s", want, inside(a.body))
		}
	}
	a = s.post("/curves/scan", form1("spectra", spectraCSV(), "at", "500"))
	for _, want := range []string{"Measure at 500 nm", "Best of all would be " + m[1] + " nm", "500 <b>chosen</b>", m[1] + " best"} {
		if !strings.Contains(a.body, want) {
			t.Errorf("at 500: no %q\n%s", want, inside(a.body))
		}
	}
	if a := s.post("/curves/scan", form1("spectra", spectraCSV(), "at", "500", "again", "yes")); !strings.Contains(a.body, "Measure at "+m[1]) {
		t.Error("other spectra are held to the wavelength of the old")
	}

	a = s.post("/curves/scan/curve", form1("spectra", spectraCSV(), "at", "545", "held", "4", "name", "my lamp", "lot", "R7"))
	if a.StatusCode != http.StatusOK {
		t.Fatalf("%d\n%s", a.StatusCode, inside(a.body))
	}
	for _, want := range []string{`action="/curves/new"`, `name="source" value="spectra at 545 nm"`, "Take another wavelength", `value="my lamp"`, `value="R7"`, `option value="absorbance" selected`, `name="held" value="4"`} {
		if !strings.Contains(a.body, want) {
			t.Errorf("the form of the curve: no %q\n%s", want, inside(a.body))
		}
	}
	points := between(a.body, `<textarea id="points"`, "</textarea>")
	points = points[strings.Index(points, ">")+1:]
	if strings.Contains(points, "yellow") || strings.Count(points, "\n") != 11 || strings.Count(points, ";check;") != 2 || !strings.Contains(points, "\n8;1.2") || !strings.Contains(points, ";2;1\n") {
		t.Errorf("points:\n%s", points)
	}
	v := form1("name", "my lamp", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "signal", "absorbance", "points", points, "source", "spectra at 545 nm", "spectra", spectraCSV(), "at", "545")
	v.Set("valid_until", "soon")
	if a := s.post("/curves/new", v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "Take another wavelength") || !strings.Contains(a.body, "540,0.0") {
		t.Errorf("a refused form forgets the spectra: %d", a.StatusCode)
	}
	if a := s.post("/curves/scan", v); a.StatusCode != http.StatusOK || !strings.Contains(a.body, `type="hidden" name="name" value="my lamp"`) || !strings.Contains(a.body, `type="hidden" name="valid_until" value="soon"`) {
		t.Errorf("back to the spectra: %d\n%s", a.StatusCode, inside(a.body))
	}
	v.Del("valid_until")
	if page := s.get(s.must("/curves/new", v)).body; !strings.Contains(page, "from spectra at 545 nm") || !strings.Contains(page, "Judged by 1 known") {
		t.Errorf("the curve:\n%s", inside(page))
	}
}

func between(s, from, to string) string {
	_, s, _ = strings.Cut(s, from)
	s, _, _ = strings.Cut(s, to)
	return s
}

func TestScanTakesFiles(t *testing.T) {
	s := newSite(t, false)
	for name, data := range map[string]string{"lamp.csv": spectraCSV(), "semicolons.csv": strings.NewReplacer(",", ";", ".", ",").Replace(spectraCSV()), "windows.txt": "\xef\xbb\xbf" + strings.ReplaceAll(spectraCSV(), "\n", "\r\n")} {
		a := s.postFile("/curves/scan", name, []byte(data), nil)
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, "Measure at 5") || !strings.Contains(a.body, "yellow water") {
			t.Errorf("%s: %d\n%s", name, a.StatusCode, inside(a.body))
		}
	}
	a := s.postFile("/curves/scan", "lamp.csv", []byte("wavelength,0,2,2\n540,0.1,0.2,much\n"), map[string]string{"spectra": "old text"})
	if a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, "spectra", "lamp.csv, line 2") || !strings.Contains(a.body, "vial 2 (column 4)") || !strings.Contains(a.body, "0.2,much") || strings.Contains(a.body, "old text") {
		t.Errorf("a bad file: %d\n%s", a.StatusCode, inside(a.body))
	}
}

// postFile sends a file with a form's fields.
func (s *site) postFile(path, name string, data []byte, fields map[string]string) answer {
	s.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range fields {
		m.WriteField(k, v)
	}
	w, err := m.CreateFormFile("file", name)
	if err != nil {
		s.t.Fatal(err)
	}
	w.Write(data)
	m.Close()
	req := s.request("POST", path, m.FormDataContentType(), b.String())
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	return s.do(req)
}

func TestScanRefusesBesideTheField(t *testing.T) {
	s := newSite(t, false)
	good := spectraCSV()
	flat := "wavelength,0,2,4\n540,0.5,0.4,0.3\n545,0.5,0.4,0.3\n550,0.5,0.4,0.3\n"
	long := "wavelength,0,2,4\n"
	for i := range 3001 {
		long += fmt.Sprintf("%d,0.1,0.2,0.3\n", i+200)
	}
	for name, c := range map[string]struct {
		path, spectra, at, held, field, want string
	}{
		"nothing":            {"", "", "", "", "spectra", "no spectra"},
		"no header":          {"", "540,0.1,0.2", "", "", "spectra", "wavelength"},
		"a word":             {"", strings.Replace(good, "440,0.0", "440,x0.0", 1), "", "", "spectra", "line 2: vial blank: &#34;x0."},
		"two words":          {"", strings.NewReplacer("440,0.0", "440,x0.0", "450,0.0", "450,y0.0").Replace(good), "", "", "spectra", "line 4: vial blank: &#34;y0."},
		"a wavelength twice": {"", strings.Replace(good, "\n445,", "\n440,", 1), "", "", "spectra", "stands in row 2 already"},
		"no wavelength":      {"", strings.Replace(good, "\n445,", "\n-445,", 1), "", "", "spectra", "line 3: column wavelength"},
		"two levels":         {"", "wavelength,0,2\n540,0,1\n550,0,1\n560,0,1\n", "", "", "spectra", "knowns at 2 levels"},
		"two wavelengths":    {"", "wavelength,0,2,4\n540,0,1,2\n550,0,1,2\n", "", "", "spectra", "2 wavelengths"},
		"falling":            {"", flat, "", "", "spectra", "at no wavelength"},
		"too long":           {"", long, "", "", "spectra", "at most 3000 here"},
		"too much":           {"", good + strings.Repeat(" ", 1<<20), "", "", "spectra", "at most 1 MB"},
		"at a word":          {"", good, "green", "", "at", "“green” is no number"},
		"between":            {"", good, "547", "", "at", "its neighbours are 545 and 550"},
		"outside":            {"/curve", good, "900", "", "at", "outside the table, 440 to 660"},
		"held nothing":       {"/curve", good, "545", "3", "held", "no vial holds 3"},
		"held a word":        {"/curve", good, "545", "all", "held", "“all” is no number"},
	} {
		a := s.post("/curves/scan"+c.path, form1("spectra", c.spectra, "at", c.at, "held", c.held, "name", "kept name"))
		if a.StatusCode != http.StatusUnprocessableEntity || !beside(a.body, c.field, c.want) {
			t.Errorf("%s: %d, want %q beside %s\n%.3000s", name, a.StatusCode, c.want, c.field, inside(a.body))
		}
		if !strings.Contains(a.body, "kept name") || c.spectra != "" && !strings.Contains(a.body, c.spectra[:min(11, len(c.spectra))]) || c.at != "" && !strings.Contains(a.body, `value="`+c.at+`"`) {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	if a := s.post("/curves/scan", form1("spectra", strings.Repeat("x", guard.MaxTable))); a.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("beyond all bounds: %d", a.StatusCode)
	}
}

func TestScanRolesAndScript(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	named := strings.Replace(spectraCSV(), "yellow water", `"`+strings.ReplaceAll(script, `"`, `""`)+`"`, 1)
	v := form1("spectra", named, "name", script, "lot", script)
	bad := form1("spectra", script, "at", script, "held", script, "name", script)
	for path, page := range map[string]string{"scan": s.post("/curves/scan", v).body, "curve": s.post("/curves/scan/curve", v).body, "refused": s.post("/curves/scan", bad).body} {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") || !strings.Contains(page, "&lt;script&gt;") {
			t.Errorf("%s: script came through, or is nowhere\n%s", path, inside(page))
		}
	}
	s.furnish()
	reader, nobody := s.paired(1), s.as()
	for _, path := range []string{"/curves/scan", "/curves/scan/curve"} {
		if a := reader.post(path, url.Values{"spectra": {named}}); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader, %s: %d", path, a.StatusCode)
		}
		if a := nobody.post(path, url.Values{"spectra": {named}}); a.StatusCode != http.StatusUnauthorized {
			t.Errorf("nobody, %s: %d", path, a.StatusCode)
		}
	}
}
