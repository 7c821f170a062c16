package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"knownwater/web/guard"
	"knownwater/web/render"
)

// TestCrossSitePost sends what another site's page would send.
func TestCrossSitePost(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	for name, header := range map[string][2]string{
		"browser that tells":          {"Sec-Fetch-Site", "cross-site"},
		"sibling site":                {"Sec-Fetch-Site", "same-site"},
		"plain http, another origin":  {"Origin", "http://elsewhere.example"},
		"plain http, an opaque frame": {"Origin", "null"},
	} {
		req := s.request("POST", "/people", "application/x-www-form-urlencoded", form1("name", "Mallory", "role", "owner").Encode())
		req.Header.Set(header[0], header[1])
		if a := s.do(req); a.StatusCode != http.StatusForbidden {
			t.Errorf("%s: status %d, want 403", name, a.StatusCode)
		}
	}
	if strings.Contains(s.get("/people").body, "Mallory") {
		t.Error("a cross-site post was carried out")
	}
	s.must("/people", form1("name", "Ines", "role", "reader"))
}

// TestHost refuses a name that was pointed at this address from outside.
func TestHost(t *testing.T) {
	s := newSite(t, false)
	req := s.request("GET", "/", "", "")
	req.Host = "rebound.example"
	if a := s.do(req); a.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("status %d, want 421", a.StatusCode)
	}
}

// TestOpenToOthers: without sign-in nobody else may reach the bench.
func TestOpenToOthers(t *testing.T) {
	s := newSite(t, false)
	if _, err := New(s.bench, Options{Listen: "0.0.0.0:1"}); err == nil {
		t.Error("a bench that other machines reach was opened without sign-in")
	}
}

// TestHeaders holds every page to the policy that lets no foreign script in.
func TestHeaders(t *testing.T) {
	s := newSite(t, false)
	for _, path := range []string{"/", "/methods", "/nowhere", "/assets/base.css", "/report.css"} {
		h := s.get(path).Header
		csp := h.Get("Content-Security-Policy")
		if !strings.Contains(csp, "script-src 'self';") || strings.Contains(csp, "unsafe") || !strings.Contains(csp, "frame-ancestors 'none'") {
			t.Errorf("%s: policy %q", path, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: types may be guessed", path)
		}
	}
}

const script = `"><script>alert(1)</script><img src=x onerror=alert(2)>`

// TestScriptInEveryField puts script into every text field and looks for it,
// unescaped, on every page.
func TestScriptInEveryField(t *testing.T) {
	s := newSite(t, false)
	s.must("/people", form1("name", "P"+script, "alias", "A"+script, "role", "reader"))
	m := displayForm()
	for _, name := range []string{"name", "note", "caution", "sample_device", "water_device"} {
		m.Set(name, name+script)
	}
	m.Set("steps", "read"+strings.ReplaceAll(script, ",", "")+", within 5 min")
	s.must("/methods/new", m)
	s.must("/methods/1/lots", form1("code", "L"+script, "chart_edition", script, "note", script))
	n := needPlain()
	n.Set("name", "N"+script)
	s.must("/needs", n)
	plan := s.must("/trials", form1("title", "T"+script))
	v := form1("title", "T"+script, "question", "Q"+script, "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "salinity", "35", "temperature", "25",
		"sessions", "1", "replicates", "2", "blanks", "2", "needs", "1", "readers", "1", "methods", "1", "techniques_1", "careful"+strings.ReplaceAll(script, ",", ""),
		"known_label_0", "K"+script, "known_level_0", "1", "known_label_1", "M"+script, "known_level_1", "3", "do", "seal")
	trial := s.must(plan, v)
	s.must("/me", form1("person", "1"))
	run := s.get(trial + "/run")
	key := "0123456789abcdef0123456789abcdef"
	var vial string
	if _, rest, ok := strings.Cut(run.body, `"vials":[{"id":`); ok {
		vial, _, _ = strings.Cut(rest, ",")
	}
	body := fmt.Sprintf(`{"entries":[{"kind":"keep","reader":1,"key":%q,"vial":%s,"text":"1.2","note":%q}]}`, key, vial, "note"+script)
	if a := s.do(s.request("POST", trial+"/entries", "application/json", body)); a.StatusCode != 200 || !strings.Contains(a.body, key) {
		t.Fatalf("reading: status %d %s", a.StatusCode, a.body)
	}
	if n, err := strconv.Atoi(vial); err != nil { // a second one stands: a report needs a reading
		t.Fatal(err)
	} else if a := s.do(s.request("POST", trial+"/entries", "application/json", strings.NewReplacer(key, "1"+key[1:], `"vial":`+vial, `"vial":`+strconv.Itoa(n+1)).Replace(body))); a.StatusCode != 200 {
		t.Fatalf("reading: status %d %s", a.StatusCode, a.body)
	}
	s.must(trial+"/key", form1("why", "why"+script))
	s.must(trial+"/readings/1", form1("why", "out"+script))
	prep := s.post(trial+"/preparation", nil)
	pages := map[string]string{"preparation": prep.body, "run": run.body}
	for _, path := range []string{"/", "/people", "/people/1", "/methods", "/methods/1", "/methods/1/change", "/needs", "/needs/1", "/trials", trial, trial + "/labels", trial + "/sheet",
		trial + "/mine", trial + "/readings", trial + "/readings?method=" + url.QueryEscape(script), trial + "/readings/1", trial + "/findings", trial + "/publish", trial + "/report.html"} {
		a := s.get(path)
		if a.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d", path, a.StatusCode)
		}
		pages[path] = a.body
	}
	bad := s.post("/methods/new", m) // refused: the name is taken; it comes back with what was typed
	pages["refused form"] = bad.body
	for path, page := range pages {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") {
			t.Errorf("%s: script came through unescaped", path)
		}
	}
}

