package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/plan"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// What the shed states of its knowns, and what is true of them.
const (
	background, uBackground = 0.10, 0.08
	uStock                  = 0.003
	trueStock               = 1.004
	trueBackground          = 0.12

	vialsALevel = 8
	sessions    = 6
	sideLevel   = 6.0
	sideVials   = 6
	swapSession = 3
	lateMinutes = 11
	lateLoss    = 0.015 / 5 // of the colour, a minute
)

// stated is a level as the shed writes it down.
func stated(added float64) float64 { return math.Round((added+background)*1e6) / 1e6 }

// uShared is the part of a level's uncertainty that all share: stock and background.
func uShared(added float64) float64 {
	return math.Round(math.Hypot(uBackground, uStock*added)*1e6) / 1e6
}

func trueLevel(added float64) float64 { return trueStock*added + trueBackground }

// Trial is the demo trial of a seed.
func Trial(seed uint64) (knownwater.Trial, error) {
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		return knownwater.Trial{}, err
	}
	t := knownwater.Trial{Scale: scale, Water: unit.StandardSea, WaterStated: true, Needs: needs()}
	vials := layVials()
	rng := num.Source(seed, 1)
	codes, err := plan.Codes(len(vials), rng)
	if err != nil {
		return t, err
	}
	rng.Shuffle(len(codes), func(i, j int) { codes[i], codes[j] = codes[j], codes[i] })
	shifts := sessionShifts(rng)
	for i := range vials {
		vials[i].code = codes[i]
	}
	swapTwo(vials)
	late := false
	for _, v := range vials {
		a := &actList[v.act]
		if !slices.ContainsFunc(t.Methods, func(m knownwater.Method) bool { return m.Name == a.method.Name }) {
			t.Methods = append(t.Methods, a.method)
		}
		t.Observations = append(t.Observations, readVial(v, a, shifts[v.act][v.session], &late, rng)...)
	}
	t.Notes = nil
	return t, nil
}

var actList = acts()

// vial is one portion to be tested.
type vial struct {
	act       int
	added     float64 // what the label's key says
	holds     float64 // what is really in it: other than added where two were swapped
	technique int
	session   int
	code      string
}

// layVials spreads each level's vials over the sessions.
func layVials() []vial {
	var vials []vial
	for i, a := range actList {
		for _, c := range a.levels {
			n := vialsALevel
			if c == 0 && a.blanks > 0 {
				n = a.blanks
			}
			for k := range n {
				vials = append(vials, vial{act: i, added: c, holds: c, session: 1 + k%sessions})
			}
		}
		if !a.sideBySide() {
			continue
		}
		for t := 1; t < len(techniques); t++ {
			for k := range sideVials {
				vials = append(vials, vial{act: i, added: sideLevel, holds: sideLevel, technique: t, session: 1 + k%sessions})
			}
		}
	}
	return vials
}

// sideBySide says whether a method was tried with every technique.
func (a act) sideBySide() bool {
	return reading.Of(a.method.Kind).ByEye && slices.Contains(a.levels, sideLevel) && a.dilution == 1
}

// swapTwo swaps the contents of two of Elm's vials in one session.
func swapTwo(vials []vial) {
	find := func(added float64) int {
		return slices.IndexFunc(vials, func(v vial) bool {
			return actList[v.act].method.Name == "Elm" && v.session == swapSession && v.added == added
		})
	}
	a, b := find(6), find(20)
	vials[a].holds, vials[b].holds = vials[b].holds, vials[a].holds
}

func sessionShifts(rng *rand.Rand) [][]float64 {
	shifts := make([][]float64, len(actList))
	for i, a := range actList {
		shifts[i] = make([]float64, sessions+1)
		for s := 1; s <= sessions; s++ {
			shifts[i][s] = a.session * rng.NormFloat64()
		}
	}
	return shifts
}

// readVial takes all readings of one vial.
func readVial(v vial, a *act, shift float64, late *bool, rng *rand.Rand) []knownwater.Observation {
	tech := techniques[v.technique]
	mean := a.response(trueLevel(v.holds)*tech.yield) + shift
	own := rng.NormFloat64()
	first := rng.IntN(3)
	var obs []knownwater.Observation
	for k := range a.readings {
		reader := (first + k) % 3
		m := mean
		if !*late && a.method.Name == "Birch" && v.added == 12 && v.session == 2 {
			m *= 1 - lateLoss*lateMinutes // the one reading taken 11 minutes late
			*late = true
		}
		y := a.scatter.read(m, own, a.readers[reader], tech.scatter, rng)
		obs = append(obs, observe(v, a, readerNames[reader], tech.name, y))
	}
	return obs
}

// observe writes down what was seen.
func observe(v vial, a *act, reader, technique string, y float64) knownwater.Observation {
	text := reading.Show(y, a.method)
	seen, err := reading.Understand(text, a.method)
	if err != nil {
		panic(fmt.Sprintf("the demo wrote a reading that it cannot read: %v", err)) // our own mistake
	}
	o := knownwater.Observation{
		Method: a.method.Name, Level: stated(v.added), ULevel: uShared(v.added), UShared: uShared(v.added),
		Text: text, Seen: seen, Dilution: a.dilution, Technique: technique,
		Session: fmt.Sprintf("S%d", v.session), Reader: reader, Vial: v.code, Matrix: "salt mix, salinity 35", Count: 1,
	}
	return o
}
