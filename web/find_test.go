package web

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/demo/shed"
	"knownwater/web/render"
)

var foundRow = regexp.MustCompile(`(?s)<tr role="row">\s*<th role="rowheader".*?</tr>`)

// TestFind looks for things on a bench in use: by words, method, level, reader, session and
// water, sorted; nothing tells what stands in a trial whose key is shut.
func TestFind(t *testing.T) {
	s := newSite(t, false)
	if err := shed.Furnish(context.Background(), s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	rows := func(q url.Values) []string {
		t.Helper()
		a := s.get("/find?" + q.Encode())
		if a.StatusCode != http.StatusOK {
			t.Fatalf("%s: %d", q.Encode(), a.StatusCode)
		}
		var out []string
		for _, r := range foundRow.FindAllString(a.body, -1) {
			out = append(out, words(strings.ReplaceAll(r, `class="code`, `class="`)))
		}
		return out
	}
	read, err := s.bench.Readings(context.Background(), knownwater.Who{Role: knownwater.Owner}, 1, trials.ReadingFilter{Method: "Cedar"})
	if err != nil || len(read) < 20 {
		t.Fatalf("%d readings, %v", len(read), err)
	}
	one := read[len(read)/2]
	level, session := render.Number(one.Level), sessionOf(one)
	all := rows(url.Values{"method": {"Cedar"}})
	at := rows(url.Values{"method": {"Cedar"}, "level": {strconv.FormatFloat(one.Level, 'g', -1, 64)}})
	if len(all) < 20 || len(at) == 0 || len(at) >= len(all) {
		t.Errorf("%d rows of Cedar, %d of them at %s", len(all), len(at), level)
	}
	for _, r := range at {
		if !strings.Contains(r, "Cedar") || !strings.Contains(r, " "+level+" ") {
			t.Errorf("at level %s of Cedar: %s", level, r)
		}
	}
	mine := rows(url.Values{"method": {"Cedar"}, "reader": {one.Name}, "session": {session}})
	if len(mine) == 0 || len(mine) >= len(all) {
		t.Errorf("%d rows of %s in session %s", len(mine), one.Name, session)
	}
	for _, r := range mine {
		if !strings.Contains(r, one.Name) || !strings.Contains(r, "session "+session) {
			t.Errorf("of %s in session %s: %s", one.Name, session, r)
		}
	}
	waters, err := s.bench.Waters(context.Background())
	if err != nil || len(waters) == 0 {
		t.Fatal(err)
	}
	name := waters[0].Spec.Name
	tested := rows(url.Values{"water": {name}})
	if len(tested) == 0 {
		t.Errorf("no result of %s", name)
	}
	for _, r := range tested {
		if !strings.Contains(r, name) {
			t.Errorf("a result of %s: %s", name, r)
		}
	}
	if again := rows(url.Values{"water": {name}, "words": {strings.ToUpper(name[:3]) + " nothinglikethis"}}); len(again) != 0 {
		t.Errorf("%d results hold a word that is nowhere", len(again))
	}
	sorted := rows(url.Values{"words": {"cedar"}, "order": {"level"}})
	if len(sorted) < 2 || sorted[0] == all[0] {
		t.Errorf("sorted by level the first is %q, as unsorted", sorted[0])
	}
	for path, want := range map[string]string{
		"/find": "All of them have to be there", "/find?words=zzzz": "Nothing is like that", "/find?level=three": "is no number",
		"/find?words=shed": `href="/trials/1"`,
	} {
		if a := s.get(path); a.StatusCode != http.StatusOK || !strings.Contains(a.body, want) {
			t.Errorf("%s: %d, does not say %q", path, a.StatusCode, want)
		}
	}
	// trial 2 of the invented bench is running: its readings are not found
	for _, r := range rows(url.Values{"words": {"1"}}) {
		two, err := s.bench.Trial(context.Background(), knownwater.Who{Role: knownwater.Owner}, 2)
		if err != nil || two.State == trials.Opened || two.State == trials.Finished {
			t.Fatalf("trial 2 is %s, %v", two.State, err)
		}
		if strings.Contains(r, two.Plan.Title) {
			t.Errorf("a reading of a trial whose key is shut is found: %s", r)
		}
	}
}

var rowsAfter = regexp.MustCompile(`href="/find\?([^"]*)">Those after`)

// TestFindInLeaves follows a long search from its first rows to its last: each reading stands on
// one page of it, in one order over all of them.
func TestFindInLeaves(t *testing.T) {
	s := newSite(t, false)
	if err := shed.Furnish(context.Background(), s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	every, err := s.bench.Readings(context.Background(), knownwater.Who{Role: knownwater.Owner}, 1, trials.ReadingFilter{Method: "Cedar"})
	if err != nil || len(every) <= 2*foundAPage {
		t.Fatalf("%d readings, %v: too few for three pages", len(every), err)
	}
	known := regexp.MustCompile(`class="r kn">([^<]*)<`)
	link := regexp.MustCompile(`href="(/trials/[0-9]+/readings/[0-9]+)"`)
	for _, order := range []string{"", "level"} {
		seen, last := map[string]bool{}, -1.0
		query := url.Values{"method": {"Cedar"}, "order": {order}}.Encode()
		pages := 0
		for ; query != ""; pages++ {
			a := s.get("/find?" + query)
			for _, m := range link.FindAllStringSubmatch(a.body, -1) {
				if seen[m[1]] {
					t.Errorf("in order %q %s stands twice", order, m[1])
				}
				seen[m[1]] = true
			}
			for _, m := range known.FindAllStringSubmatch(a.body, -1) {
				level, err := strconv.ParseFloat(m[1], 64)
				if err != nil || order == "level" && level < last {
					t.Errorf("in order %q a known of %s follows %g (%v)", order, m[1], last, err)
				}
				last = level
			}
			query = ""
			if next := rowsAfter.FindStringSubmatch(a.body); next != nil {
				query = strings.ReplaceAll(next[1], "&amp;", "&")
			}
		}
		if len(seen) != len(every) || pages != (len(every)+foundAPage-1)/foundAPage {
			t.Errorf("in order %q %d readings of %d on %d pages", order, len(seen), len(every), pages)
		}
	}
}

// TestTrialIsPlaced renames a trial on its page, takes it out, brings it back, undoes.
func TestTrialIsPlaced(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	title := "Autumn" // any
	says := func(path, want string, there bool) {
		t.Helper()
		if a := s.get(path); strings.Contains(a.body, want) != there {
			t.Errorf("%s: %q there: %v\n%s", path, want, !there, inside(a.body))
		}
	}
	post := func(path string, pairs ...string) answer {
		t.Helper()
		return s.do(s.request("POST", trial+path, "application/x-www-form-urlencoded", form1(pairs...).Encode()))
	}
	if a := post("/place", "title", title, "why", ""); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") || !strings.Contains(a.body, `value="Autumn"`) {
		t.Errorf("without a reason: %d\n%s", a.StatusCode, inside(a.body))
	}
	s.must(trial+"/place", form1("title", title, "why", "it was October"))
	says(trial, "<h1>Autumn</h1>", true)
	says(trial, "it was October", true)
	says("/trials", ">Autumn</a>", true)
	s.must(trial+"/place", form1("title", title, "why", "the wrong file", "place", "removed"))
	says(trial, "Taken out", true)
	says("/trials", "1 trial put away or taken out", true)
	says("/", "Autumn", false)
	s.must(trial+"/place/undo", nil)
	says("/trials", "taken out", false)
	says("/", "Autumn", true)
	s.must(trial+"/place", form1("title", title, "why", "done with", "place", "archived"))
	says(trial, "Put away", true)
	s.must(trial+"/place", form1("title", title, "why", "needed again", "place", "here"))
	says(trial, "needed again", true)
	if a := post("/place/undo"); a.StatusCode != http.StatusSeeOther {
		t.Errorf("undo: %d", a.StatusCode)
	}
	says("/trials", "1 trial put away or taken out", true)
}

// TestNoDeadCode: where no phone reaches the bench, pairing says what to start again.
func TestNoDeadCode(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	a := s.do(s.request("POST", "/people/1/pair", "application/x-www-form-urlencoded", ""))
	if a.StatusCode != http.StatusConflict || strings.Contains(a.body, "/pair/") || !strings.Contains(a.body, "knownwater serve --bench bench.db --listen :8484") {
		t.Errorf("pairing on a bench of this computer alone: %d\n%s", a.StatusCode, inside(a.body))
	}
}
