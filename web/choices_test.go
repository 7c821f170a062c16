package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// meteredTrial is an invented trial of a display that scatters by 0.25 everywhere.
func (s *site) meteredTrial() {
	s.t.Helper()
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Methods: []knownwater.Method{{Name: "Meter", Kind: knownwater.Display, Resolution: 0.001, Minutes: 10, PackPrice: 20, PackTests: 40}}}
	rng := num.Source(1, 2, 3)
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40} {
		for v := range 3 {
			y := float64(int((c+0.25*rng.NormFloat64())*1000)) / 1000
			t.Observations = append(t.Observations, knownwater.Observation{Method: "Meter", Level: c, ULevel: 0.001, Text: fmt.Sprintf("%.3f", y), Seen: interval.Interval{Low: y - 0.0005, High: y + 0.0005},
				Dilution: 1, Count: 1, Vial: fmt.Sprint("v", c, v), Row: len(t.Observations) + 2})
		}
	}
	if _, err := s.bench.ImportTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, trials.DataSet{Title: "Spring", Source: "spring.csv", Data: t}); err != nil {
		s.t.Fatal(err)
	}
}

// ready asks again until what was asked for is worked out.
func (s *site) ready(path string) string {
	s.t.Helper()
	for range 100 {
		a := s.get(path)
		if a.StatusCode != http.StatusOK {
			s.t.Fatalf("%s: status %d\n%s", path, a.StatusCode, inside(a.body))
		}
		if !strings.Contains(a.body, "Working it out") {
			return laidOut(a.body)
		}
		time.Sleep(200 * time.Millisecond)
	}
	s.t.Fatal(path + " is never ready")
	return ""
}

// Needs in words, what is chosen for them, what is beyond a limit, and an experiment that
// becomes a plan.
func TestChoices(t *testing.T) {
	s := newSite(t, false)
	if page := laidOut(s.get("/choices").body); !strings.Contains(page, "Say first") {
		t.Fatalf("an empty bench: %s", inside(page))
	}
	about := []string{"analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "tests_a_month", "12"}
	need := func(pairs ...string) url.Values { return form1(append(about, pairs...)...) }
	s.must("/needs", need("name", "hold", "words", "hold", "words_numbers", "1,5 9.5"))
	s.must("/needs", need("name", "in a hurry", "words", "hold", "words_numbers", "1.5 9.5", "minutes_at_most", "5"))
	s.must("/needs", need("name", "close", "low", "1.5", "high", "6", "permitted", "at 1.5 ± 0.75", "readers", "2", "hazards", "acid, heat", "wrong_above", "5", "usual_low", "1", "usual_high", "8", "change", "0.75", "sure", "0.9"))
	for _, bad := range []url.Values{need("name", "x", "words", "rise", "words_numbers", "1"), need("name", "x", "words", "more", "words_numbers", "zero"),
		need("name", "x", "words", "hold", "words_numbers", "2 6", "hazards", "fire"),
		need("name", "x", "words", "hold", "words_numbers", "2 6", "change", "-1"), need("name", "x", "words", "hold", "words_numbers", "2 6", "sure", "95")} {
		if a := s.post("/needs", bad); a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d", bad, a.StatusCode)
		}
	}
	page := laidOut(s.get("/needs/3").body)
	for _, want := range []string{`value="acid, heat"`, `name="usual_high"`, `name="change" type="text" value="0.75"`, `name="sure" type="text" value="0.9"`} {
		if !strings.Contains(page, want) {
			t.Errorf("what was said is lost: no %s\n%s", want, inside(page))
		}
	}
	s.meteredTrial()

	page = s.ready("/choices?need=1")
	for _, want := range []string{"Use Meter, one test, as read.", "permitted ±2 at 1.5, ±2 at 9.5; 12 answers a month", ">72</td>", "average of 2 tests, as read; follows from what was tried"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q\n%s", want, inside(page))
		}
	}
	inN := s.inUnits(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"}).ready("/choices?need=1") // by 4.4266: 1.5, 9.5 and 2 are 0.339, 2.146 and 0.452
	for _, want := range []string{"Use Meter, one test, as read.", "0.339 to 2.15 mg/L N; permitted ±0.45 at 0.339, ±0.45 at 2.15; 12 answers a month", ">72</td>"} {
		if !strings.Contains(inN, want) {
			t.Errorf("in nitrogen no %q\n%s", want, inside(inN))
		}
	}
	if page = s.ready("/choices?need=1&answers=24"); !strings.Contains(page, ">144</td>") {
		t.Errorf("24 answers a month cost 144\n%s", inside(page))
	}
	if page = s.ready("/choices?need=2"); !strings.Contains(page, "Nothing to use: Meter would do, but it takes 10 minutes; you asked for 5.") {
		t.Errorf("ten minutes for a need of five\n%s", inside(page))
	}
	if page = laidOut(s.get("/choices?need=1&answers=often").body); !strings.Contains(page, "answers a month: “often”: a number from 0 to 1000") {
		t.Errorf("no fault\n%s", inside(page))
	}

	page = s.ready("/choices?need=3&next=1")
	x := regexp.MustCompile(`(?s)<form class="experiment".*?</form>`).FindString(page)
	if !strings.Contains(x, "would settle “close” in") {
		t.Fatalf("nothing is advised\n%s", inside(page))
	}
	if at := s.must("/choices/stop", url.Values{"query": {"need=3&next=1"}}); at != "/choices?need=3&next=1&stopped=1" {
		t.Errorf("stopped: %s", at)
	}
	if page := laidOut(s.get("/choices?need=3&next=1&stopped=1").body); !strings.Contains(page, "<h1>Stopped</h1>") || !strings.Contains(page, `href="/choices?need=3&amp;next=1"`) {
		t.Errorf("no way to begin again\n%s", inside(page))
	}
	if a := s.post("/choices/stop", url.Values{"query": {"%zz"}}); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no address: %d", a.StatusCode)
	}
	plan := url.Values{}
	for _, m := range regexp.MustCompile(`name="(\w+)" value="([^"]*)"`).FindAllStringSubmatch(x, -1) {
		plan.Add(m[1], m[2])
	}
	at := s.must("/choices/plan", plan)
	if !regexp.MustCompile(`^/trials/\d+/plan$`).MatchString(at) {
		t.Fatal(at)
	}
	page = laidOut(s.get(at).body)
	for _, level := range plan["level"] {
		if !strings.Contains(page, `value="`+level+`"`) {
			t.Errorf("the plan has no known %s\n%s", level, inside(page))
		}
	}
	if !strings.Contains(page, "Further vials: Meter") {
		t.Errorf("no title\n%s", inside(page))
	}
	for _, bad := range []url.Values{{}, {"trial": {"1"}, "method": {"Abacus"}, "each": {"2"}, "level": {"3"}}, {"trial": {"1"}, "method": {"Meter"}, "each": {"2"}, "level": {"3.3"}},
		{"trial": {"1"}, "method": {"Meter"}, "each": {"-1"}, "level": {"x"}}} {
		if a := s.post("/choices/plan", bad); a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d", bad, a.StatusCode)
		}
	}
}
