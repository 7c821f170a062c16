package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"knownwater/science/assess"
	"knownwater/science/num"
)

func jsonOf(t *testing.T, f assess.Findings) (string, map[string]any) {
	t.Helper()
	var b bytes.Buffer
	if err := JSON(&b, f); err != nil {
		t.Fatal(err)
	}
	var v map[string]any
	if err := json.Unmarshal(b.Bytes(), &v); err != nil {
		t.Fatal(err)
	}
	return b.String(), v
}

// The keys that docs/formats.md fixes, place by place.
var contract = map[string]string{
	"":                        "questions water_stated analyte unit basis seed version methods",
	"questions":               "kind method text holds_back at",
	"questions.at":            "row level reading",
	"methods":                 "method kind dilution n lots levels spread line limits steps techniques needs read_back notes",
	"methods.levels":          "level u_level n mean mean_low mean_high sd sd_low sd_high bias bias_low bias_high recovery recovery_low recovery_high single_u midpoint_mean",
	"methods.spread":          "sigma0 kappa repeatability_sd reader_sd session_sd vial_sd",
	"methods.line":            "intercept intercept_se slope slope_se lack_of_fit_p",
	"methods.limits":          "critical detection quantification",
	"methods.steps":           "at smallest_step",
	"methods.techniques":      "from to difference low high verdict",
	"methods.needs":           "need verdict raw corrected more_tests within_limits by_lot untried_lot averages",
	"methods.needs.raw":       "worst_at error_95 error_95_low error_95_high permitted",
	"methods.needs.corrected": "worst_at error_95 error_95_low error_95_high permitted",
	"methods.read_back":       "reading level low high open",
	"procedures":              "method branches needs",
	"procedures.branches":     "dilution from to",
	"procedures.needs":        "need verdict raw corrected by_lot untried_lot averages within_limits",
}

func TestJSONKeepsTheContract(t *testing.T) {
	f, _ := fixture()
	_, v := jsonOf(t, f)
	for path, keys := range contract {
		object := v
		if path != "" {
			for _, step := range strings.Split(path, ".") {
				switch x := object[step].(type) {
				case map[string]any:
					object = x
				case []any:
					object, _ = x[0].(map[string]any)
				}
			}
		}
		for _, key := range strings.Fields(keys) {
			if _, ok := object[key]; !ok {
				t.Errorf("%s has no %q", path, key)
			}
		}
	}
}

func TestJSONWritesNullAndFullPrecision(t *testing.T) {
	f := assess.Findings{Analyte: "a<b", Seed: 18446744073709551615, Methods: []assess.MethodFinding{{Method: "m",
		Levels: []assess.LevelFinding{{Level: 0.1, Mean: num.None, MeanLow: num.Number(1) / 3}}}}}
	s, v := jsonOf(t, f)
	for _, want := range []string{`"mean": null`, `"mean_low": 0.3333333333333333`, `"seed": 18446744073709551615`, `"a<b"`, `"notes": []`, `"questions": []`} {
		if !strings.Contains(s, want) {
			t.Errorf("no %s in\n%s", want, s)
		}
	}
	if strings.Contains(s, ": null,\n \"") && v["methods"] == nil {
		t.Error("a list left as null")
	}
	if f.Methods[0].Notes != nil {
		t.Error("JSON changed its argument")
	}
}

func TestJSONComesBackWhole(t *testing.T) {
	f, _ := fixture()
	s, _ := jsonOf(t, f)
	var g assess.Findings
	if err := json.Unmarshal([]byte(s), &g); err != nil {
		t.Fatal(err)
	}
	if d, err := Compare(f, g, 17); err != nil || len(d) > 0 {
		t.Errorf("%v %v", d, err)
	}
}

// Compare lists where b says something else than a. The version is not compared:
// it says who computed, not what was found.
func Compare(a, b assess.Findings, digits int) ([]Difference, error) {
	a.Version, b.Version = "", ""
	x, err := tree(a)
	if err != nil {
		return nil, err
	}
	y, err := tree(b)
	if err != nil {
		return nil, err
	}
	c := comparison{tolerance: math.Pow10(-digits)}
	c.walk("", x, y)
	return c.out, nil
}

// tree is the findings as JSON sees them, numbers as they are written.
func tree(f assess.Findings) (v any, err error) {
	var b bytes.Buffer
	if err := JSON(&b, f); err != nil {
		return nil, err
	}
	dec := json.NewDecoder(&b)
	dec.UseNumber()
	err = dec.Decode(&v)
	return v, err
}

func TestCompare(t *testing.T) {
	f, _ := fixture()
	change := func(edit func(*assess.Findings)) []Difference {
		g, _ := fixture()
		edit(&g)
		d, err := Compare(f, g, 9)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	if d := change(func(g *assess.Findings) { g.Version = "9"; g.Methods[0].Levels[1].Mean *= 1 + 1e-10 }); len(d) != 0 {
		t.Errorf("the version and the eleventh digit do not count: %v", d)
	}
	if d := change(func(g *assess.Findings) { g.Methods[3].Levels[1].Mean *= 1 + 1e-8 }); len(d) != 1 || d[0].Path != "methods[Cedar meter].levels[1].mean" {
		t.Errorf("a change in the ninth digit: %v", d)
	}
	if d := change(func(g *assess.Findings) { g.Methods[0].Levels[1].Mean = num.None }); len(d) != 1 || d[0].Now != "null" {
		t.Errorf("a number that is gone: %v", d)
	}
	if d := change(func(g *assess.Findings) { g.Methods[0].Needs[0].Verdict = "fit" }); len(d) != 1 || d[0].String() != `methods[Alder card].needs[0].verdict: was "undecided", now "fit"` {
		t.Errorf("a verdict: %v", d)
	}
	if d := change(func(g *assess.Findings) { g.Methods = g.Methods[:4] }); len(d) != 1 {
		t.Errorf("a method less: %v", d)
	}
	if d := change(func(g *assess.Findings) { g.Seed++ }); len(d) != 1 {
		t.Errorf("another seed: %v", d)
	}
}
