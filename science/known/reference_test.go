package known

import (
	"math"
	"testing"

	"knownwater/science/errorpart"
	"knownwater/science/unit"
)

// Limits of error against the tables in testdata (see SOURCES.md: the ISO
// columns are from memory, there as here).
func TestLimitsAgainstTables(t *testing.T) {
	for _, r := range rows(t, "flasks_class_a.csv") {
		for class, want := range map[string]float64{"A": r[1], "B": r[2]} {
			got, err := Device{Kind: Flask, Nominal: r[0], Class: class}.limit()
			if err != nil {
				t.Fatal(err)
			}
			near(t, "flask", got, want, 1e-12)
		}
	}
	for _, r := range rows(t, "pipettes_one_mark_class_a.csv") {
		got, err := Device{Kind: OneMark, Nominal: r[0], Class: "A"}.limit()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "one-mark pipette", got, r[1], 1e-12)
	}
	for _, r := range rows(t, "piston_pipettes_iso8655_2.csv") {
		d := Device{Kind: Piston, Nominal: r[0] / 1000}
		got, _ := d.limit()
		near(t, "piston, systematic", 1000*got, r[2], 1e-9)
		near(t, "piston, random", 1000*d.use(d.Nominal/2).random, r[4], 1e-9)
		near(t, "piston, in percent", 100*got/d.Nominal, r[1], 1e-9)
	}
	if _, err := (Device{Kind: Flask, Nominal: 123, Class: "A"}).limit(); err == nil {
		t.Error("a flask of 123 mL has a limit")
	}
}

// Z factors of ISO 8655-6: the published column to its last digit, the
// recomputed one (CIPM density, another formula for air) to 2e-6.
func TestZFactor(t *testing.T) {
	for _, r := range rows(t, "z_factor_iso8655_6.csv") {
		got := ZFactor(r[0], r[1])
		if !math.IsNaN(r[2]) {
			near(t, "published Z", got, r[2], 0.6e-4)
		}
		near(t, "Z", got, r[3], 2.5e-6)
	}
}

func TestVolumeCheck(t *testing.T) {
	// 5 mL of water at 20 °C and 1013 hPa: by hand with Z = 1.00285 (testdata).
	c := VolumeCheck{Setting: 5, Weights: []float64{4.97, 4.98, 4.99, 4.98, 4.98}, Temperature: 20, UScale: 0.003}
	mean, u, sd := c.Volume()
	near(t, "mean", mean, 4.98*1.00285, 2e-5)
	near(t, "sd", sd, 0.0070711*1.00285, 1e-6)
	near(t, "u", u, 1.00285*math.Sqrt(0.0070711*0.0070711/5+0.003*0.003), 1e-6)
	d := Device{Name: "p", Kind: Piston, Nominal: 5, Check: &c}
	near(t, "correction", d.use(5).correction, mean-5, 1e-12)
	if got := d.use(2); got.correction != 0 {
		t.Error("the check at 5 mL speaks for 2 mL")
	}
}

