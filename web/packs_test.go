package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// usePack hands a pack in; it returns where that leads.
func (s *site) usePack(do string, data []byte) answer {
	s.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	w.WriteField("do", do)
	f, err := w.CreateFormFile("file", "spring pack.zip")
	if err != nil {
		s.t.Fatal(err)
	}
	f.Write(data)
	w.Close()
	return s.do(s.request("POST", "/packs", w.FormDataContentType(), b.String()))
}

// A pack goes out of one bench and is used on another, empty one: brought in it has findings
// and a record, and the same trial can be planned.
func TestPackOnAnotherBench(t *testing.T) {
	one := newSite(t, false)
	one.must("/needs", form1("name", "hold", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "words", "hold", "words_numbers", "1.5 9.5"))
	one.meteredTrial()
	for path, want := range map[string]string{"/trials/1/summary/wide.png": "image/png", "/trials/1/summary/square.png": "image/png", "/trials/1/summary/round.png": "text/html; charset=utf-8"} {
		if a := one.get(path); a.Header.Get("Content-Type") != want {
			t.Errorf("%s: %s", path, a.Header.Get("Content-Type"))
		}
	}
	if a := one.get("/trials/1/pack.zip?licence=mine"); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "CC0-1.0") {
		t.Errorf("a licence of my own: %d", a.StatusCode)
	}
	pack := []byte(one.get("/trials/1/pack.zip?licence=CC0-1.0&author=us&names=out").body)
	if !bytes.HasPrefix(pack, []byte("PK")) {
		t.Fatalf("no pack: %.200s", pack)
	}

	other := newSite(t, false)
	a := other.usePack("bring", pack)
	if at := a.Header.Get("Location"); a.StatusCode != http.StatusSeeOther || at != "/trials/1/findings" {
		t.Fatalf("%d %s\n%s", a.StatusCode, at, inside(a.body))
	}
	if page := other.ready("/trials/1/findings"); !strings.Contains(page, "Meter") {
		t.Errorf("no findings\n%s", inside(page))
	}
	if page := laidOut(other.get("/trials/1/adopt").body); !strings.Contains(page, "Use the record of Meter") {
		t.Errorf("no record to read by\n%s", inside(page))
	}
	a = other.usePack("plan", pack)
	at := a.Header.Get("Location")
	if !regexp.MustCompile(`^/trials/2/plan$`).MatchString(at) {
		t.Fatalf("%d %s\n%s", a.StatusCode, at, inside(a.body))
	}
	page := laidOut(other.get(at).body)
	for _, want := range []string{"Again: spring pack", `value="0.6"`, `value="40"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the plan has no %s\n%s", want, inside(page))
		}
	}

	// brought in on the first bench, the pack of the other agrees with what it came from
	a = one.usePack("bring", pack)
	if a.StatusCode != http.StatusSeeOther {
		t.Fatalf("%d\n%s", a.StatusCode, inside(a.body))
	}
	if page := laidOut(one.get("/packs").body); !strings.Contains(page, `<option value="1" selected>Spring`) || !strings.Contains(page, `<option value="2" selected>spring pack`) {
		t.Errorf("nothing to compare with\n%s", inside(page))
	}
	page = one.ready("/packs/agree?first=1&second=2")
	for _, want := range []string{"<h1>Undecided: these readings do not tell</h1>", "Meter: these readings do not tell: the largest difference, second less first, is 0.0", `<th role="rowheader" scope="row">6</th>`, "“spring pack” against “Spring”"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %s\n%s", want, inside(page))
		}
	}
	for query, want := range map[string]string{"first=1&second=1": "the same trial twice", "first=1&second=9": "two trials that were judged", "first=x&second=": "Two trials with methods",
		"first=1&second=2&stopped=1": "Begin again"} {
		if page := laidOut(one.get("/packs/agree?" + query).body); !strings.Contains(page, want) {
			t.Errorf("%s: no %s\n%s", query, want, inside(page))
		}
	}
	if at := one.must("/packs/agree/stop", form1("first", "1", "second", "2")); at != "/packs/agree?first=1&second=2&stopped=1" {
		t.Errorf("stopped: %s", at)
	}

	bad := bytes.Clone(pack)
	bad[len(bad)/2] ^= 1
	for what, data := range map[string][]byte{"cannot be read": bad, "no file": nil, "the page holds no": []byte("<html>")} {
		if a := other.usePack("bring", data); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(laidOut(a.body), what) && what != "cannot be read" {
			t.Errorf("%s: status %d\n%s", what, a.StatusCode, inside(a.body))
		}
	}
}
