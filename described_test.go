package knownwater

import (
	"reflect"
	"testing"

	"knownwater/science/interval"
)

// notDescribed are fields of a method that its description on a bench does not hold: where
// its numbers stand, and what only the methods file of the command line tells.
var notDescribed = map[string]bool{"Own": true, "Factor": true,
	"ShelfMonths": true, "DevicePrice": true, "DeviceYears": true, "WasteML": true, "Hazards": true}

// A method becomes a description and a method again, and nothing of it is lost: who adds a
// field and forgets one of the two ways is told.
func TestAMethodAndItsDescription(t *testing.T) {
	var m Method
	v := reflect.ValueOf(&m).Elem()
	for i := range v.NumField() {
		f := v.Field(i)
		if notDescribed[v.Type().Field(i).Name] {
			continue
		}
		switch f.Kind() {
		case reflect.String:
			f.SetString("x")
		case reflect.Float64:
			f.SetFloat(float64(i + 1))
		case reflect.Int:
			f.SetInt(int64(i + 1))
		case reflect.Slice:
			f.Set(reflect.ValueOf([]float64{1, 2}))
		case reflect.Pointer:
			f.Set(reflect.ValueOf(&interval.Interval{Low: 1, High: 2}))
		default:
			t.Fatalf("no value for %s", v.Type().Field(i).Name)
		}
	}
	if got := SpecOf(m).Method(); !reflect.DeepEqual(got, m) {
		t.Errorf("\n got %+v\nwant %+v", got, m)
	}
}