// level is that of a known of the small plan, and no part of a time or another number.
var level = regexp.MustCompile(`(?:^|[^0-9.])7\.2(?:[^0-9]|$)`)

// TestRoles asks for every page as nobody and as a reader.
func TestRoles(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	trial := s.sealed()
	reader := s.paired(1)
	nobody := s.as()
	for _, path := range []string{"/people", "/methods", "/needs", "/copies", trial + "/labels", trial + "/readings", trial + "/plan", trial + "/publish", trial + "/report.html", trial + "/findings.json"} {
		if a := nobody.get(path); a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/sign-in" {
			t.Errorf("nobody, %s: status %d", path, a.StatusCode)
		}
		if a := reader.get(path); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader, %s: status %d, want 403", path, a.StatusCode)
		}
	}
	for _, path := range []string{"/people", "/methods/new", trial + "/key", trial + "/preparation", "/copies/export", "/copies/backup", "/passphrase", "/me", trial + "/finish"} {
		if a := nobody.post(path, form1("person", "2")); a.StatusCode != http.StatusUnauthorized {
			t.Errorf("nobody posts %s: status %d, want 401", path, a.StatusCode)
		}
		if a := reader.post(path, form1("person", "2", "name", "x")); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader posts %s: status %d, want 403", path, a.StatusCode)
		}
	}
	for _, path := range []string{"/", "/trials", trial, trial + "/run", trial + "/mine"} {
		a := reader.get(path)
		if a.StatusCode != http.StatusOK {
			t.Errorf("reader, %s: status %d", path, a.StatusCode)
		}
		if level.MatchString(a.body) || strings.Contains(a.body, `"level"`) {
			t.Errorf("reader, %s: a level is shown", path)
		}
	}
	if a := reader.get(trial + "/findings"); a.StatusCode != http.StatusForbidden {
		t.Errorf("reader sees findings with the key shut: status %d", a.StatusCode)
	}
	other := `{"entries":[{"kind":"keep","reader":2,"key":"0123456789abcdef01","vial":1,"text":"2"}]}`
	if a := reader.do(reader.request("POST", trial+"/entries", "application/json", other)); !strings.Contains(a.body, "somebody else") {
		t.Errorf("a reading of another person was taken: %d %s", a.StatusCode, a.body)
	}
}

// paired is a new browser that came in by a pairing code.
func (s *site) paired(person int64) *site {
	s.t.Helper()
	offered := s.post("/people/"+render.ID(person)+"/pair", nil)
	_, rest, ok := strings.Cut(offered.body, "/pair/")
	if !ok {
		s.t.Fatalf("no pairing address:\n%s", inside(offered.body))
	}
	token, _, _ := strings.Cut(rest, "<")
	phone := s.as()
	phone.must("/pair/"+token, nil)
	again := s.as()
	if a := again.post("/pair/"+token, nil); a.StatusCode != http.StatusForbidden {
		s.t.Errorf("a pairing code served twice: status %d", a.StatusCode)
	}
	return phone
}

