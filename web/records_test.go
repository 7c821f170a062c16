package web

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// finishedTrial is an invented trial of a chart by two readers, brought in whole; scale is
// how much the chart shows of what there is.
func (s *site) finishedTrial(title string, seed uint64, scale float64) string {
	s.t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1))
	m := knownwater.Method{Name: "Violet card", Kind: knownwater.Chart, Swatches: []float64{0, 2, 5, 10, 25}, AtShare: 0.25}
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, Methods: []knownwater.Method{m}}
	for i, level := range []float64{0, 1, 2.5, 4, 7, 12, 18} {
		for vial := range 4 {
			for _, reader := range []string{"Ines", "Tomo"} {
				text := reading.Show(max(0, scale*level*(1+0.08*rng.NormFloat64())+0.15*rng.NormFloat64()), m)
				seen, err := reading.Understand(text, m)
				if err != nil {
					s.t.Fatal(err)
				}
				t.Observations = append(t.Observations, knownwater.Observation{Method: m.Name, Level: level, ULevel: 0.01 + 0.005*level, Text: text, Seen: seen, Dilution: 1,
					Reader: reader, Session: "1", Vial: fmt.Sprint(i, "-", vial), Count: 1, Row: len(t.Observations) + 2})
			}
		}
	}
	made, err := s.bench.ImportTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, trials.DataSet{Title: title, Source: title + ".csv", Data: t})
	if err != nil {
		s.t.Fatal(err)
	}
	return fmt.Sprint("/trials/", made.ID)
}

var keyOf = regexp.MustCompile(`name="key" value="([A-Z0-9]{20,})"`)

