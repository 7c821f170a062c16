package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/unit"
)

// swappedTable is a meter at four knowns, two of its vials taken for each other: v7
// holds what stands beside v16.
func swappedTable() string {
	var b strings.Builder
	b.WriteString("method,level,reading,vial\n")
	n := 0
	for _, c := range []float64{0, 2, 5, 20} {
		for k := range 5 {
			n++
			y := c + 0.1*float64(k-2) + 0.3
			switch n {
			case 8:
				y = 20.2
			case 17:
				y = 2.3
			}
			fmt.Fprintf(&b, "Meter,%g,%.1f,v%d\n", c, y, n)
		}
	}
	return b.String()
}

// A question of the findings is answered with a button and a reason, the findings
// follow, the report can be computed again, and the answer can be taken back.
func TestAnswers(t *testing.T) {
	s := newSite(t, false)
	data, err := intake.Trial(intake.Source{Name: "x.csv", Data: []byte(swappedTable())}, intake.Source{}, intake.Source{})
	if err != nil {
		t.Fatal(err)
	}
	data.Scale = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	data.Needs = []knownwater.Need{{Name: "hold", Low: 0, High: 20, Permitted: []knownwater.Permit{{At: 0, Error: 1}, {At: 20, Error: 2}}}}
	made, err := s.bench.ImportTrial(t.Context(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, trials.DataSet{Data: data, Title: "Swapped", Source: "x.csv"})
	if err != nil {
		t.Fatal(err)
	}
	at := fmt.Sprintf("/trials/%d", made.ID)
	page := s.get(at + "/findings").body
	key := regexp.MustCompile(`name="question" value="(swap: [^"]+)"`).FindStringSubmatch(page)
	if key == nil || !strings.Contains(page, "Not swapped") || !strings.Contains(page, "Can’t tell") {
		t.Fatalf("no buttons for the swap: %v", key)
	}
	if a := s.post(at+"/answers", url.Values{"question": {key[1]}, "answer": {"yes 0"}}); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("without a reason: %d", a.StatusCode)
	}
	if page = s.get(at + "/findings").body; !strings.Contains(page, "Not kept") || strings.Contains(page, "<b>Answered") {
		t.Error("an answer without a reason was kept")
	}
	s.post(at+"/answers", url.Values{"question": {key[1]}, "answer": {"yes 0"}, "why": {"the rack was turned"}})
	page = s.get(at + "/findings").body
	if !strings.Contains(page, "<b>Answered: yes.</b>") || !strings.Contains(page, "the rack was turned") || strings.Contains(page, ">Not swapped<") {
		t.Error("the answer does not stand on the findings")
	}
	if why := s.get(at).body; !strings.Contains(why, "answered with yes") {
		t.Error("the trial's story does not tell of the answer")
	}
	report := s.get(at + "/report.html").body
	recomputed(t, report)
	if link := `href="` + at + `/readings?dilution=1&amp;level=2&amp;method=Meter&amp;text=2.3"`; !strings.Contains(page, link) || strings.Contains(report, at+"/readings") {
		t.Error("a mark of the ladder does not lead to its reading, or does so in a report that goes out")
	}
	s.post(at+"/answers", url.Values{"question": {"water"}, "answer": {"water"}, "why": {"measured"}, "salinity": {"34,5"}, "temperature": {"25"}})
	if page = s.get(at + "/findings").body; strings.Contains(page, "Which salinity and temperature had the water?") && !strings.Contains(page, "<b>Answered: the water.</b>") {
		t.Error("the water was told, and is asked for")
	}
	recomputed(t, s.get(at+"/report.html").body)
	s.post(at+"/answers", url.Values{"question": {key[1]}, "answer": {"open"}})
	if page = s.get(at + "/findings").body; !strings.Contains(page, ">Not swapped<") || strings.Contains(page, "<b>Answered: yes.</b>") {
		t.Error("the answer was not taken back")
	}
	if a := s.post(at+"/answers", url.Values{"question": {"swap: nobody"}, "answer": {"no"}, "why": {"x"}}); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("an answer to nothing: %d", a.StatusCode)
	}
}

// recomputed fails where a report is not what its own inputs give.
func recomputed(t *testing.T, page string) {
	t.Helper()
	d, err := report.Open(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	trial, err := intake.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	told := report.Page{Findings: assess.Run(trial, assess.Options{Seed: d.Seed, Version: d.Version}), Trial: trial, Inputs: d.Inputs}
	if err := told.Write(&b); err != nil || b.String() != page {
		t.Errorf("computed again, the report is another page: %v", err)
	}
}
