package intake

import (
	"os"
	"strings"
	"testing"
)

// The examples of docs/formats.md are read as they stand there.
func TestDocumentedExamples(t *testing.T) {
	page, err := os.ReadFile("../docs/formats.md")
	if err != nil {
		t.Fatal(err)
	}
	block := map[string]string{}
	for i, part := range strings.Split(string(page), "```") {
		if i%2 == 0 {
			continue
		}
		language, text, _ := strings.Cut(part, "\n")
		first, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
		language, _, _ = strings.Cut(language, " ")
		block[language+" "+first] = text
	}
	methods := src("methods.toml", block[`toml analyte = "nitrate"`])
	needs := src("need.toml", block["toml [[need]]"])
	trial, err := Trial(src("readings.csv", block["csv method,level,u_level,reading,reader,vial,dilution"]), methods, needs)
	if err != nil || len(trial.Observations) != 3 || len(trial.Needs) != 1 {
		t.Errorf("%v, %+v", err, trial)
	}
	wide, err := Trial(src("readings-wide.csv", block["csv known (mg/L),reader,Violet card,Meter,Meter"]), src("methods.toml", block[`toml analyte = "nitrate"`]+"[[method]]\nname = \"Meter\"\nkind = \"display\"\n"), Source{})
	if err != nil || len(wide.Observations) != 5 {
		t.Errorf("%v, %+v", err, wide)
	}
	points, err := Points(src("points.csv", block["csv level,signal,role"]))
	if err != nil || len(points.Points) != 3 || !points.Points[2].Check {
		t.Errorf("%v, %+v", err, points)
	}
	_, err = Trial(src("readings.csv", "method,level,reading\n"+strings.Repeat("Violet card,1,0\n", 15)+"Violet card,1,15..6\n"), methods, Source{})
	if err == nil || !strings.Contains(string(page), err.Error()) {
		t.Errorf("the fault shown is not the fault given: %v", err)
	}
}