// TestReadByARecord adopts a finished trial's record, reads by it, keeps and corrects a
// result, and sees what a later trial's record says beside it.
func TestReadByARecord(t *testing.T) {
	s := newSite(t, false)
	s.must("/needs", form1("name", "hold it low", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "low", "0", "high", "3", "permitted", "at 3 ± 1"))
	trial := s.finishedTrial("spring", 1, 1)
	if page := s.get(trial + "/findings").body; !strings.Contains(page, `href="`+trial+`/adopt"`) {
		t.Fatalf("the findings do not lead to adopting\n%s", inside(page))
	}
	page := s.get(trial + "/adopt").body
	m := regexp.MustCompile(`name="method" value="(\d+)"`).FindStringSubmatch(page)
	if m == nil || !strings.Contains(page, "Use the record of Violet card") {
		t.Fatalf("nothing to adopt\n%s", inside(page))
	}
	record := s.must(trial+"/adopt", form1("method", m[1]))
	page = laidOut(s.get(record).body)
	for _, want := range []string{"Version 1 of the record of Violet card", "In use: every reading", "Ines, Tomo", "None is kept yet", `href="/read?with=record-1"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the record does not say %q\n%s", want, inside(page))
		}
	}
	for path, want := range map[string]string{"/calibrations": `href="/read?with=record-1"`, trial + "/adopt": "is in use"} {
		if a := s.get(path); !strings.Contains(laidOut(a.body), want) {
			t.Errorf("%s does not say %q\n%s", path, want, inside(a.body))
		}
	}

	page = laidOut(s.get("/read").body)
	if n := strings.Count(page, `name="reading" value="`); n != 10 || !strings.Contains(page, `value="5..10"`) || !strings.Contains(page, "Match on the card") || !strings.Contains(page, `name="reader" value="Ines"`) {
		t.Fatalf("the pad has %d bricks\n%s", n, inside(page))
	}
	q := url.Values{"with": {"record-1"}, "reading": {"5..10"}, "reader": {"Ines"}}
	page = laidOut(s.get("/read?" + q.Encode()).body)
	for _, want := range []string{"Between ", "most likely", "Hold it low, 0 to 3: inside with", "It is above.", `value="5..10" checked`, "Keep 5..10", `class="m-need"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the answer does not say %q\n%s", want, inside(page))
		}
	}
	to := s.must("/read", url.Values{"with": {"record-1"}, "readings": {"5..10"}, "reader": {"Ines"}, "water": {"north tank"}, "key": {keyOf.FindStringSubmatch(page)[1]}})
	page = laidOut(s.get(to).body)
	if !strings.HasPrefix(to, record+"/results/") || !strings.Contains(page, "north tank: ") || !strings.Contains(page, "version 1 of the record") {
		t.Fatalf("kept at %s\n%s", to, inside(page))
	}
	if a := s.post(to, form1("key", keyOf.FindStringSubmatch(page)[1], "water", "north tank", "readings", "6..blue", "why", "x")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `class="wrong"`) {
		t.Errorf("a correction that is no reading: %d\n%s", a.StatusCode, inside(a.body))
	}
	next := s.must(to, form1("key", keyOf.FindStringSubmatch(page)[1], "water", "north tank", "readings", "5", "reader", "Ines", "why", "read the wrong row"))
	page = laidOut(s.get(next).body)
	if next == to || !strings.Contains(page, "read the wrong row") || !strings.Contains(page, `class="was"`) {
		t.Errorf("corrected at %s\n%s", next, inside(page))
	}

	// a later trial, in which the card shows a fifth less, takes the first one's place
	trial2 := s.finishedTrial("autumn", 2, 0.8)
	if a := s.post(trial2+"/adopt", form1("method", m[1])); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `name="why"`) {
		t.Errorf("without a reason: %d\n%s", a.StatusCode, inside(a.body))
	}
	if again := s.must(trial2+"/adopt", form1("method", m[1], "why", "half a year later")); again != record {
		t.Errorf("the next version stands at %s", again)
	}
	page = laidOut(s.get(next).body)
	if !strings.Contains(page, "Version 2, now in use, says") || !strings.Contains(page, "The value kept still stands.") {
		t.Errorf("the newer version does not speak beside it\n%s", inside(page))
	}
	page = laidOut(s.get(record).body)
	for _, want := range []string{"Version 2 of the record", "half a year later", "version 2, in use, says", ">north tank</a>"} {
		if !strings.Contains(page, want) {
			t.Errorf("the record does not say %q\n%s", want, inside(page))
		}
	}
	if back := s.must(record+"/adopt", form1("version", "1", "why", "the old pack again")); back != record || !strings.Contains(s.get(record).body, "Version 1 of the record") {
		t.Errorf("the first version is not in use again: %s", back)
	}
	last := s.must(next, form1("do", "withdraw", "key", keyOf.FindStringSubmatch(s.get(next).body)[1], "why", "the wrong vial"))
	if page := s.get(last).body; !strings.Contains(page, "Withdrawn: the wrong vial") || strings.Contains(page, "Keep the correction") {
		t.Errorf("withdrawn\n%s", inside(page))
	}
	s.must(record+"/retire", form1("retired", "yes"))
	if page := s.get("/read").body; !strings.Contains(page, "No calibration is in use yet") {
		t.Errorf("a record that is put away is read by\n%s", inside(page))
	}
	for path, want := range map[string]int{"/records/9": 404, record + "/results/9": 404, "/trials/9/adopt": 404} {
		if a := s.get(path); a.StatusCode != want {
			t.Errorf("%s: status %d, want %d", path, a.StatusCode, want)
		}
	}
}

// TestSeveralReadersOfOneSample: one more of this sample can be another person's; it is kept,
// shown and corrected with who read which, and with one person nothing is said twice.
func TestSeveralReadersOfOneSample(t *testing.T) {
	s := newSite(t, false)
	trial := s.finishedTrial("spring", 1, 1)
	m := regexp.MustCompile(`name="method" value="(\d+)"`).FindStringSubmatch(s.get(trial + "/adopt").body)
	s.must(trial+"/adopt", form1("method", m[1]))
	page := laidOut(s.get("/read?with=record-1&reader=Ines&reading=5").body)
	again := regexp.MustCompile(`href="([^"]*)">One more of this sample`).FindStringSubmatch(page)
	if again == nil || strings.Contains(page, `name="by"`) {
		t.Fatalf("of one reading\n%s", inside(page))
	}
	more := strings.ReplaceAll(again[1], "&amp;", "&")
	page = laidOut(s.get(more).body)
	if !strings.Contains(page, "Of this sample already: 5 by Ines.") || !strings.Contains(page, `name="by" value="Ines"`) {
		t.Fatalf("%s\n%s", more, inside(page))
	}
	if one := laidOut(s.get(more + "&reading=5..10").body); strings.Contains(one, `name="by" value="Ines"> <input type="hidden" name="by"`) || !strings.Contains(one, "Keep 5, 5..10") {
		t.Errorf("two by one reader\n%s", inside(one))
	}
	page = laidOut(s.get(strings.Replace(more, "reader=Ines", "reader=Tomo", 1) + "&reading=5..10").body)
	if strings.Count(page, `name="by" value="Tomo"`) != 1 || !strings.Contains(page, `before=5&amp;before=5..10&amp;by=Ines&amp;by=Tomo&amp;`) || !strings.Contains(page, "reader=Ines") {
		t.Fatalf("by two readers\n%s", inside(page))
	}
	key := func(page string) string { return keyOf.FindStringSubmatch(page)[1] }
	to := s.must("/read", url.Values{"with": {"record-1"}, "readings": {"5", "5..10"}, "by": {"Ines", "Tomo"}, "reader": {"Tomo"}, "water": {"north tank"}, "key": {key(page)}})
	page = laidOut(s.get(to).body)
	if !strings.Contains(page, "<dd>Ines; Tomo</dd>") || !strings.Contains(page, `name="reader"`) {
		t.Errorf("kept\n%s", inside(page))
	}
	three := form1("key", key(page), "water", "north tank", "readings", "5 5..10 5", "reader", "Ines; Tomo", "why", "one was forgotten")
	if a := s.post(to, three); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "one for each in their order, with semicolons between") {
		t.Errorf("two readers of three readings: %d\n%s", a.StatusCode, inside(a.body))
	}
	three.Set("reader", "Ines; Tomo; Ines")
	if page := s.get(s.must(to, three)).body; !strings.Contains(page, "Ines; Tomo; Ines") {
		t.Errorf("corrected\n%s", inside(page))
	}
	if page := laidOut(s.get("/read?with=record-1").body); !strings.Contains(page, `name="reader" value="Ines" checked`) {
		t.Errorf("the first reader is not chosen the next time\n%s", inside(page))
	}
}

