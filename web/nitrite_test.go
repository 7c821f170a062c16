package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// reedTable is a table with knowns that hold nitrite: the meter reads 1 mg/L of it as 7 mg/L more.
const reedTable = "method,level,u_level,reading,nitrite,u_nitrite\nReed,0,0.01,0.1,,\nReed,0,0.01,0.0,,\nReed,2,0.01,2.1,,\nReed,2,0.01,1.9,,\nReed,5,0.02,5.1,,\nReed,5,0.02,4.9,,\n" +
	"Reed,8,0.02,8.1,,\nReed,8,0.02,7.9,,\nReed,10,0.02,10.2,,\nReed,10,0.02,9.8,,\nReed,2,0.01,3.4,0.2,0.002\nReed,2,0.01,3.3,0.2,0.002\nReed,2,0.01,4.9,0.4,0.004\nReed,2,0.01,4.7,0.4,0.004\n"

// TestNitrite: a table with nitrite is brought in, its record adopted, and the nitrite of a water taken off where it is
// stated, warned of where it is not; it stands with the result, and can be put right.
func TestNitrite(t *testing.T) {
	s := newSite(t, false)
	v := url.Values{"pasted": {reedTable}, "analyte": {"phosphate"}, "unit": {"mg/L"}, "basis": {"PO4"}, "do": {"judge"}}
	if a := s.post("/start/readings", v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "nitrite in knowns of phosphate") {
		t.Errorf("of phosphate: %d\n%s", a.StatusCode, inside(a.body))
	}
	v = url.Values{"pasted": {reedTable}, "analyte": {"nitrate"}, "do": {"look"}}
	if a := s.post("/start/readings", v); !strings.Contains(a.body, "14 readings of 1 method at 5 knowns, all understood.") || !strings.Contains(laidOut(a.body), "4 readings of knowns that hold nitrite") {
		t.Errorf("looked at:\n%s", inside(a.body))
	}
	v.Set("do", "judge")
	findings := s.must("/start/readings", v)
	trial := strings.TrimSuffix(findings, "/findings")
	page := laidOut(s.get(findings).body)
	if !strings.Contains(page, "Reed reads 1 mg/L of nitrite (NO2) as 6.9 mg/L more nitrate") {
		t.Errorf("the findings do not say it\n%s", inside(page))
	}
	for path, want := range map[string]string{"/readings": "+ 0.4 NO2", "/readings.csv": ",0.4,0.004", "/report.html": "reads 1 mg/L of nitrite"} {
		if a := s.get(trial + path); !strings.Contains(a.body, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	record := s.must(trial+"/adopt", form1("method", fieldOf(s.get(trial+"/adopt").body, "method")))
	card := laidOut(s.get(strings.Replace(record, "/records/", "/cards/", 1)).body)
	if !strings.Contains(card, "It reads 1 mg/L of nitrite (NO2) as 6.9 mg/L NO3 more (5.") {
		t.Errorf("the card:\n%s", inside(card))
	}
	if file := s.get(strings.Replace(record, "/records/", "/cards/", 1) + "/card.json").body; !strings.Contains(file, `"nitrite":{"factor":6.9`) {
		t.Errorf("the card's file: %.400s", file)
	}

	s.must("/waters/new", form1("name", "Marram", "kind", "tank"))
	at := "/read?tank=1&with=record-1&reading=6.0"
	page = laidOut(s.get(at).body)
	for _, want := range []string{"no nitrite stated", "The nitrite of this water is not stated: Reed would read 0.1 mg/L of it", "Nitrite of this water, mg/L NO2"} {
		if !strings.Contains(page, want) {
			t.Errorf("unstated: %q is missing\n%s", want, inside(page))
		}
	}
	if page := s.get("/read?role=check&with=record-1&reading=6.0").body; strings.Contains(page, "Nitrite of this water") {
		t.Error("known water is asked for its nitrite")
	}
	page = laidOut(s.get(at + "&nitrite=0,3&u_nitrite=0.05").body)
	for _, want := range []string{"most likely 3.9", "2.1 was taken off for 0.3 mg/L nitrite", ", nitrite 0,3"} {
		if !strings.Contains(page, want) {
			t.Errorf("stated: %q is missing\n%s", want, inside(page))
		}
	}
	for _, bad := range []string{"&nitrite=blue", "&nitrite=-1", "&nitrite=0.3&u_nitrite=x", "&u_nitrite=0.1", "&nitrite=1e9", "&nitrite=NaN"} {
		if a := s.get(at + bad); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `class="wrong`) {
			t.Errorf("%s: %d\n%s", bad, a.StatusCode, inside(a.body))
		}
	}
	s.curveInUse() // of nitrate: its results are no nitrite
	strips := "method,level,u_level,reading\n"
	for i, level := range []float64{0, 0, 0.1, 0.1, 0.2, 0.2, 0.5, 0.5} {
		strips += fmt.Sprintf("Strip meter,%g,0.001,%.3f\n", level, level+0.002*float64(i%2))
	}
	findings = s.must("/start/readings", url.Values{"pasted": {strips}, "analyte": {"nitrite"}, "do": {"judge"}})
	trial = strings.TrimSuffix(findings, "/findings")
	s.must(trial+"/adopt", form1("method", fieldOf(s.get(trial+"/adopt").body, "method")))
	if page := s.get(at).body; strings.Contains(page, "Its nitrite") {
		t.Error("nitrite that nobody found is offered")
	}
	s.must("/read", url.Values{"with": {"record-2"}, "tank": {"1"}, "readings": {"0.3"}, "reader": {""}, "key": {"0123456789abcdef0122"}})
	if page := laidOut(s.get(at).body); !strings.Contains(page, "Its nitrite: 0.") || !strings.Contains(page, "nitrite=0.") {
		t.Errorf("nitrite found this evening is not offered\n%s", inside(page))
	}
	keep := url.Values{"with": {"record-1"}, "tank": {"1"}, "readings": {"6.0"}, "reader": {""}, "nitrite": {"0.3"}, "u_nitrite": {"0.05"}, "key": {"0123456789abcdef0123"}}
	s.must("/read", keep)
	if page := laidOut(s.get("/waters/1?of=nitrate").body); !strings.Contains(page, "nitrite 0.3</span>") {
		t.Errorf("its water does not say the nitrite\n%s", inside(page))
	}
	result := record + "/results/2"
	page = laidOut(s.get(result).body)
	for _, want := range []string{"3.9", "0.3 ± 0.05 mg/L NO2", `name="nitrite" type="text" value="0.3"`, "2.1 was taken off"} {
		if !strings.Contains(page, want) {
			t.Errorf("kept: %q is missing\n%s", want, inside(page))
		}
	}
	to := s.must(result, url.Values{"key": {"0123456789abcdef0124"}, "water": {"Marram"}, "readings": {"6.0"}, "nitrite": {""}, "why": {"it was another sample's"}})
	if page := laidOut(s.get(to).body); !strings.Contains(page, "most likely 6") || strings.Contains(page, "<dt>Nitrite</dt>") {
		t.Errorf("put right:\n%s", inside(page))
	}

	log := "taken_at,water,method,reading,nitrite\n2025-03-01,Marram,Reed,6.0,\n2025-03-08,Marram,Reed,6.0,0.3\n"
	s.must("/waters/earlier", url.Values{"pasted": {log}, "do": {"keep"}})
	if a := s.post("/waters/earlier", url.Values{"pasted": {strings.Replace(log, "2025", "2125", 1)}, "do": {"keep"}}); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "2125-03-01, a day to come") {
		t.Errorf("a day to come: %d\n%s", a.StatusCode, inside(a.body))
	}
	csv := s.get("/waters/1/history.csv").body
	if !strings.Contains(csv, ",0.3,0,mg/L NO3,3.9") {
		t.Errorf("the history as a table:\n%s", csv)
	}
	if page := laidOut(s.get("/waters/1/history").body); !strings.Contains(page, "nobody states the nitrite of some results") {
		t.Errorf("the history does not warn\n%s", inside(page))
	}

	// nitrate and nitrite of one water stand apart, each with its own history
	page = laidOut(s.get("/waters/1/history").body)
	for _, want := range []string{`of=nitrate%2Cmg%2FL%2CNO3" aria-current="true">nitrate</a>`, `of=nitrite%2Cmg%2FL%2CNO2">nitrite</a>`, `name="of" value="nitrate,mg/L,NO3"`} {
		if !strings.Contains(page, want) {
			t.Errorf("two analytes: %q is missing\n%s", want, inside(page))
		}
	}
	if strings.Contains(page, "Strip meter") {
		t.Error("nitrite stands in the history of nitrate")
	}
	page = laidOut(s.get("/waters/1/history?of=nitrite%2Cmg%2FL%2CNO2").body)
	if !strings.Contains(page, "Strip meter") || strings.Contains(page, "Reed") || !strings.Contains(page, "history.csv?of=nitrite%2cmg%2fL%2cNO2") {
		t.Errorf("the history of nitrite\n%s", inside(page))
	}
	if csv := s.get("/waters/1/history.csv?of=nitrite%2Cmg%2FL%2CNO2").body; strings.Count(csv, "\n") != 2 || !strings.Contains(csv, "Strip meter") {
		t.Errorf("its table:\n%s", csv)
	}
	for path, other := range map[string]string{"/waters/1?of=nitrate": "Strip meter", "/waters/1?of=nitrite": ">Reed", "/waters/1?of=" + url.QueryEscape(script): "<script>alert"} {
		if page := s.get(path).body; strings.Contains(page, other) || !strings.Contains(page, `aria-label="What was tested"`) {
			t.Errorf("%s:\n%s", path, inside(page))
		}
	}
}

