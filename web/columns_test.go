package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// foreign is a table whose headings say nothing to the program.
const foreign = "Probe;Soll;Ist;Wetter\nKarte;0;0,2;Regen\nKarte;0;0,1;Regen\nKarte;5;4,5;Sonne\nKarte;5;4,6;Sonne\nKarte;10;9,5;Sonne\nKarte;10;9,6;Sonne\n"

// Columns that are not understood are asked about at once, and what was said is known
// at the next table with the same header.
func TestColumnsAreAskedAbout(t *testing.T) {
	s := newSite(t, false)
	v := url.Values{"pasted": {foreign}, "analyte": {"nitrate"}, "do": {"look"}}
	a := s.post("/start/readings", v)
	if a.StatusCode != http.StatusOK || !strings.Contains(a.body, "What is each column?") || !strings.Contains(a.body, "“Soll” is") {
		t.Fatalf("%d: the columns are not asked about", a.StatusCode)
	}
	for i, c := range [][2]string{{"Probe", "method"}, {"Soll", "level"}, {"Ist", "reading"}, {"Wetter", "-"}} {
		v.Set("head_"+string(rune('0'+i)), c[0])
		v.Set("as_"+string(rune('0'+i)), c[1])
	}
	if a = s.post("/start/readings", v); strings.Contains(a.body, "What is each column?") || !strings.Contains(a.body, "6 readings of 1 method at 3 knowns") {
		t.Fatalf("what was said is not taken: %s", a.body)
	}
	v.Set("do", "judge")
	v.Set("kind_0", "display")
	v.Set("name_0", "Karte")
	if a = s.post("/start/readings", v); a.StatusCode != http.StatusSeeOther {
		t.Fatalf("not judged: %d %s", a.StatusCode, a.body)
	}
	again := url.Values{"pasted": {strings.Replace(foreign, "9,6", "9,7", 1)}, "analyte": {"nitrate"}, "do": {"look"}}
	if a = s.post("/start/readings", again); strings.Contains(a.body, "What is each column?") || !strings.Contains(a.body, "all understood") {
		t.Error("the bench has forgotten what the columns are")
	}
	again.Set("pasted", strings.Replace(foreign, "Wetter", "Mond", 1))
	if a = s.post("/start/readings", again); !strings.Contains(a.body, "What is each column?") {
		t.Error("another header is taken for this one")
	}
}
