package report

import (
	"encoding/json"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/result"
)

// A card says what was put on it, and refuses what it cannot know.
func TestCardFile(t *testing.T) {
	of := func(est, low, high float64, open inverse.Open) result.Result {
		return result.Result{Answer: inverse.Answer{Estimate: est, Low: low, High: high, Open: open}}
	}
	folded := of(3, 1, 9, "")
	folded.Parts = []interval.Interval{{Low: 1, High: 4}, {Low: 7, High: math.Inf(1)}}
	data, err := json.Marshal(CardFile{Card: 1, Method: "Violet card", Analyte: "nitrate", Unit: "mg/L", Basis: "NO3", Rows: []CardFileRow{
		CardRowOf("6..12", 1, "", of(5.8, 3.2, 10, "")), CardRowOf("6..12", 1, "Ines", of(4.9, 3.1, 7.4, "")),
		CardRowOf(">70", 1, "", of(math.NaN(), 40, math.NaN(), inverse.Above)), CardRowOf("1", 8, "", folded)}})
	if err != nil || !IsCard(data) || IsCard([]byte(`{"model":"line"}`)) || IsCard([]byte("x")) {
		t.Fatal(err)
	}
	c, err := OpenCard(data)
	if err != nil {
		t.Fatal(err)
	}
	ask := func(reader string, dilution float64, readings ...string) (result.Outcome, error) {
		return c.Answer(result.Question{Readings: readings, Reader: reader, Dilution: dilution})
	}
	if o, err := ask("Ines", 1, "6 .. 12"); err != nil || o.Result.Estimate != 4.9 || o.Result.High != 7.4 || len(o.Notes) != 0 || o.Scale.Unit != "mg/L" {
		t.Errorf("%+v %v", o, err)
	}
	if o, err := ask("Tomo", 0, "6..12"); err != nil || o.Result.Estimate != 5.8 || len(o.Notes) != 1 {
		t.Errorf("%+v %v", o, err)
	}
	if o, err := ask("", 1, ">70"); err != nil || o.Result.Open != inverse.Above || !math.IsNaN(o.Result.High) || ReadingBrief(nil, o) != "at least 40.0 mg/L" {
		t.Errorf("%s %v", ReadingBrief(nil, o), err)
	}
	if o, err := ask("", 8, "1"); err != nil || len(o.Result.Parts) != 2 || !math.IsInf(o.Result.Parts[1].High, 1) {
		t.Errorf("%+v %v", o, err)
	}
	for _, bad := range [][]string{{"7"}, {"6..12", "6..12"}, {}} {
		if _, err := ask("", 1, bad...); err == nil {
			t.Errorf("%v was answered", bad)
		}
	}
	if _, err := ask("", 3, "6..12"); err == nil {
		t.Error("a dilution that is not on it was answered")
	}
	if _, err := c.Answer(result.Question{Readings: []string{"6..12"}, Needs: []knownwater.Need{{}}}); err == nil {
		t.Error("a need was answered")
	}
	for _, broken := range []string{`{"knownwater_card":2}`, `{"knownwater_card":1,"rows":"x"}`} {
		if _, err := OpenCard([]byte(broken)); err == nil {
			t.Errorf("%s was opened", broken)
		}
	}
}
