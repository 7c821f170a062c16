package demo

import "math"

// Truth is what is true of the shed: what no real bench ever gets to see.
type Truth struct {
	About   string        `json:"about"`
	Seed    uint64        `json:"seed"`
	Swapped string        `json:"swapped"`
	Late    string        `json:"late"`
	Methods []TrueMethod  `json:"methods"`
	Sides   []TrueCompare `json:"techniques"`
}

// TrueMethod is the truth of one method and dilution.
type TrueMethod struct {
	Method   string      `json:"method"`
	Dilution float64     `json:"dilution"`
	Levels   []TrueLevel `json:"levels"`
}

// TrueLevel is the truth at one known: Mean is the expected reading of the
// three people together, SD the whole spread of single readings about it.
type TrueLevel struct {
	Level    float64 `json:"level"` // as stated
	True     float64 `json:"true"`
	Mean     float64 `json:"mean"`
	SD       float64 `json:"sd"`
	Bias     float64 `json:"bias"`
	Recovery float64 `json:"recovery"`
}

// TrueCompare is the truth of one technique against the reference.
type TrueCompare struct {
	Method     string  `json:"method"`
	To         string  `json:"to"`
	Difference float64 `json:"difference"`
	SDRatio    float64 `json:"sd_ratio"`
}

// TruthOf is the truth behind Trial(seed).
func TruthOf(seed uint64) Truth {
	t := Truth{
		About:   "Invented. What is true of the Saltmarsh Shed's methods and knowns, to hold the findings against.",
		Seed:    seed,
		Swapped: "two vials of Elm, added 6 and 20, in session S3",
		Late:    "one reading of Birch at added 12 in session S2 was taken 11 minutes late",
	}
	for _, a := range actList {
		t.Methods = append(t.Methods, trueMethod(a))
		t.Sides = append(t.Sides, trueSides(a)...)
	}
	return t
}

func trueMethod(a act) TrueMethod {
	m := TrueMethod{Method: a.method.Name, Dilution: a.dilution}
	for _, c := range a.levels {
		mean, sd := a.moments(c, 0)
		true := trueLevel(c)
		m.Levels = append(m.Levels, TrueLevel{stated(c), true, mean, sd, mean - true, 100 * mean / true})
	}
	return m
}

// trueSides compares a method's techniques, where it was tried side by side.
func trueSides(a act) (sides []TrueCompare) {
	if !a.sideBySide() {
		return nil
	}
	book, _ := a.moments(sideLevel, 0)
	for k := 1; k < len(techniques); k++ {
		mean, _ := a.moments(sideLevel, k)
		sides = append(sides, TrueCompare{a.method.Name, techniques[k].name, mean - book, techniques[k].scatter})
	}
	return sides
}

// moments are the mean and the standard deviation of single readings of the three people together,
// in any session.
func (a act) moments(added float64, technique int) (mean, sd float64) {
	tech := techniques[technique]
	response := a.response(trueLevel(added) * tech.yield)
	first, second := 0.0, 0.0
	for _, reader := range a.readers {
		f, s := a.scatter.moments(response, a.session, reader, tech.scatter)
		first, second = first+f/float64(len(a.readers)), second+s/float64(len(a.readers))
	}
	return a.dilution * first, a.dilution * math.Sqrt(second-first*first)
}