func TestForgedTokens(t *testing.T) {
	s := newSite(t, true)
	for _, value := range []string{"x", strings.Repeat("A", 43), "../../etc/passwd", strings.Repeat("z", 5000)} {
		req := s.request("GET", "/people", "", "")
		req.AddCookie(&http.Cookie{Name: "bench", Value: value})
		if a := s.do(req); a.StatusCode != http.StatusSeeOther {
			t.Errorf("cookie %.20q: status %d, want 303 to the sign-in", value, a.StatusCode)
		}
	}
	if a := s.post("/pair/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", nil); a.StatusCode != http.StatusForbidden {
		t.Errorf("a guessed pairing code: status %d, want 403", a.StatusCode)
	}
	s.signInAsOwner()
	u, _ := url.Parse(s.url)
	old := s.Jar.Cookies(u)
	s.must("/sign-out", nil)
	req := s.as().request("GET", "/people", "", "")
	for _, c := range old {
		req.AddCookie(c)
	}
	if a := s.as().do(req); a.StatusCode != http.StatusSeeOther {
		t.Errorf("a token outlived its sign-out: status %d", a.StatusCode)
	}
}

// TestBruteForce tries passphrases: it is slowed down and never locks the owner
// out, who sees what was tried.
func TestBruteForce(t *testing.T) {
	s := newSite(t, true)
	begun := time.Now()
	for i := range 8 {
		if a := s.post("/sign-in", form1("passphrase", fmt.Sprint("guess number ", i))); a.StatusCode != http.StatusUnauthorized {
			t.Fatalf("try %d: status %d", i, a.StatusCode)
		}
	}
	if took := time.Since(begun); took < time.Second {
		t.Errorf("eight tries took %v only", took)
	}
	s.signInAsOwner()
	if page := laidOut(s.get("/people").body); !strings.Contains(page, `127.0.0.1</th><td data-l="at">the passphrase</td><td data-l="tries" class="r">8</td>`) {
		t.Errorf("the owner does not see what was tried:\n%s", page)
	}
}

// TestSlowRequestOfEndedAccess: a browser's access is ended while a request of it
// is still being sent. Nothing that it asks for is done, and it is not back.
func TestSlowRequestOfEndedAccess(t *testing.T) {
	for name, end := range map[string]func(owner *site, id string){
		"ended in the list": func(owner *site, id string) { owner.must("/phones/"+id+"/end", nil) },
		"a new passphrase": func(owner *site, _ string) {
			owner.must("/passphrase", form1("passphrase", "other words in their place", "again", "other words in their place"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t, true)
			lost := s.as()
			lost.signInAsOwner()
			ids := regexp.MustCompile(`/phones/([0-9a-f]{64})/end`).FindStringSubmatch(lost.get("/people").body)
			if ids == nil {
				t.Fatal("no session is listed")
			}
			s.signInAsOwner()
			body, rest := io.Pipe()
			req, err := http.NewRequest("POST", s.url+"/people", body)
			if err != nil {
				t.Fatal(err)
			}
			req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			req.Header.Set("Sec-Fetch-Site", "same-origin")
			// The server asks for the rest when it begins to read, which is after it let the request in.
			req.Header.Set("Expect", "100-continue")
			letIn := make(chan bool, 1)
			req = req.WithContext(httptrace.WithClientTrace(req.Context(), &httptrace.ClientTrace{Got100Continue: func() { letIn <- true }}))
			answered := make(chan answer, 1)
			go func() { answered <- lost.do(req) }()
			select {
			case <-letIn:
			case a := <-answered:
				t.Fatalf("it was not let in: status %d", a.StatusCode)
			}
			io.WriteString(rest, "name=Intruder&")
			end(s, ids[1])
			io.WriteString(rest, "role=owner")
			rest.Close()
			if a := <-answered; a.StatusCode != http.StatusForbidden {
				t.Errorf("the slow request: status %d", a.StatusCode)
			}
			if a := lost.get("/people"); a.StatusCode != http.StatusSeeOther {
				t.Errorf("afterwards it is let in: status %d", a.StatusCode)
			}
			people, err := s.bench.People(context.Background())
			if err != nil || len(people) != 0 {
				t.Errorf("written for it: %+v %v", people, err)
			}
		})
	}
}

