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
	"knownwater/bench/calibrations"
	"knownwater/demo/shed"
	"knownwater/report"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// inUnits is the same site in a browser whose person wants to see results in these units.
func (s *site) inUnits(scales ...unit.Scale) *site {
	other := s.as()
	v := form1("language", "en", "mark", "", "days", "", "back", "/waters")
	v.Add("unit", "") // as its method has it
	for _, x := range scales {
		v.Add("unit", string(unit.Choices("").With(x)))
	}
	if a := other.post("/shown", v); a.StatusCode != http.StatusSeeOther {
		s.t.Fatalf("the choice was not kept: %d", a.StatusCode)
	}
	return other
}

// inWords are days in words: 3 March, 3 Mar 2026.
var inWords = regexp.MustCompile(`\b\d{1,2} (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*\b( \d{4})?`)

var axisMark = regexp.MustCompile(`<text[^>]*>[^<]*</text>`)

// TestUnits reads the pages of a water in every unit that is offered for it: each says the
// result that was kept, turned, with the unit beside it; what was read, what is typed and
// every file stay as they are.
func TestUnits(t *testing.T) {
	s := newSite(t, false)
	ctx, owner := context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}
	if err := shed.Furnish(ctx, s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	records, err := s.bench.Records(ctx)
	if err != nil {
		t.Fatal(err)
	}
	needs, err := s.bench.Needs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var of []int64
	for _, n := range needs {
		if n.Scale == records[0].Spec.Scale {
			of = append(of, n.ID)
		}
	}
	water, err := s.bench.SaveWater(ctx, owner, 0, knownwater.WaterSpec{Name: "east bay", Kind: knownwater.Tank, Needs: of}, "")
	if err != nil || len(of) == 0 {
		t.Fatal(err, needs)
	}
	var kept calibrations.Result
	for i, text := range []string{"3", "3..6", "6", "6..12", "3..6"} {
		sample := knownwater.Sample{Water: water.ID, Role: knownwater.Routine}
		if kept, err = s.bench.KeepResult(ctx, owner, calibrations.NewResult{Key: fmt.Sprintf("units-%012d", i), Record: records[0].VersionID, Water: "east bay", Signals: text, Reader: "Ines",
			TakenAt: time.Now().AddDate(0, 0, 7*(i-5)), Program: "test", Of: &sample}); err != nil {
			t.Fatal(err)
		}
	}
	at, record := "/waters/"+render.ID(water.ID), "/records/"+render.ID(kept.Record)
	tonight := "/read?" + url.Values{"with": {"record-" + render.ID(records[0].VersionID)}, "reading": {"3..6"}, "reader": {"Ines"}, "tank": {render.ID(water.ID)}}.Encode()
	files := []string{"/cards/" + render.ID(kept.Record) + "/card.json", at + "/history.csv"}
	asIs := map[string]string{}
	for _, f := range files {
		asIs[f] = s.get(f).body
	}
	one := s.get(at).body
	for _, scale := range unit.Offered(kept.Scale.Analyte) {
		turn := unit.Choices("").With(scale).Turn
		said := kept.Said()
		brief, logged := report.ReadingBrief(nil, report.TurnedOutcome(said, turn)), report.LoggedSays(nil, report.TurnedOutcome(said, turn))
		other := s.inUnits(scale)
		shows := func(path string, want ...string) {
			t.Helper()
			page := laidOut(other.get(path).body)
			for _, w := range want {
				if !strings.Contains(page, w) {
					t.Errorf("%s in %s does not say %q\n%s", path, scale, w, inside(page))
				}
			}
		}
		shows(at, logged, "<p class=\"note\">"+scale.String()+"; each", ">3..6</td>")
		if said := strings.Contains(other.get(at).body, "Read: in") && strings.Contains(other.get("/cards/"+render.ID(kept.Record)).body, "Steps in mg/L NO3, as"); said != (scale != kept.Scale) {
			t.Errorf("in %s it is said that what was read is in another unit: %v", scale, said)
		}
		shows("/waters", logged)
		shows(at+"/slip", logged, "read 3..6", "by Ines")
		shows(at+"/history", brief, scale.String()+"; each")
		shows(record, brief)
		shows(record+"/results/"+render.ID(kept.ID), "east bay: "+brief, ">3..6")
		shows("/cards/"+render.ID(kept.Record), ">"+scale.String()+"; 95 % intervals", ">3..6</th>")
		shows(tonight, scale.String()+" (95 %)", "Keep 3..6", `value="3..6" checked`)
		if said := strings.Contains(laidOut(other.get(tonight).body), "what you type here are in mg/L NO3."); said != (scale != kept.Scale) {
			t.Errorf("in %s it is said in which unit one types: %v", scale, said)
		}
		shows("/shown", `value="`+string(unit.Choices("").With(scale))+`" selected>`+scale.String()+"</option>")
		for _, f := range files {
			if got := other.get(f).body; got != asIs[f] || len(got) < 100 {
				t.Errorf("%s hangs on who asks", f)
			}
		}
		if scale != kept.Scale && inside(other.get(at).body) == inside(one) {
			t.Errorf("nothing is turned to %s", scale)
		}
		if scale == kept.Scale && inside(other.get(at).body) != inside(one) {
			t.Error("the method’s own unit looks otherwise when it is chosen")
		}
	}
	// numbers that were worked out by hand: 3 to 6 mg/L NO3 in N are 0.68 to 1.36
	if a := s.inUnits(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"}).get("/needs"); !strings.Contains(a.body, "mg/L NO3") {
		t.Errorf("what is typed is turned, too\n%s", inside(a.body))
	}
	if a := s.inUnits(unit.Scale{Analyte: "phosphate", Unit: "ug/L", Basis: "P"}).get(at); inside(a.body) != inside(one) {
		t.Error("a choice for phosphate turns nitrate")
	}
	daysIn := func(page string) []string { // the marks of a figure's axis are short for everybody
		return inWords.FindAllString(axisMark.ReplaceAllString(laidOut(inside(page)), ""), -1)
	}
	dots := s.as()
	dots.post("/shown", form1("language", "en", "mark", "", "days", "dots"))
	for _, path := range []string{at, at + "/history"} {
		plain, chosen := s.get(path).body, dots.get(path).body
		if len(daysIn(plain)) == 0 || len(daysIn(chosen)) > 0 || !strings.Contains(chosen, kept.TakenAt.Local().Format("02.01.2006")) {
			t.Errorf("%s has days %v, and %v for somebody who wants them with dots", path, daysIn(plain), daysIn(chosen))
		}
		if path != at && !strings.Contains(plain, "<h1>east bay") {
			t.Errorf("%s does not begin with the name as it was given\n%s", path, inside(plain))
		}
	}
	for _, f := range files {
		if dots.get(f).body != asIs[f] {
			t.Errorf("%s hangs on how days are written", f)
		}
	}
	spoilt := s.request("GET", at, "", "")
	spoilt.AddCookie(&http.Cookie{Name: "reading-as", Value: "en...%zz;nitrate:lb/gal"})
	if a := s.do(spoilt); a.StatusCode != http.StatusOK || inside(a.body) != inside(one) {
		t.Errorf("a spoilt cookie: %d", a.StatusCode)
	}
}
