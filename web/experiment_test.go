package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/demo/shed"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/science/unit"
)

// An experiment on waters of the shed, read by its record: what is asked for stands in the address, and
// what it cannot mean is said beside its field.
func TestExperimentOnWaters(t *testing.T) {
	s := newSite(t, false)
	ctx, owner := context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}
	if err := shed.Furnish(ctx, s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	records, err := s.bench.Records(ctx)
	if err != nil {
		t.Fatal(err)
	}
	day := func(week int) time.Time { return time.Now().AddDate(0, 0, 7*(week-12)) }
	sides, east := map[string]string{}, int64(0)
	for tank, name := range []string{"east", "west", "south"} {
		w, err := s.bench.SaveWater(ctx, owner, 0, knownwater.WaterSpec{Name: name, Kind: knownwater.Tank}, "")
		if err != nil {
			t.Fatal(err)
		}
		side := "control"
		if tank == 0 {
			side, east = "treated", w.ID
		}
		sides[name] = fmt.Sprintf("%s=%d&", side, w.ID)
		for week := range 10 {
			text := []string{"3..6", "6"}[(week+tank)%2]
			if week >= 5 && tank == 0 {
				text = []string{"20", "12..20"}[week%2]
			}
			of := knownwater.Sample{Water: w.ID, Role: knownwater.Routine}
			if _, err := s.bench.KeepResult(ctx, owner, calibrations.NewResult{Key: fmt.Sprintf("experiment-%s-%08d", name, week), Record: records[0].VersionID, Water: name, Signals: text, Reader: "Ines", TakenAt: day(week), Program: "test", Of: &of}); err != nil {
				t.Fatal(err)
			}
		}
	}
	from := "from=" + day(5).Format("2006-01-02")
	all := sides["east"] + sides["west"] + sides["south"]
	if a := s.inUnits(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"}).get("/waters/experiment?" + all + from); strings.Count(a.body, " mg/L N") < 4 || strings.Contains(a.body, "mg/L NO3") || strings.Contains(a.body, " mg/L;") {
		t.Errorf("in nitrogen\n%s", inside(a.body))
	}
	for _, c := range []struct {
		query string
		want  []string
	}{
		{"", []string{"Did what you did to a water work?", "west"}},
		{all + from, []string{" raised the treated waters by ", "One treated water: ", "east (treated): about ", "south (control): about ", `id="effect"`, "5 tests before, 5 after", "By themselves these waters"}},
		{sides["east"] + "from=someday&settle=x", []string{"without control waters whatever happens", "a day such as 2026-03-23"}},
		{sides["east"] + strings.Replace(sides["east"], "treated", "control", 1) + from, []string{"a second time"}},
		{all + "from=2099-05-18", []string{"whether it worked cannot be told", "10 results before and 0 after"}},
		{"level=4&wander=0.4&plan_treated=1&plan_control=0&weeks_before=6&weeks_after=6&tests_a_week=1", []string{"a number from 1 to 12"}},
		{"level=4&wander=0.4&plan_treated=1&plan_control=1&weeks_before=6&weeks_after=6&tests_a_week=1", []string{"Birch", "a method without any scatter", "With one water a side"}},
	} {
		a := s.get("/waters/experiment?" + c.query)
		if a.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d", c.query, a.StatusCode)
		}
		for _, w := range c.want {
			if !strings.Contains(a.body, w) {
				t.Errorf("%s: %q is missing", c.query, w)
			}
		}
	}

	// as pages to keep: what stands on the screen stands there, and comes out again
	screen, file := s.get("/waters/experiment?"+all+from), s.get("/waters/experiment.html?"+all+from)
	head := regexp.MustCompile(`What was done on [^<]* raised the treated waters by [^<]*`)
	if a, b := head.FindString(screen.body), head.FindString(file.body); a == "" || a != b || !strings.Contains(screen.body, "/waters/experiment.html?") {
		t.Errorf("the screen says %q, the page %q", a, b)
	}
	stands(t, "the experiment", []byte(file.body))
	file = s.get(fmt.Sprintf("/waters/%d/history.html", east))
	if !strings.Contains(file.body, "Did it change?") {
		t.Errorf("no history: %.300s", file.body)
	}
	stands(t, "the history", []byte(file.body))
	// what a curve read has no inputs of that kind: the page does not offer it, and says so
	if a := s.get("/waters/1/history.html"); a.StatusCode != http.StatusConflict || strings.Contains(s.get("/waters/1/history").body, "history.html") {
		t.Errorf("results by a curve: status %d", a.StatusCode)
	}
	for _, bad := range []string{"", "from=someday&" + all, "from=2026-01-01&" + sides["east"], "from=2026-01-01&control=99&treated=98"} {
		if a := s.get("/waters/experiment.html?" + bad); a.StatusCode == http.StatusOK || a.StatusCode >= 500 {
			t.Errorf("%q: status %d", bad, a.StatusCode)
		}
	}
}

// stands computes a page about a log again from what it carries, and makes it again: nothing may differ.
func stands(t *testing.T, name string, data []byte) {
	t.Helper()
	d, err := report.Apart(bytes.NewReader(data))
	if err != nil || !d.OfLog() {
		t.Fatalf("%s: %v", name, err)
	}
	from := logged.From(d.Inputs, d.Version, nil)
	var again report.LoggedPage
	if d.OfExperiment() {
		p, failed := from.Effect()
		p.Inputs, err = d.Inputs, failed
		again = p
	} else {
		p, failed := from.Judged()
		p.Inputs, err = d.Inputs, failed
		again = p
	}
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	changes, err := d.LoggedChanges(again, 6)
	if err != nil || len(changes) > 0 {
		t.Errorf("%s: %d changes, %v", name, len(changes), err)
	}
}
