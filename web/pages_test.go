package web

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// says opens pages, each of which must say something.
func (s *site) says(pages map[string]string) {
	s.t.Helper()
	for path, want := range pages {
		a := s.get(path)
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, want) {
			s.t.Errorf("GET %s: status %d, and %q is not there:\n%s", path, a.StatusCode, want, inside(a.body))
		}
	}
}

// TestEmptyBench opens every page of a bench on which nothing stands yet: each
// says what to do next.
func TestEmptyBench(t *testing.T) {
	s := newSite(t, false)
	s.says(map[string]string{
		"/":            "I have readings",
		"/trials":      "Describe a method first",
		"/methods":     "No method is described yet",
		"/methods/new": "Describe a method",
		"/knowns":      "No standards are planned yet",
		"/curves":      "No curve is kept yet",
		"/needs":       "No need is written down yet",
		"/people":      "Nobody is on the list yet",
		"/copies":      "Make a copy now",
	})
}

func TestPlanToSeal(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	s.says(map[string]string{
		trial:             "The stop rule is not met yet",
		trial + "/labels": "in run order",
		trial + "/sheet":  "Run sheet",
		"/":               "Fill the vials",
		"/methods/1":      "A1",
		"/needs/1":        "at 0.5 ± 0.5",
		"/people/1":       "Change Ines",
	})
}

// TestBringInCanBeStopped: readings on their way in are shown with how far they are,
// and stopped from the page of copies: whoever sent them is told, and nothing is kept.
func TestBringInCanBeStopped(t *testing.T) {
	s := newSite(t, false)
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, v := range map[string]string{"title": "From the harbour", "analyte": "nitrate", "unit": "mg/L"} {
		w.WriteField(name, v)
	}
	f, err := w.CreateFormFile("readings", "readings.csv")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprint(f, "method,level,reading,vial,reader\n")
	for k := range 60_000 {
		fmt.Fprintf(f, "Harbour display,%d,%d.%d,v%d,Kay\n", k%7, k%7, k%10, k)
	}
	w.Close()
	sent := make(chan answer, 1)
	req := s.request("POST", "/copies/readings", w.FormDataContentType(), b.String())
	go func() { sent <- s.do(req) }()
	shown := regexp.MustCompile(`“From the harbour”, ([1-9][0-9]*) of 60000 readings`)
	for {
		if page := s.get("/copies").body; shown.MatchString(page) {
			break
		}
		select {
		case a := <-sent:
			t.Fatalf("it was over before it was shown: %d\n%s", a.StatusCode, inside(a.body))
		case <-time.After(5 * time.Millisecond):
		}
	}
	if strings.Contains(s.get("/trials").body, "From the harbour") || strings.Contains(s.get("/methods").body, "Harbour display") {
		t.Error("half of it is shown")
	}
	if a := s.do(s.request("POST", "/copies/readings/stop", "application/x-www-form-urlencoded", "")); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("stop: %d", a.StatusCode)
	}
	a := <-sent
	if a.StatusCode != http.StatusConflict || !strings.Contains(a.body, "Nothing of it is kept") {
		t.Errorf("whoever sent it is told %d\n%s", a.StatusCode, inside(a.body))
	}
	if strings.Contains(s.get("/trials").body, "From the harbour") || strings.Contains(s.get("/methods").body, "Harbour display") || strings.Contains(s.get("/people").body, "Kay") {
		t.Error("something of it was kept")
	}
}

// TestBringIn imports readings from files; a bad row comes back with its place.
func TestBringIn(t *testing.T) {
	s := newSite(t, false)
	send := func(readings string) answer {
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		for name, v := range map[string]string{"title": "From elsewhere", "analyte": "nitrate", "unit": "mg/L"} {
			w.WriteField(name, v)
		}
		f, err := w.CreateFormFile("readings", "readings.csv")
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte(readings))
		w.Close()
		return s.do(s.request("POST", "/copies/readings", w.FormDataContentType(), b.String()))
	}
	bad := send("method,level,reading\nPocket display,3,3.1\nPocket display,three,3.0\n")
	if bad.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(bad.body, "readings.csv, line 3, level") || !strings.Contains(bad.body, `value="From elsewhere"`) {
		t.Errorf("a bad row: status %d\n%s", bad.StatusCode, inside(bad.body))
	}
	if strings.Contains(s.get("/trials").body, "From elsewhere") {
		t.Error("half of a bad file was brought in")
	}
	good := "method,level,reading\n"
	for _, v := range []string{"3,3.1", "3,3.0", "3,2.9", "6,6.1", "6,6.3", "6,5.9"} {
		good += "Pocket display," + v + "\n"
	}
	a := send(good)
	if a.StatusCode != http.StatusSeeOther {
		t.Fatalf("good readings: status %d\n%s", a.StatusCode, inside(a.body))
	}
	if page := s.get(a.Header.Get("Location") + "/findings"); page.StatusCode != 200 || !strings.Contains(page.body, "Pocket display") {
		t.Errorf("their findings: status %d", page.StatusCode)
	}
}