// EURACHEM/CITAC CG4 A1, through a weighed stock. The guide prints 0.9, made
// with u(V) rounded to 0.07; the unrounded chain gives 0.835 (testdata).
func TestStockAgainstA1(t *testing.T) {
	var ref struct {
		Published struct {
			C float64 `json:"c"`
		} `json:"published"`
		Recomputed struct {
			C       float64 `json:"c"`
			UP      float64 `json:"u_P"`
			UV      float64 `json:"u_V"`
			U       float64 `json:"u"`
			Rounded float64 `json:"u_from_published_rounded_components"`
		} `json:"recomputed"`
	}
	load(t, "quam_a1.json", &ref)
	s := Shelf{
		Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, // any: the metal is weighed as itself
		Room:  Room{Temperature: 20, Within: 4, Expansion: 2.1e-4},
		Devices: []Device{
			{Name: "flask", Kind: Flask, Nominal: 100, Class: "A"}, // ± 0.1 mL; filling 0.02 mL
			{Name: "balance", Kind: Scale, Nominal: 200, Step: 1e-9, Tolerance: 0.05e-3 * math.Sqrt(3)},
		},
	}
	m := build(s, nil)
	value := m.dissolved("cadmium", Weighed{Mass: 0.10028, Scale: "balance", Purity: 0.9999, PurityWithin: 0.0001, Flask: "flask"}, 1, 0)
	v := errorpart.Propagate(m.inputs, func(x []float64) []float64 { return []float64{value(x)} })[0]
	near(t, "c", v.Value, ref.Recomputed.C, 1e-9)
	near(t, "u", v.U(), ref.Recomputed.U, 1e-6)
	if got := unit.Round(v.Value, 0.9); got != "1002.7" {
		t.Errorf("c is printed %s, the guide has 1002.7", got)
	}
	uVolume := 0.0
	for _, k := range v.Parts.ByKind() {
		if k.Kind == KindDevice || k.Kind == KindTemperature {
			uVolume = math.Hypot(uVolume, k.U/v.Value*100)
		}
	}
	near(t, "u(V) without filling", uVolume, math.Sqrt(sq(ref.Recomputed.UV)-0.02*0.02), 1e-6)
	// The guide's own rounding, u(V) = 0.07: 0.864, printed 0.9.
	guide := v.Value * math.Sqrt(sq(0.05/100.28)+sq(5.8e-5/0.9999)+sq(0.07/100))
	near(t, "with the guide's rounding", guide, ref.Recomputed.Rounded, 1e-6)
	if got := unit.Format(v.Value, guide); got != "1002.7 ± 0.9" {
		t.Errorf("with the guide's rounding %q", got)
	}
}

// EURACHEM/CITAC CG4 A2, a product and quotient of five inputs.
func TestBudgetAgainstA2(t *testing.T) {
	var ref struct {
		Inputs []struct {
			Name  string  `json:"name"`
			Value float64 `json:"value"`
			U     float64 `json:"u"`
		} `json:"inputs"`
		Published struct {
			C, U     float64
			Relative float64 `json:"u_relative"`
		} `json:"published"`
		Recomputed struct {
			C        float64 `json:"c"`
			Relative float64 `json:"u_relative_from_published_components"`
		} `json:"recomputed"`
	}
	load(t, "quam_a2.json", &ref)
	var in []errorpart.Input
	for _, i := range ref.Inputs {
		in = append(in, errorpart.Input{Name: i.Name, Value: i.Value, U: i.U})
	}
	v := errorpart.Propagate(in, func(x []float64) []float64 {
		return []float64{1000 * x[0] * x[1] * x[2] / (x[3] * x[4])}
	})[0]
	near(t, "c", v.Value, ref.Recomputed.C, 1e-12)
	near(t, "relative u", v.U()/v.Value, ref.Recomputed.Relative, 1e-8)
	near(t, "printed c", v.Value, ref.Published.C, 0.5e-5)
	near(t, "printed relative u", v.U()/v.Value, ref.Published.Relative, 0.5e-5)
}

// Salts against the masses that everybody uses: 1.6306 g KNO3 or 1.3708 g
// NaNO3 in a litre make 1000 mg/L NO3, 7.218 g KNO3 make 1 g N (worked out by hand).
func TestSaltMasses(t *testing.T) {
	for _, c := range []struct {
		salt, analyte, basis string
		mass, want           float64
	}{
		{"KNO3", "nitrate", "NO3", 1.6306, 1},
		{"NaNO3", "nitrate", "NO3", 1.3708, 1},
		{"KNO3", "nitrate", "N", 7.218, 1},
		{"KH2PO4", "phosphate", "PO4", 1.4329, 1},
		{"NaHCO3", "alkalinity", "CaCO3", 2 * 84.006 / 100.086, 1},
		{"Na2CO3", "alkalinity", "CaCO3", 105.988 / 100.086, 1},
	} {
		salt, err := FindSalt(c.salt, c.analyte)
		if err != nil {
			t.Fatal(err)
		}
		share, u, err := salt.fraction(c.basis)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.salt+" as "+c.basis, c.mass*share, c.want, 5e-5)
		if !(u > 0 && u < 1e-3*share) {
			t.Errorf("%s: u of its share is %v", c.salt, u)
		}
	}
	for _, s := range Salts {
		for _, basis := range unit.Bases(s.Analyte) {
			if _, _, err := s.fraction(basis); err != nil {
				t.Error(err)
			}
		}
	}
}
