package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
)

// site is a bench in a file with its pages in front, as a browser sees it.
type site struct {
	t       testing.TB
	bench   *bench.Bench
	handler http.Handler
	url     string
	asked   int // requests of s.ask so far
	*http.Client
}

const phrase = "plain words stay long"

// newSite starts a bench of its own. Loopback tells whether anybody must sign in.
func newSite(t testing.TB, signIn bool) *site {
	t.Helper()
	return newSiteOf(t, signIn, nil)
}

// newSiteOf starts one that has an invented bench to show.
func newSiteOf(t testing.TB, signIn bool, invent func(context.Context, *bench.Bench) error) *site {
	t.Helper()
	dir := t.TempDir()
	b, err := bench.Open(filepath.Join(dir, "bench.db"), bench.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	s, err := New(b, Options{Listen: "127.0.0.1:0", SignIn: signIn, BaseURL: "http://127.0.0.1", Copies: filepath.Join(dir, "copies"), Version: "test", Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Invent: invent})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	srv := httptest.NewServer(s.Handler())
	t.Cleanup(srv.Close)
	if signIn {
		if err := b.SetPassphrase(context.Background(), knownwater.Who{Role: knownwater.Owner}, phrase); err != nil {
			t.Fatal(err)
		}
	}
	return &site{t: t, bench: b, handler: s.Handler(), url: srv.URL, Client: newBrowser(t)}
}

// newBrowser keeps cookies and follows no redirect by itself.
func newBrowser(t testing.TB) *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// as is the same site in another browser.
func (s *site) as() *site {
	c := *s
	c.Client = newBrowser(s.t)
	return &c
}

type answer struct {
	*http.Response
	body string
}

func (s *site) do(req *http.Request) answer {
	s.t.Helper()
	res, err := s.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer{res, string(b)}
}

func (s *site) request(method, path, kind, body string) *http.Request {
	s.t.Helper()
	req, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	return req
}

// get opens a page, and opens it again as a browser does while findings are still
// being worked out.
func (s *site) get(path string) answer {
	s.t.Helper()
	for range 600 {
		if a := s.do(s.request("GET", path, "", "")); a.Header.Get("Refresh") == "" {
			return a
		}
		time.Sleep(100 * time.Millisecond)
	}
	s.t.Fatalf("GET %s: still not worked out after a minute", path)
	return answer{}
}

// post sends a form as the page's own browser would.
func (s *site) post(path string, v url.Values) answer {
	s.t.Helper()
	req := s.request("POST", path, "application/x-www-form-urlencoded", v.Encode())
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	return s.do(req)
}

// must posts a form that is to be accepted, and returns where it leads.
func (s *site) must(path string, v url.Values) string {
	s.t.Helper()
	a := s.post(path, v)
	if a.StatusCode != http.StatusSeeOther {
		s.t.Fatalf("POST %s: status %d, want 303\n%s", path, a.StatusCode, inside(a.body))
	}
	return a.Header.Get("Location")
}

var mainPart = regexp.MustCompile(`(?s)<main.*</main>`)

// laidOut is a page with its white space as a browser lays it out: runs of it are
// one space, and between elements there is none.
func laidOut(page string) string {
	return strings.ReplaceAll(strings.Join(strings.Fields(page), " "), "> <", "><")
}

func inside(page string) string {
	if m := mainPart.FindString(page); m != "" {
		return m
	}
	return page
}

func (s *site) signInAsOwner() {
	s.t.Helper()
	s.must("/sign-in", url.Values{"passphrase": {phrase}})
}

func form1(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return v
}

// chartForm and displayForm describe the two methods of the tests; all invented.
func chartForm() url.Values {
	return form1("name", "Violet card", "kind", "chart", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3",
		"swatches", "0.5 #f3ead0\n2 #e6dca6\n5 #cfd08c\n10 #9fbf8f\n25 #5f9f98", "steps", "shake, 2 s, hands on\nstand, 3 s\nread, within 2 min",
		"pack_price", "18.5", "pack_tests", "50", "minutes", "6", "hands_on_minutes", "2", "caution", "Acid in the second bottle: goggles and gloves.")
}

func displayForm() url.Values {
	return form1("name", "Pocket display", "kind", "display", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "resolution", "0.1",
		"range_low", "0", "range_high", "30", "steps", "read, within 5 min", "pack_price", "30", "pack_tests", "100")
}

func needPlain() url.Values {
	return form1("name", "hold a low-nutrient tank", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "low", "0.5", "high", "8",
		"permitted", "at 0.5 ± 0.5\nat 8 ± 1.5", "tests_a_month", "12")
}

// furnish puts two readers, two methods and a need on the bench.
func (s *site) furnish() {
	s.t.Helper()
	for _, name := range []string{"Ines", "Tomo"} {
		s.must("/people", form1("name", name, "role", "reader"))
	}
	s.must("/methods/new", chartForm())
	s.must("/methods/new", displayForm())
	s.must("/methods/1/lots", form1("code", "A1", "opened_on", "2026-03-01", "expires_on", "2027-08-31", "tests", "50"))
	s.must("/needs", needPlain())
}

// planForm1 is a small plan of both methods and both readers.
func (s *site) smallPlan() url.Values {
	s.t.Helper()
	ms, err := s.bench.Methods(context.Background())
	if err != nil {
		s.t.Fatal(err)
	}
	v := form1("title", "Card against display", "question", "Which of the two holds a low-nutrient tank?", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3",
		"salinity", "35", "temperature", "25", "sessions", "1", "replicates", "2", "blanks", "2", "needs", "1", "readers", "1", "readers", "2",
		"known_level_0", "0", "known_u_0", "0.05", "known_blank_0", "yes", "known_label_0", "blank", "known_level_1", "3.4", "known_u_1", "0.03", "known_level_2", "7.2", "known_u_2", "0.06")
	for _, m := range ms {
		id := strconv.FormatInt(m.VersionID, 10)
		v.Add("methods", id)
		v.Set("together_"+id, "yes")
		v.Set("sigma0_"+id, "0.2")
		v.Set("kappa_"+id, "8")
	}
	return v
}

// sealed plans and seals the small trial and returns its path.
func (s *site) sealed() string {
	s.t.Helper()
	plan := s.must("/trials", form1("title", "Card against display"))
	v := s.smallPlan()
	v.Set("do", "seal")
	return s.must(plan, v)
}
