package unit

import "testing"

func TestStated(t *testing.T) {
	for _, c := range []struct {
		analyte, unit, basis string
		want                 Scale
		bad                  bool
	}{
		{"", "", "", Scale{}, false},
		{"", "mg/L NO3", "", Scale{"nitrate", "mg/L", "NO3"}, false},
		{"", "mg/L", "PO4", Scale{"phosphate", "mg/L", "PO4"}, false},
		{"", "mg/L", "", Scale{"", "mg/L", ""}, false},
		{"", "mg/L N", "", Scale{"", "mg/L", "N"}, false},
		{"", "dKH", "", Scale{"alkalinity", "dKH", ""}, false},
		{"nitrate", "mg/L", "", Scale{"nitrate", "mg/L", "NO3"}, false},
		{"nitrate", "", "", Scale{"nitrate", "", ""}, false},
		{"", "furlong", "", Scale{}, true},
		{"unobtainium", "mg/L", "", Scale{}, true},
		{"nitrate", "mg/L NO3", "N", Scale{}, true},
	} {
		got, err := Stated(c.analyte, c.unit, c.basis)
		if (err != nil) != c.bad || err == nil && got != c.want {
			t.Errorf("%q %q %q: %+v, %v; want %+v", c.analyte, c.unit, c.basis, got, err, c.want)
		}
	}
}
