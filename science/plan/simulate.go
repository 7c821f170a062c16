package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// SimTrial is a laid-out trial to be simulated: what Lay gave, with methods, knowns
// and needs on one scale.
type SimTrial struct {
	Scale   unit.Scale
	Water   unit.Water
	Vials   []Vial
	Methods []knownwater.Method
	Guesses []Guess // one a method, filled
	Knowns  []SimKnown
	Needs   []knownwater.Need
}

// SimKnown is a known as it will be stated. Its true level is drawn anew in
// every simulated trial, from what is stated.
type SimKnown struct {
	Level, U, UShared, UBackground float64
	Matrix                         string
}

// simulate makes one trial's readings. A reading is
//
//	y = Offset + Slope·c/D + SD(mean)·(reader + session + vial + rest)
//
// with c the drawn true level, D the dilution, each part normal with its share
// of SD; y is then shown as the method shows it: a chart's nearest "at" or
// "between", a display's digits, a count of drops. Charts and drops show nothing
// below zero, a display does unless its range ends there. Lots read alike, but they
// are named as the trial will name them: each is judged, and one that was not tried.
func (t SimTrial) simulate(rng *rand.Rand) knownwater.Trial {
	out := knownwater.Trial{Scale: t.Scale, Water: t.Water, Methods: t.Methods, Needs: t.Needs}
	truth := t.drawTruth(rng)
	effect := effects{rng: rng, drawn: map[string]float64{}}
	for i, v := range t.Vials {
		m, g, k := t.Methods[v.Method], t.Guesses[v.Method], t.Knowns[v.Known]
		mean := g.mean(truth[v.Known] / v.Dilution)
		sd := g.sd(mean)
		vial := g.Vial * rng.NormFloat64()
		session := g.Session * effect.of("session", v.Method, v.Session)
		for _, r := range v.Readers {
			part := g.Reader*effect.of("reader", v.Method, r) + session + vial + g.rest()*rng.NormFloat64()
			text := reading.Show(mean+sd*part, m)
			seen, err := reading.Understand(text, m)
			if err != nil { // a method that CheckPlan let through shows only what it can understand
				seen = interval.Exact(max(0, mean+sd*part))
			}
			out.Observations = append(out.Observations, knownwater.Observation{
				Method: m.Name, Level: k.Level, ULevel: k.U, UShared: k.UShared, UBackground: k.UBackground, Text: text, Seen: seen, Dilution: v.Dilution,
				Technique: v.Technique, Lot: lotName(v.Lot), Session: strconv.Itoa(v.Session), Reader: strconv.Itoa(r + 1), Vial: v.Code, Matrix: k.Matrix,
				Count: 1, Row: i + 2,
			})
		}
	}
	return out
}

// lotName names a lot of a plan by its place; "" where there is none.
func lotName(lot int) string {
	if lot < 0 {
		return ""
	}
	return strconv.Itoa(lot + 1)
}

// lots is how many lots of a method the plan names.
func (t SimTrial) lots(method int) (n int) {
	for _, v := range t.Vials {
		if v.Method == method {
			n = max(n, v.Lot+1)
		}
	}
	return n
}

// drawTruth draws the true levels: the errors that all knowns share, that of their stock and that of their
// water's background, and one of each known's own.
func (t SimTrial) drawTruth(rng *rand.Rand) []float64 {
	shared, water := rng.NormFloat64(), 0.0
	if slices.ContainsFunc(t.Knowns, func(k SimKnown) bool { return k.UBackground != 0 }) {
		water = rng.NormFloat64()
	}
	truth := make([]float64, len(t.Knowns))
	for i, k := range t.Knowns {
		own := math.Sqrt(max(0, k.U*k.U-k.UShared*k.UShared-k.UBackground*k.UBackground))
		truth[i] = max(0, k.Level+k.UShared*shared+k.UBackground*water+own*rng.NormFloat64())
	}
	return truth
}

// effects are standard normal, one for each method and thing, drawn when first
// asked for.
type effects struct {
	rng   *rand.Rand
	drawn map[string]float64
}

func (e effects) of(what string, method, thing int) float64 {
	key := fmt.Sprint(what, method, thing)
	v, ok := e.drawn[key]
	if !ok {
		v = e.rng.NormFloat64()
		e.drawn[key] = v
	}
	return v
}
