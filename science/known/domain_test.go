package known

import (
	"testing"

	"knownwater/science/unit"
)

// domainShelf is the shelf behind a plan of 250 mL standards that was worked
// out by hand, apart from this code: stocks of 1000 and 100 mg/L with u 0.29 %, piston pipettes of 5 and
// 10 mL, a 0.01 g scale, ± 3 °C.
func domainShelf(uBackground float64) Shelf {
	scale := unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	s := Shelf{
		Scale:  scale,
		Room:   Room{Temperature: 20, Within: 3},
		Matrix: Matrix{Name: "matrix", Salinity: 35, Background: 0.1, U: uBackground},
		Stocks: []Stock{
			{Name: "1000", Scale: scale, Value: 1000, U: 2.9},
			{Name: "100", Scale: scale, Value: 100, U: 0.29},
		},
		Devices: []Device{
			{Name: "flask", Kind: Flask, Nominal: 250, Class: "A"},
			{Name: "piston 5", Kind: Piston, Nominal: 5, Smallest: 0.5},
			{Name: "piston 10", Kind: Piston, Nominal: 10, Smallest: 1},
			{Name: "scale", Kind: Scale, Nominal: 500, Step: 0.01},
		},
		Limits: DefaultLimits,
	}
	s.Limits.Volume, s.Limits.Added = 250, true
	return s
}

// That plan recomputed. The shares of the addition agree to
// the printed digit. u(c) is up to 4 % smaller here, because the background
// counts with 1 − V_added/V (by hand: in full), and because two readings of a
// 0.01 g scale with ± 0.01 g give 7.1 mg (by hand: about 8 mg).
// docs/statistics-knowns.md shows both beside each other.
func TestDomainPlan(t *testing.T) {
	for _, c := range []struct {
		level, add         float64
		from, pipette      string
		pipettePct, scale  float64 // printed, percent
		uPipette, uWeighed float64 // printed, u_bg 0.05
		uWide              float64 // printed, u_bg 0.15, weighed
	}{
		{0.6, 1.5, "100", "piston 5", 1.8, 0.5, 0.051, 0.050, 0.15},
		{1.5, 3.75, "100", "piston 5", 0.7, 0.2, 0.051, 0.050, 0.15},
		{3, 7.5, "100", "piston 10", 0.6, 0.1, 0.054, 0.051, 0.15},
		{6, 1.5, "1000", "piston 5", 1.8, 0.5, 0.122, 0.062, 0.155},
		{12, 3, "1000", "piston 5", 0.9, 0.3, 0.126, 0.069, 0.158},
		{20, 5, "1000", "piston 5", 0.6, 0.2, 0.135, 0.084, 0.164},
		{40, 10, "1000", "piston 10", 0.5, 0.1, 0.224, 0.132, 0.194},
	} {
		standard := func(ub float64, take Measure) Standard {
			s := domainShelf(ub)
			p := Preparation{{Name: "S", Standard: true, Asked: c.level, From: c.from, In: InMatrix, Take: take, Make: Measure{"flask", 250, 1}}}
			if faults := p.Faults(s); faults != nil {
				t.Fatal(faults)
			}
			return Evaluate(s, p).Standards[0]
		}
		share := func(st Standard) float64 { // of the addition, in percent of the level
			sum := 0.0
			for _, k := range st.Value.Parts.ByKind() {
				if k.Kind != KindStock && k.Kind != KindBackground {
					sum += k.U * k.U
				}
			}
			return 100 * sqrt(sum) / c.level
		}
		poured := Measure{c.pipette, c.add, 1}
		weighed := Measure{"scale", onStep(c.add*domainShelf(1).densityOf(c.from), 0.01), 1}
		near(t, "share by pipette", share(standard(0.05, poured)), c.pipettePct, 0.05)
		near(t, "share by weight", share(standard(0.05, weighed)), c.scale, 0.055)
		near(t, "u by pipette", standard(0.05, poured).U, c.uPipette, 0.04*c.uPipette)
		near(t, "u by weight", standard(0.05, weighed).U, c.uWeighed, 0.04*c.uWeighed)
		near(t, "u by weight, background guessed", standard(0.15, weighed).U, c.uWide, 0.04*c.uWide)
	}
}

// 10 mL of stock in 250 mL cut it by 4 %.
func TestSalinityCut(t *testing.T) {
	s := domainShelf(0.05)
	p := Preparation{{Name: "S", Standard: true, Asked: 40, From: "1000", In: InMatrix, Take: Measure{"piston 10", 10, 1}, Make: Measure{"flask", 250, 1}}}
	st := Evaluate(s, p).Standards[0]
	near(t, "salinity", st.Salinity, 35*0.96, 1e-9)
	if len(st.Notes) == 0 {
		t.Error("a cut of 4 % passes without a note")
	}
}
