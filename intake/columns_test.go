package intake

import (
	"reflect"
	"testing"
)

// A table whose headings say nothing is read as somebody says what they are; the
// columns that are of no account are no methods.
func TestColumnsAsSaid(t *testing.T) {
	src := Source{Name: "x.csv", Data: []byte("Probe;Soll (mg/L NO3);Ist;Wetter\nKarte;5;4,5;Regen\nKarte;10;9,5;Sonne\n")}
	seen, clear := Options{}.Columns(src)
	if want := []ColumnSeen{{"Probe", "-"}, {"Soll (mg/L NO3)", "-"}, {"Ist", "-"}, {"Wetter", "-"}}; clear || !reflect.DeepEqual(seen, want) {
		t.Fatalf("seen %v, clear %v", seen, clear)
	}
	o := Options{Called: map[string]string{"Probe": "method", "Soll (mg/L NO3)": "level", "Ist": "reading", "Wetter": ColumnOut}}
	if _, clear := o.Columns(src); !clear {
		t.Error("not clear although all was said")
	}
	trial, err := o.Trial(src, Source{}, Source{})
	if err != nil || len(trial.Observations) != 2 || trial.Observations[1].Level != 10 || trial.Observations[1].Text != "9.5" && trial.Observations[1].Text != "9,5" {
		t.Fatalf("%+v, %v", trial.Observations, err)
	}
	if trial.Scale.Basis != "NO3" {
		t.Errorf("the unit in the heading is lost: %v", trial.Scale)
	}
	wide := Source{Name: "y.csv", Data: []byte("Soll,Standard,Karte,Wetter\n5,4.5,4.0,1\n")}
	o = Options{Called: map[string]string{"Soll": "level", "Standard": ColumnMethod, "Wetter": ColumnOut}}
	if trial, err = o.Trial(wide, Source{}, Source{}); err != nil || len(trial.Methods) != 2 {
		t.Fatalf("wide: %+v, %v", trial.Methods, err)
	}
	for _, hostile := range []map[string]string{{"Probe": "nothing"}, {"": "level"}, {"Probe": ""}} {
		if seen, _ := (Options{Called: hostile}).Columns(src); seen[0].As != "-" {
			t.Errorf("%v: %v", hostile, seen)
		}
	}
}