func TestPathTraversal(t *testing.T) {
	s := newSite(t, false)
	for _, path := range []string{"/assets/../server.go", "/assets/..%2f..%2fgo.mod", "/assets/%2e%2e/page/layout.html", "/assets/", "/assets/run/", "/photos/..%2f..%2fbench.db", "/photos/%2fetc%2fpasswd", "/methods/..%2f1", "/trials/-1", "/trials/9999999999999999999", "/trials/1%00"} {
		a := s.get(path)
		if a.StatusCode < 300 || strings.Contains(a.body, "package web") || strings.Contains(a.body, "root:") {
			t.Errorf("%s: status %d", path, a.StatusCode)
		}
	}
	for _, name := range []string{"../out", "/tmp/out", "a/b", "..", ".hidden", "", strings.Repeat("a", 80), "a\x00b"} {
		if a := s.upload("/copies/import", name, []byte("PK")); a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("a bench named %q: status %d, want 422", name, a.StatusCode)
		}
	}
	for _, back := range []string{"//elsewhere.example/", "/\t/elsewhere.example/", "/\n/elsewhere.example/", "/\\elsewhere.example/", "\t//elsewhere.example", "/a\r\nSet-Cookie: x", "https://elsewhere.example/"} {
		if a := s.post("/me", form1("back", back)); a.Header.Get("Location") != "/" {
			t.Errorf("%q led away to %q", back, a.Header.Get("Location"))
		}
	}
	if a := s.post("/me", form1("back", "/trials?x=1")); a.Header.Get("Location") != "/trials?x=1" {
		t.Errorf("a place on the bench led to %q", a.Header.Get("Location"))
	}
}

func (s *site) upload(path, name string, data []byte) answer {
	s.t.Helper()
	kind, body := multipartForm(s.t, name, data)
	return s.do(s.request("POST", path, kind, body))
}

// TestHostileUploads sends what is too large, no picture, or no archive.
func TestHostileUploads(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	s.must("/me", form1("person", "1"))
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 20, 10))); err != nil {
		t.Fatal(err)
	}
	if a := s.do(s.request("POST", "/photos", "image/png", picture.String())); a.StatusCode != http.StatusOK {
		t.Errorf("a small picture: status %d %s", a.StatusCode, a.body)
	}
	if page := laidOut(s.get("/people").body); !strings.Contains(page, `<td data-l="photographs" class="r">1</td><td data-l="in no reading" class="r">1</td>`) {
		t.Errorf("the owner does not see the photograph:\n%s", inside(page))
	}
	for name, body := range map[string]string{"a page": "<html><script>alert(1)</script>", "nothing": "", "a lie": "\x89PNG\r\n\x1a\n" + strings.Repeat("x", 100), "a drawing with script": `<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`} {
		if a := s.do(s.request("POST", "/photos", "image/png", body)); a.StatusCode < 400 || a.StatusCode >= 500 {
			t.Errorf("%s as a photo: status %d", name, a.StatusCode)
		}
	}
	if a := s.do(s.request("POST", "/photos", "image/png", picture.String()+strings.Repeat("x", guard.MaxPhoto))); a.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a photo above the limit: status %d, want 413", a.StatusCode)
	}
	if a := s.post("/people", form1("name", strings.Repeat("n", 256<<10))); a.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a form above the limit: status %d, want 413", a.StatusCode)
	}
	for name, body := range map[string]string{"no JSON": "{", "another shape": `{"entries":"all"}`, "too many": `{"entries":[` + strings.Repeat(`{},`, 200) + `{}]}`} {
		if a := s.do(s.request("POST", "/trials/1/entries", "application/json", body)); a.StatusCode < 400 || a.StatusCode >= 500 {
			t.Errorf("entries, %s: status %d", name, a.StatusCode)
		}
	}
	for name, data := range map[string][]byte{"no archive": []byte("hello"), "an empty file": nil, "a torn archive": []byte("PK\x03\x04 and then nothing")} {
		if a := s.upload("/copies/import", "north bench", data); a.StatusCode < 400 || a.StatusCode >= 500 {
			t.Errorf("import of %s: status %d", name, a.StatusCode)
		}
	}
}

// TestFlood asks more than a browser would; the bench says wait.
func TestFlood(t *testing.T) {
	s := newSite(t, false)
	waits := 0
	for range 300 + 60 {
		if a := s.get("/assets/mark.svg"); a.StatusCode == http.StatusTooManyRequests {
			waits++
			if a.Header.Get("Retry-After") == "" {
				t.Fatal("it does not say how long to wait")
			}
		}
	}
	if waits == 0 {
		t.Error("a flood was let through")
	}
}
