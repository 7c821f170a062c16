package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"knownwater"
	"knownwater/internal/figuretest"
	"knownwater/science/assess"
)

// randomMethod scatters, bends and tiles as the draw will have it: from a meter of
// many digits to a card of three swatches, from one reading to sixty a level.
func randomMethod(rng *rand.Rand, i int) fakeMethod {
	gain, bend, scatter := .3+1.4*rng.Float64(), rng.Float64()/60, math.Exp(3*rng.NormFloat64()*.5-3)
	m := fakeMethod{name: fmt.Sprintf("Method %d", i), dilution: 1, vials: 1 + rng.IntN(20), readers: []string{"Ines", "Tomo", "Wren"}[:1+rng.IntN(3)],
		mean: func(c float64) float64 { return gain * c / (1 + bend*c) }, sd: func(c float64) float64 { return scatter * (.2 + c) }}
	if cut := fakeLevels[rng.IntN(len(fakeLevels)-2)]; rng.IntN(2) == 0 {
		m.only = func(l float64) bool { return l >= cut }
	}
	switch rng.IntN(3) {
	case 0:
		m.kind, m.tile = knownwater.Display, tileDisplay(math.Pow(10, -2+2*rng.Float64()))
	case 1:
		m.kind, m.tile = knownwater.Drops, tileDrops(.2+3*rng.Float64())
	default:
		swatches := []float64{0}
		for range 2 + rng.IntN(6) {
			swatches = append(swatches, swatches[len(swatches)-1]+.5+15*rng.Float64())
		}
		m.kind, m.tile = knownwater.Chart, tileChart(swatches, 1)
	}
	return m
}

// Whatever the readings: no label lies on a curve, a reading, a bar or another label.
func TestFiguresOfRandomTrialsCanBeRead(t *testing.T) {
	for seed := range uint64(50) {
		rng := rand.New(rand.NewPCG(seed, 5))
		trial := knownwater.Trial{Needs: fakeNeeds}
		var f assess.Findings
		for i := range 3 {
			m, obs := fakeFinding(rng, randomMethod(rng, i))
			f.Methods, trial.Observations = append(f.Methods, m), append(trial.Observations, obs...)
		}
		body, err := Page{Findings: f, Trial: trial}.Body()
		if err != nil {
			t.Fatal(err)
		}
		for _, svg := range figuretest.Figures(string(body)) {
			widths := []float64{300, 720}
			switch {
			case !strings.Contains(svg[:60], `class="fig"`):
				continue
			case strings.Contains(svg, `labelledby="ladder-`):
				widths[0] = 205
			}
			for _, w := range widths {
				faults, err := figuretest.Faults(svg, w)
				if err != nil {
					t.Fatal(err)
				}
				for _, x := range faults {
					t.Errorf("seed %d, %.70s…, %g wide: %s", seed, svg[strings.Index(svg, "<title"):], w, x)
				}
			}
		}
	}
}
