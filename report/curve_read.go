package report

import (
	"math"

	"knownwater/science/curve"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// resultOfReading is the contract of docs/formats.md.
type resultOfReading struct {
	Analyte *string        `json:"analyte"`
	Unit    *string        `json:"unit"`
	Basis   *string        `json:"basis"`
	N       int            `json:"n"`
	Level   num.Number     `json:"level"`
	U       num.Number     `json:"u"`
	Low     num.Number     `json:"low"`
	High    num.Number     `json:"high"`
	Open    *string        `json:"open"`
	Outside *string        `json:"outside"`
	Parts   []readPartJSON `json:"parts"`
	Notes   []string       `json:"notes"`
}

type readPartJSON struct {
	Name string     `json:"name"`
	U    num.Number `json:"u"`
}

// outside is the side on which a level that cannot be said lies.
func outside(r curve.Result) string {
	if math.IsNaN(r.Level) {
		return r.Open
	}
	return ""
}

func SignalJSON(s unit.Scale, r curve.Result) resultOfReading {
	j := resultOfReading{curve.OrNull(s.Analyte), curve.OrNull(s.Unit), curve.OrNull(s.Basis), r.N, num.Number(r.Level), num.Number(r.U), num.Number(r.Low), num.Number(r.High), curve.OrNull(r.Open), curve.OrNull(outside(r)), []readPartJSON{}, WordsAll(r.Notes)}
	for _, p := range r.Parts {
		j.Parts = append(j.Parts, readPartJSON{p.Name, num.Number(p.U)})
	}
	return j
}
