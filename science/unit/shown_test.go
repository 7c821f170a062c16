package unit

import (
	"math"
	"slices"
	"testing"
)

// What is offered turns into every other scale of its analyte and back, and no other analyte
// gets in; the factors themselves are held against published ones in unit_test.go.
func TestOfferedTurnsBothWays(t *testing.T) {
	for _, a := range Analytes() {
		all := Offered(a)
		if len(all) < 2 || len(slices.Compact(slices.Clone(all))) != len(all) {
			t.Errorf("%s: %v", a, all)
		}
		seen := map[string]bool{}
		for _, s := range all {
			settled, err := Parse(s.Analyte, s.Unit, s.Basis)
			if settled.Unit != s.Unit || err != nil || s.Analyte != a || seen[s.String()] {
				t.Errorf("%v of %s is settled as %v (%v), or is there twice", s, a, settled, err)
			}
			seen[s.String()] = true
			for _, to := range all {
				there := Choices("").With(to).Turn(s)
				back := Choices("").With(s).Turn(there.To)
				if there.To != to || back.To != s || math.Abs(there.K*back.K-1) > 1e-14 {
					t.Errorf("%v to %v is %v, back %v", s, to, there, back)
				}
			}
		}
	}
	usual, err := Usual("alkalinity")
	if err != nil || Offered("alkalinity")[0] != usual {
		t.Errorf("alkalinity begins with %v", Offered("alkalinity")[0])
	}
}

func TestChoices(t *testing.T) {
	n, p, kh := Scale{"nitrate", "mg/L", "N"}, Scale{"phosphate", "ug/L", "P"}, Scale{"alkalinity", "meq/L", ""}
	c := Choices("").With(p).With(n).With(kh).With(Scale{"nitrate", "umol/L", "NO3"}).With(n)
	if again := ChoicesOf(string(c)); again != c || c != "alkalinity:meq/L;nitrate:mg/L:N;phosphate:ug/L:P" {
		t.Errorf("%q is read as %q", c, again)
	}
	if got := c.With(Scale{"nitrate", "g/L", "N"}).With(Scale{"nitrate", "mg/L", "P"}).With(Scale{}); got != c {
		t.Errorf("what is not offered became %q", got)
	}
	if got := ChoicesOf(";;nitrate;nitrate:;x:y:z;nitrate:mg/L:N:more;:::\x00;phosphate:ug/L:P"); got != "nitrate:mg/L:N;phosphate:ug/L:P" {
		t.Errorf("of a spoilt cookie %q is left", got)
	}
	for _, s := range []Scale{{"nitrate", "mg/kg", "NO3"}, {"", "mg/L", ""}, {"calcium", "mg/L", "Ca"}, n, {}} { // by weight, of nothing, not chosen, as it is
		if turn := c.Turn(s); !turn.Same() || turn.To != s {
			t.Errorf("%v is turned to %v", s, turn)
		}
	}
	// 1 mg/L of N are 4.426643820946669 mg/L of NO3 (testdata/facts.json)
	near(t, "NO3 to N", c.Turn(Scale{"nitrate", "mg/L", "NO3"}).K, 1/4.426643820946669, 1e-9)
}

func TestBrief(t *testing.T) {
	for s, want := range map[Scale]string{{"nitrate", "mg/L", "NO3"}: "mg/L", {"nitrate", "mg/L", "N"}: "mg/L N", {"phosphate", "ug/L", "P"}: "µg/L P", {"alkalinity", "dKH", ""}: "dKH",
		{"alkalinity", "mg/L", "CaCO3"}: "mg/L CaCO3", {"calcium", "mg/L", "Ca"}: "mg/L", {"calcium", "mg/L", "CaCO3"}: "mg/L CaCO3", {"nitrate", "umol/L", "N"}: "µmol/L", {"", "mg/L", "N"}: "mg/L", {}: ""} {
		if got := s.Brief(); got != want {
			t.Errorf("%v: %q, want %q", s, got, want)
		}
	}
}