// TestRecordRoles: a reader reads and keeps, and sees their own results; the owner
// decides what is in use.
func TestRecordRoles(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.must("/people", form1("name", "Ines", "role", "reader"))
	trial := s.finishedTrial("spring", 1, 1)
	m := regexp.MustCompile(`name="method" value="(\d+)"`).FindStringSubmatch(s.get(trial + "/adopt").body)
	record := s.must(trial+"/adopt", form1("method", m[1]))
	reader, nobody := s.paired(1), s.as()
	for _, path := range []string{"/calibrations", record, trial + "/adopt"} {
		if a := reader.get(path); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader, %s: status %d, want 403", path, a.StatusCode)
		}
		if a := nobody.get(path); a.StatusCode != http.StatusSeeOther {
			t.Errorf("nobody, %s: status %d, want 303", path, a.StatusCode)
		}
	}
	if a := reader.post(trial+"/adopt", form1("method", m[1])); a.StatusCode != http.StatusForbidden {
		t.Errorf("a reader adopts: %d", a.StatusCode)
	}
	page := reader.get("/read?with=record-1&reading=5").body
	key := keyOf.FindStringSubmatch(page)
	if key == nil || !strings.Contains(page, "Keep 5") {
		t.Fatalf("a reader cannot read\n%s", inside(page))
	}
	to := reader.must("/read", url.Values{"with": {"record-1"}, "readings": {"5"}, "reader": {"Ines"}, "water": {"w" + script}, "key": {key[1]}, "note": {script}, "lot": {"l" + script}})
	for path, page := range map[string]string{"theirs": reader.get(to).body, "owner's": s.get(to).body, "list": s.get(record).body,
		"asked": reader.get("/read?" + url.Values{"with": {"record-1"}, "reading": {script}, "before": {script}, "reader": {script}, "lot": {script}}.Encode()).body} {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") {
			t.Errorf("%s: script came through unescaped", path)
		}
	}
	if a := nobody.get(to); a.StatusCode != http.StatusSeeOther {
		t.Errorf("nobody sees a result: %d", a.StatusCode)
	}
}