// readAll takes a reading of every vial of the first session, as the first person.
func (s *site) readAll(trial string) {
	s.t.Helper()
	run, err := s.bench.Run(context.Background(), knownwater.Who{Person: 1, Name: "Ines", Role: knownwater.Owner}, 1, 1)
	if err != nil {
		s.t.Fatal(err)
	}
	for i, v := range run.Vials {
		entry := fmt.Sprintf(`{"entries":[{"kind":"keep","reader":1,"key":"0123456789abcdef%04d","vial":%d,"text":"2","read_at":"2026-03-01T10:00:00Z"}]}`, i, v.ID)
		if a := s.do(s.request("POST", trial+"/entries", "application/json", entry)); a.StatusCode != 200 || strings.Contains(a.body, "refused") {
			s.t.Fatalf("reading %d: %d %s", i, a.StatusCode, a.body)
		}
	}
}

// TestLinkedLevels follows each level of the findings to the readings behind it.
func TestLinkedLevels(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	s.must("/me", form1("person", "1"))
	s.readAll(trial)
	s.must(trial+"/key", form1("why", "only one reader came"))
	page := s.get(trial + "/findings").body
	_, table, _ := strings.Cut(page, `id="levels"`)
	table, _, _ = strings.Cut(table, "</section>")
	links := regexp.MustCompile(`<a href="(/trials/1/readings\?[^"]+)">`).FindAllStringSubmatch(table, -1)
	if len(links) != 6 {
		t.Fatalf("%d levels are linked, want 3 of each method", len(links))
	}
	for _, l := range links {
		path := html.UnescapeString(l[1])
		level := regexp.MustCompile(`level=([0-9.]+)`).FindStringSubmatch(path)[1]
		a := s.get(path)
		rows := strings.Count(a.body, `role="rowheader"`)
		knowns := strings.Count(a.body, `r kn">`+level+`</td>`)
		if a.StatusCode != 200 || rows == 0 || rows != knowns {
			t.Errorf("%s: status %d, %d readings of which %d at level %s", path, a.StatusCode, rows, knowns, level)
		}
	}
}

var (
	figuresOf = regexp.MustCompile(`(?s)<section class="leaf[^"]*" id="(?:verdicts|ladder|levels|apart|hands|response|along|readback)">.*?</section>`)
	bareOf    = regexp.MustCompile(`<a href="/trials/[^>]*>|<a class="term"[^>]*>|</a>`)
)

// TestOneReport holds the findings' page, the report and the report without
// names to the same figures, and the report to the story of its trial.
func TestOneReport(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	s.must("/me", form1("person", "1"))
	sheet := s.get(trial + "/sheet").body
	s.readAll(trial)
	s.must(trial+"/key", form1("why", "only one reader came"))
	s.must(trial+"/readings/1", form1("why", "spilled <b>here</b>", "do", "out"))
	linked := strings.ReplaceAll(s.get(trial+"/findings").body, `role="group" aria-labelledby="ladder`, `role="img" aria-labelledby="ladder`) // its marks lead to their readings
	page := figuresOf.FindAllString(bareOf.ReplaceAllString(linked, ""), -1)
	named, bare := s.get(trial+"/report.html?names=in").body, s.get(trial+"/report.html?names=out").body
	if len(page) < 4 || strings.Count(strings.Join(page, ""), "<svg") < 10 {
		t.Fatalf("only %d leaves with figures on the page", len(page))
	}
	for i, leaf := range figuresOf.FindAllString(bareOf.ReplaceAllString(named, ""), -1) {
		if i >= len(page) || leaf != page[i] {
			t.Errorf("leaf %d of the report is not the page's:\n%s", i, cmp.Diff(page[min(i, len(page)-1)], leaf))
		}
	}
	for _, want := range []string{"Unfinished.", "How the trial was run", "early: “only one reader came”", "spilled &lt;b&gt;here&lt;/b&gt;", " UTC"} {
		if !strings.Contains(named, want) || !strings.Contains(bare, want) {
			t.Errorf("a report does not say %q", want)
		}
	}
	if !strings.Contains(named, "Ines") || !strings.Contains(named, "What was done") {
		t.Error("the report with names does not say who read, or what was done")
	}
	if strings.Contains(bare, "Ines") || strings.Contains(bare, "Tomo") || strings.Contains(bare, "What was done") {
		t.Error("the report without names has names, or what was done by whom")
	}
	if strings.Contains(named, "/trials/") {
		t.Error("the report links to the bench that made it")
	}
	for _, text := range []string{named, bare, s.get(trial + "/report.html?names=out&signed=yes").body} {
		seal := rechecked(t, text).Inputs.Seal
		if seal == nil || !strings.Contains(text, knownwater.Grouped(seal.Commitment)) {
			t.Fatalf("a report shows no commitment to its key: %+v", seal)
		}
		for path, page := range map[string]string{"trial": s.get(trial).body, "run sheet": sheet} {
			if !strings.Contains(page, knownwater.Grouped(seal.Commitment)) {
				t.Errorf("the %s does not show the commitment", path)
			}
		}
	}
}