// TestPlanAsksForNitrite: knowns that hold nitrite stand in a plan of nitrate below the others, and nothing typed is lost.
func TestPlanAsksForNitrite(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	plan := s.must("/trials", form1("title", "Nitrite"))
	v := s.smallPlan()
	for k, x := range map[string]string{"level": "3.4", "u": "0.03", "nitrite": "0.2", "u_nitrite": "0.004", "vials": "3"} {
		v.Set(fmt.Sprintf("known_%s_24", k), x)
	}
	v.Set("do", "save")
	page := laidOut(s.get(s.must(plan, v)).body)
	for _, want := range []string{`<details class="data" open>`, `name="known_nitrite_24" type="text" value="0.2"`, `name="known_u_nitrite_24" type="text" value="0.004"`, `name="known_label_24" type="text" value="3.4 mg/L &#43; 0.2 NO2"`, `name="known_label_1" type="text" value="3.4 mg/L"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the plan does not show %q\n%s", want, inside(page))
		}
	}
	v.Set("do", "propose")
	if page := laidOut(s.post(plan, v).body); !strings.Contains(page, `name="known_nitrite_24" type="text" value="0.2"`) {
		t.Error("levels that were proposed take the known with nitrite away")
	}
	v.Set("known_level_25", "")
	v.Set("known_nitrite_25", "0.4")
	if a := s.post(plan, v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `value="0.4"`) {
		t.Errorf("nitrite without a level: %d", a.StatusCode)
	}
	v.Del("known_nitrite_25")
	v.Set("do", "seal")
	trial := s.must(plan, v)
	if page := laidOut(s.post(trial+"/preparation", url.Values{}).body); !strings.Contains(page, "with 0.2 mg/L nitrite (NO2)") || strings.Count(page, "(blank)") > 1 {
		t.Errorf("the preparation list:\n%s", inside(page))
	}
}
