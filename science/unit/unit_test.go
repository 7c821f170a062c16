package unit

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %.2g", what, got, want, tolerance)
	}
}

func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func scale(t *testing.T, analyte, unit, basis string) Scale {
	t.Helper()
	s, err := Parse(analyte, unit, basis)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func factor(t *testing.T, from, to Scale, w Water) float64 {
	t.Helper()
	f, err := Factor(from, to, w)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Published check values and recomputed rows of EOS-80 (testdata/SOURCES.md).
func TestDensityAgainstEOS80(t *testing.T) {
	for _, r := range rows(t, "eos80_one_atm.csv") {
		w := Water{Salinity: number(t, r[0]), Temperature: number(t, r[1]) / 1.00024}
		if r[2] != "" {
			near(t, "published density at "+r[0]+", "+r[1], 1000*w.Density(), number(t, r[2]), 5.1e-6)
		}
		near(t, "density at "+r[0]+", "+r[1], 1000*w.Density(), number(t, r[3]), 1e-6)
	}
	for _, w := range []Water{{-0.1, 20}, {42.1, 20}, {35, -2.1}, {35, 40.1}, {math.NaN(), 20}} {
		if !math.IsNaN(w.Density()) || w.Valid() == nil {
			t.Errorf("density of %v is %v, want none", w, w.Density())
		}
	}
}

// Molar masses from the IUPAC abridged weights, summed outside this project.
func TestMolarMasses(t *testing.T) {
	for _, r := range rows(t, "molar_masses.csv") {
		formula, _, _ := strings.Cut(r[0], " ")
		atoms, err := Atoms(strings.TrimRight(formula, "+-"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, r[0], massOf(atoms), number(t, r[1]), 6e-5)
	}
	for _, r := range rows(t, "atomic_weights.csv") {
		near(t, r[0], weights[r[0]].value, number(t, r[1]), 0)
		near(t, r[0]+" ±", weights[r[0]].plusMinus, number(t, r[2]), 0)
	}
	for _, bad := range []string{"", "Xx", "kno3", "KNO3.", ".", "K0", "KNO3.0H2O", "3"} {
		if _, err := Atoms(bad); err == nil {
			t.Errorf("formula %q was taken", bad)
		}
	}
}

func TestMassFraction(t *testing.T) {
	f, u, err := MassFraction("NO3", "KNO3", 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NO3 in KNO3", f, 62.004/101.102, 1e-12)
	// By hand: N and O lie in both, so only (1−f) of each counts, and f of K.
	a := (1 - f) / 101.102 * 0.001 / math.Sqrt(3)
	hand := math.Sqrt(a*a + 9*a*a + math.Pow(f/101.102*0.001/math.Sqrt(3), 2))
	near(t, "its uncertainty", u, hand, 1e-15)
	if _, u, _ := MassFraction("KNO3", "KNO3", 1); u > 1e-18 {
		t.Errorf("a salt in itself has u %v, want none", u)
	}
}

// A unit table at S = 35 and 25 °C, worked out apart from this code, to the
// digits shown.
func TestUnitTable(t *testing.T) {
	mgL := scale(t, "nitrate", "mg/L", "NO3")
	for _, c := range []struct {
		from           Scale
		unit, basis    string
		want, halfUnit float64
	}{
		{mgL, "mg/L", "N", 0.2259, 5e-5},
		{mgL, "umol/L", "", 16.128, 5e-4},
		{mgL, "mg/kg", "NO3", 0.9772, 5e-5},
		{mgL, "umol/kg", "", 15.760, 5e-4},
		{scale(t, "nitrate", "mg/L", "N"), "mg/L", "NO3", 4.4266, 5e-5},
		{scale(t, "nitrite", "mg/L", "N"), "mg/L", "NO2", 3.284, 5e-4},
		{scale(t, "phosphate", "mg/L", "P"), "mg/L", "PO4", 3.066, 5e-4},
	} {
		to := scale(t, c.from.Analyte, c.unit, c.basis)
		near(t, c.from.String()+" → "+to.String(), factor(t, c.from, to, StandardSea), c.want, c.halfUnit)
	}
}

func TestFactorsAgainstFacts(t *testing.T) {
	var facts struct {
		F map[string]float64 `json:"conversion_factors"`
	}
	raw, err := os.ReadFile("testdata/facts.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &facts); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, analyte, from, fromBasis, to, toBasis string }{
		{"NO3_per_N", "nitrate", "mg/L", "N", "mg/L", "NO3"},
		{"NO2_per_N", "nitrite", "mg/L", "N", "mg/L", "NO2"},
		{"PO4_per_P", "phosphate", "mg/L", "P", "mg/L", "PO4"},
		{"P_per_PO4", "phosphate", "mg/L", "PO4", "mg/L", "P"},
		{"NH3_per_N", "ammonia", "mg/L", "N", "mg/L", "NH3"},
		{"umol_per_L_to_mg_per_L_NO3", "nitrate", "umol/L", "", "mg/L", "NO3"},
		{"dKH_in_mmol_per_L_alkalinity", "alkalinity", "dKH", "", "meq/L", ""},
		{"dKH_in_mg_per_L_CaCO3", "alkalinity", "dKH", "", "mg/L", "CaCO3"},
		{"meq_per_L_in_mg_per_L_CaCO3", "alkalinity", "meq/L", "", "mg/L", "CaCO3"},
	} {
		want, found := facts.F[c.name]
		if !found {
			t.Fatalf("no fact %s", c.name)
		}
		got := factor(t, scale(t, c.analyte, c.from, c.fromBasis), scale(t, c.analyte, c.to, c.toBasis), StandardSea)
		near(t, c.name, got, want, 1e-12*want)
	}
}

func TestFactorRoundTripsOverAllScales(t *testing.T) {
	for _, a := range analytes {
		var all []Scale
		for _, u := range a.units() {
			for _, b := range a.bases {
				all = append(all, scale(t, a.name, u, b))
			}
		}
		for _, s := range all {
			for _, m := range all {
				there, back := factor(t, s, m, StandardSea), factor(t, m, s, StandardSea)
				near(t, a.name+" "+s.String()+" ↔ "+m.String(), there*back, 1, 1e-12)
				via := factor(t, s, all[0], StandardSea) * factor(t, all[0], m, StandardSea)
				near(t, a.name+" "+s.String()+" → "+m.String(), there/via, 1, 1e-12)
			}
		}
	}
}

func TestFactorRefuses(t *testing.T) {
	if _, err := Factor(scale(t, "nitrate", "mg/L", ""), scale(t, "nitrite", "mg/L", ""), StandardSea); err == nil {
		t.Error("nitrate was turned into nitrite")
	}
	if _, err := Factor(scale(t, "nitrate", "mg/L", ""), scale(t, "nitrate", "mg/kg", ""), Water{90, 25}); err == nil {
		t.Error("salinity 90 was taken")
	}
	if _, err := Factor(scale(t, "nitrate", "mg/L", "N"), scale(t, "nitrate", "mg/L", "NO3"), Water{90, 25}); err != nil {
		t.Error("the water matters where it should not:", err)
	}
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		analyte, unit, basis string
		want                 Scale
	}{
		{"nitrate", "mg/L", "", Scale{"nitrate", "mg/L", "NO3"}},
		{" Nitrate ", "MG/l", "no3-", Scale{"nitrate", "mg/L", "NO3"}},
		{"NO₃", "mg L⁻¹", "NO3-N", Scale{"nitrate", "mg/L", "N"}},
		{"nitrate", "mg/L N", "", Scale{"nitrate", "mg/L", "N"}},
		{"nitrate", "ppm", "", Scale{"nitrate", "mg/L", "NO3"}},
		{"nitrate", "ppb", "N", Scale{"nitrate", "ug/L", "N"}},
		{"alkalinity", "ppm CaCO3", "", Scale{"alkalinity", "mg/L", "CaCO3"}},
		{"nitrate", "µmol/L", "", Scale{"nitrate", "umol/L", "NO3"}},
		{"nitrate", "μmol kg⁻¹", "", Scale{"nitrate", "umol/kg", "NO3"}},
		{"phosphate", "ppb", "phosphorus", Scale{"phosphate", "ug/L", "P"}},
		{"ammonia", "mg/L", "NH4+", Scale{"ammonia", "mg/L", "NH4"}},
		{"alkalinity", "mg/L CaCO3", "", Scale{"alkalinity", "mg/L", "CaCO3"}},
		{"alkalinity", "mg/L as CaCO3", "CaCO3", Scale{"alkalinity", "mg/L", "CaCO3"}},
		{"alkalinity", "°dKH", "", Scale{"alkalinity", "dKH", ""}},
		{"KH", "mEq/L", "", Scale{"alkalinity", "meq/L", ""}},
		{"calcium", "mg/L", "", Scale{"calcium", "mg/L", "Ca"}},
		{"silicate", "umol/L", "Si", Scale{"silicate", "umol/L", "Si"}},
	} {
		got, err := Parse(c.analyte, c.unit, c.basis)
		if err != nil || got != c.want {
			t.Errorf("Parse(%q, %q, %q) = %v, %v, want %v", c.analyte, c.unit, c.basis, got, err, c.want)
		}
	}
}

func TestParseSaysWhatWouldBeRight(t *testing.T) {
	for _, c := range []struct{ analyte, unit, basis, want string }{
		{"nitrat", "mg/L", "", "nitrate, nitrite"},
		{"nitrate", "dKH", "", "mg/L"},
		{"nitrate", "mg", "", "mg/L"},
		{"nitrate", "", "", "mg/L"},
		{"nitrate", "mg/L", "P", "NO3 or N"},
		{"nitrate", "mg/L N", "NO3", "give one of them"},
		{"alkalinity", "mg/L", "HCO3", "CaCO3 is needed"},
	} {
		_, err := Parse(c.analyte, c.unit, c.basis)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Parse(%q, %q, %q): %v, want a text with %q", c.analyte, c.unit, c.basis, err, c.want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("nitrate", "mg/L as N", "NO3-N")
	f.Add("KH", "°dKH", "")
	f.Fuzz(func(t *testing.T, analyte, unit, basis string) {
		s, err := Parse(analyte, unit, basis)
		if err != nil {
			return
		}
		again, err := Parse(s.Analyte, s.Unit, s.Basis)
		if err != nil || again != s {
			t.Errorf("%v is not settled: %v, %v", s, again, err)
		}
	})
}

func TestFactorOfBasisAndDensity(t *testing.T) {
	f, err := Factor(scale(t, "nitrate", "mg/kg", "N"), scale(t, "nitrate", "mg/L", "NO3"), StandardSea)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "factor", f, 4.426643820946669*1.023343058, 1e-4)
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		value, u float64
		want     string
	}{
		{12.0468, 0.126, "12.05 ± 0.13"},
		{1002.69972, 0.864, "1002.7 ± 0.9"},
		{0.6, 0.0511, "0.60 ± 0.05"},
		{0.6, 0.354, "0.60 ± 0.35"},
		{0.6, 0.355, "0.6 ± 0.4"},
		{0.6, 0.949, "0.6 ± 0.9"},
		{0.6, 0.951, "0.6 ± 1.0"},
		{0.6, 0.9999, "0.6 ± 1.0"},
		{1234.5, 56, "1230 ± 60"},
		{-1.234, 0.05, "−1.23 ± 0.05"},
		{-0.001, 0.05, "0.00 ± 0.05"},
		{12.3456789, 0, "12.3457"},
		{math.NaN(), 1, "–"},
		{1, math.NaN(), "1"},
		{0, 0, "0"},
		{math.Inf(-1), 1, "−∞"},
	} {
		if got := Format(c.value, c.u); got != c.want {
			t.Errorf("Format(%v, %v) = %q, want %q", c.value, c.u, got, c.want)
		}
	}
	if got := Round(-1.5, 0.2); got != "-1.50" {
		t.Errorf("Round gives %q", got)
	}
}

func TestSigned(t *testing.T) {
	for _, c := range []struct {
		v, u float64
		want string
	}{{0.1234, 0.02, "+0.123"}, {-0.1234, 0.02, "−0.123"}, {0.0001, 0.02, "0.000"}, {12, 0, "+12"}, {0, 0, "0"}} {
		if got := Signed(c.v, c.u); got != c.want {
			t.Errorf("%g ± %g: %s, want %s", c.v, c.u, got, c.want)
		}
	}
}