// rechecked makes a report again from what it carries: not a byte may differ, its
// key is the one that was sealed, and its signature holds.
func rechecked(t *testing.T, text string) report.Document {
	t.Helper()
	d, err := report.Open(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	trial, err := intake.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		t.Fatal(err)
	}
	changes, err := d.Changes(assess.Run(trial, assess.Options{Seed: d.Seed, Version: d.Version}), trial, 6)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range changes {
		t.Errorf("recheck: line %d: %s: %s", c.Row, c.Found(), c.Want())
	}
	if d.Inputs.Seal != nil {
		for _, f := range d.Inputs.Seal.Verify(trial) {
			t.Errorf("recheck: %v", f)
		}
	}
	if by, err := d.SignedBy(); err != nil || (by == "") == (d.Inputs.Signer != "") {
		t.Errorf("recheck: signed by %q, %v", by, err)
	}
	return d
}

// TestFoundToday sees what a trial found on today's page: the owner's as soon as
// the key is open, its readers' once it is finished.
func TestFoundToday(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	s.must("/me", form1("person", "1"))
	s.readAll(trial)
	s.must(trial+"/key", form1("why", "only one reader came"))
	for {
		body := s.get("/").body
		if strings.Contains(body, "For “hold a low-nutrient tank”:") && strings.Contains(body, trial+"/publish") {
			break
		}
		if !strings.Contains(body, "Being worked out") {
			t.Fatalf("today says nothing of what was found:\n%s", inside(body))
		}
		time.Sleep(50 * time.Millisecond) // nobody may ask much faster
	}
	by := knownwater.Who{Person: 1, Name: "Ines", Role: knownwater.Reader}
	if mine, err := s.bench.ReadTrials(context.Background(), by, 3); err != nil || len(mine) != 0 {
		t.Errorf("before the end a reader is told of %v, %v", mine, err)
	}
	s.must(trial+"/finish", nil)
	mine, err := s.bench.ReadTrials(context.Background(), by, 3)
	if err != nil || len(mine) != 1 || mine[0].Title != "Card against display" {
		t.Errorf("a reader is told of %v, %v", mine, err)
	}
	if mine, err = s.bench.ReadTrials(context.Background(), knownwater.Who{Person: 9, Role: knownwater.Reader}, 3); err != nil || len(mine) != 0 {
		t.Errorf("a stranger is told of %v, %v", mine, err)
	}
}

// TestRefusedForm: what was typed comes back, with what would be right, and
// nothing is kept.
func TestRefusedForm(t *testing.T) {
	s := newSite(t, false)
	bad := chartForm()
	bad.Set("swatches", "0.5\nhalf\n5 blue")
	bad.Set("steps", "shake, soon")
	bad.Set("pack_price", "cheap")
	a := s.post("/methods/new", bad)
	for _, want := range []string{"line 2: “half”", "line 3: “5 blue”", "“soon” is no length of time", "“cheap” is no number", ">0.5\nhalf\n5 blue</textarea>", `value="cheap"`} {
		if a.StatusCode != 422 || !strings.Contains(a.body, want) {
			t.Errorf("status %d, %q is not on the page", a.StatusCode, want)
		}
	}
	if strings.Contains(s.get("/methods").body, "Violet card") {
		t.Error("a refused method was kept")
	}
}
