package report

import (
	"encoding/json"
	"math"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// CardFile is a counter card as a small file, which `knownwater read` takes on another
// machine: what every step of a method says, with the fingerprint of what it was computed
// from. It holds no draw, so it knows no chances and no averages.
type CardFile struct {
	Card    int           `json:"knownwater_card"` // 1
	Method  string        `json:"method"`
	Analyte string        `json:"analyte"`
	Unit    string        `json:"unit"`
	Basis   string        `json:"basis"`
	Matrix  string        `json:"matrix"`
	Trial   string        `json:"trial"`
	Made    string        `json:"made"` // the day its record was made
	Inputs  string        `json:"inputs_sha256"`
	Nitrite *CardNitrite  `json:"nitrite,omitempty"` // of a method of nitrate whose trial says what it makes of nitrite
	Rows    []CardFileRow `json:"rows"`
}

// CardNitrite is what 1 mg/L of nitrite (as NO2) reads as, in the card's unit, with its 95 % limits.
type CardNitrite struct {
	Factor num.Number `json:"factor"`
	Low    num.Number `json:"low"`
	High   num.Number `json:"high"`
}

// CardFileRow is a step: Reader empty for anybody.
type CardFileRow struct {
	Reading  string          `json:"reading"`
	Dilution float64         `json:"dilution"`
	Reader   string          `json:"reader"`
	Estimate num.Number      `json:"estimate"`
	Low      num.Number      `json:"low"`
	High     num.Number      `json:"high"`
	Open     string          `json:"open,omitempty"`
	Parts    [][2]num.Number `json:"parts,omitempty"`
}

// CardRowOf is a step with what it says.
func CardRowOf(text string, dilution float64, reader string, r result.Result) CardFileRow {
	row := CardFileRow{text, dilution, reader, num.Number(r.Estimate), num.Number(r.Low), num.Number(r.High), string(r.Open), nil}
	for _, p := range r.Parts {
		row.Parts = append(row.Parts, [2]num.Number{num.Number(p.Low), num.Number(p.High)})
	}
	return row
}

// IsCard says whether a file is a counter card.
func IsCard(data []byte) bool {
	var head struct {
		Card *int `json:"knownwater_card"`
	}
	return json.Unmarshal(data, &head) == nil && head.Card != nil
}

// OpenCard reads a card, or says what is wrong with it.
func OpenCard(data []byte) (CardFile, error) {
	var c CardFile
	if err := json.Unmarshal(data, &c); err != nil {
		return c, knownwater.Fault{Found: "no counter card: %s", Want: "a file from a card's page"}.Of(err.Error())
	}
	if c.Card != 1 || len(c.Rows) == 0 || c.Method == "" {
		return c, knownwater.Fault{Found: "a counter card of another kind, or an empty one", Want: "a card of form 1 with rows"}
	}
	return c, nil
}

// Answer looks a reading up. Refused: several readings, a need, a step that the card does
// not have.
func (c CardFile) Answer(q result.Question) (result.Outcome, error) {
	scale, _ := unit.Stated(c.Analyte, c.Unit, c.Basis)
	o := result.Outcome{Question: q, Method: c.Method, Scale: scale, Verdicts: []result.Verdict{}}
	if q.Dilution == 0 {
		q.Dilution = 1
	}
	switch {
	case len(q.Needs) > 0:
		return o, knownwater.Fault{Column: "--need", Found: "a need beside a counter card", Want: "the trial's report.html: a card holds intervals and no chances"}
	case len(q.Readings) != 1:
		return o, knownwater.Fault{Column: "--reading", Found: things(len(q.Readings), "reading"), Want: "one reading: a card holds single steps; the report.html reads several together"}
	}
	text := strings.ReplaceAll(strings.ReplaceAll(q.Readings[0], " ", ""), ",", ".")
	var anybody, found *CardFileRow
	var steps []string
	for i, r := range c.Rows {
		if r.Dilution == q.Dilution && r.Reader == "" {
			steps = append(steps, r.Reading)
		}
		if r.Reading != text || r.Dilution != q.Dilution {
			continue
		}
		if r.Reader == "" {
			anybody = &c.Rows[i]
		}
		if r.Reader == q.Reader {
			found = &c.Rows[i]
		}
	}
	if found == nil && anybody != nil {
		found = anybody
		o.Notes = append(o.Notes, note.New("sharer-untried").Name("what", "reader").Name("name", q.Reader))
	}
	if found == nil {
		if steps == nil {
			return o, knownwater.Fault{Column: "--reading", Found: "“%s” is no step of the card", Want: "a dilution that the card has"}.Of(clean(q.Readings[0]))
		}
		return o, knownwater.Fault{Column: "--reading", Found: "“%s” is no step of the card", Want: "one of its steps: %s"}.Of(clean(q.Readings[0]), strings.Join(steps, ", "))
	}
	if q.Reader == "" {
		o.Notes = append(o.Notes, note.New("sharer-unnamed").Name("what", "reader"))
	}
	o.Result = result.Result{U: math.NaN(), Answer: inverse.Answer{Estimate: float64(found.Estimate), Low: float64(found.Low), High: float64(found.High), Open: inverse.Open(found.Open)}}
	for _, p := range found.Parts {
		x := interval.Interval{Low: float64(p[0]), High: float64(p[1])}
		if math.IsNaN(x.High) {
			x.High = math.Inf(1)
		}
		o.Result.Parts = append(o.Result.Parts, x)
	}
	factor, low := math.NaN(), math.NaN()
	if c.Nitrite != nil {
		factor, low = float64(c.Nitrite.Factor), float64(c.Nitrite.Low)
	}
	o.Notes = append(o.Notes, assess.NitriteOfStep(q, c.Method, factor, low)...)
	return o, nil
}
