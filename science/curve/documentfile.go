package curve

import (
	"bytes"
	"encoding/json"
	"fmt"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// documentJSON is curve.json and what `curve fit --json` prints.
type documentJSON struct {
	Analyte *string `json:"analyte"`
	Unit    *string `json:"unit"`
	Basis   *string `json:"basis"`
	curveJSON
	Points   []pointJSON   `json:"points"`
	Checks   []judgedJSON  `json:"checks"`
	LeftOut  []judgedJSON  `json:"left_out"`
	Standing string        `json:"standing"`
	Signal   Conversion    `json:"signal"`
	Scope    Scope         `json:"scope"`
	Choices  Choices       `json:"choices"`
	Segments []segmentJSON `json:"segments,omitempty"`
	Joins    []joinJSON    `json:"joins,omitempty"`
	Notes    []string      `json:"notes"`
}

type pointJSON struct {
	Level     number  `json:"level"`
	ULevel    number  `json:"u_level"`
	UWater    number  `json:"u_background,omitempty"`
	Signal    number  `json:"signal"`
	Role      string  `json:"role"`
	Session   string  `json:"session,omitempty"`
	Replicate string  `json:"replicate,omitempty"`
	Dilution  number  `json:"dilution"`
	Fitted    number  `json:"fitted"`
	Residual  number  `json:"residual"`
	ReadBack  number  `json:"read_back"`
	Low       number  `json:"read_back_low"`
	High      number  `json:"read_back_high"`
	Outside   *string `json:"outside"`
	Recovery  number  `json:"recovery"`
}

type judgedJSON struct {
	Level     number `json:"level"`
	ULevel    number `json:"u_level"`
	N         int    `json:"n"`
	ReadBack  number `json:"read_back"`
	Low       number `json:"read_back_low"`
	High      number `json:"read_back_high"`
	Error     number `json:"error"`
	ErrorLow  number `json:"error_low"`
	ErrorHigh number `json:"error_high"`
	Permitted number `json:"permitted"`
	Verdict   string `json:"verdict"`
}

type segmentJSON struct {
	Dilution number `json:"dilution"`
	curveJSON
	Notes []string `json:"notes"`
}

type joinJSON struct {
	Low       number `json:"dilution"`
	High      number `json:"with"`
	At        number `json:"at"`
	Ratio     number `json:"ratio"`
	RatioLow  number `json:"ratio_low"`
	RatioHigh number `json:"ratio_high"`
	Words     string `json:"verdict"`
}

// JSON is the document as its file holds it, null for what cannot be computed. Its notes
// stand there as say puts them: a file is read by people too.
func (d Document) JSON(say func([]note.Note) []string) any {
	j := documentJSON{Analyte: OrNull(d.Scale.Analyte), Unit: OrNull(d.Scale.Unit), Basis: OrNull(d.Scale.Basis), curveJSON: d.Curve.json(say), Points: []pointJSON{}, Checks: judgedList(d.Checks), LeftOut: judgedList(d.LeftOut),
		Standing: say([]note.Note{d.Standing()})[0], Signal: d.Conversion, Scope: d.Scope, Choices: d.Choices, Notes: say(d.Notes)}
	for _, p := range d.Points {
		role := "fit"
		if p.Check {
			role = "check"
		}
		j.Points = append(j.Points, pointJSON{number(p.Level), number(p.ULevel), number(p.UBackground), number(p.Signal), role, p.Session, p.Replicate, number(p.Dilution),
			number(p.Fitted), number(p.Residual), number(p.Back.Level), number(p.Back.Low), number(p.Back.High), OrNull(p.Back.Outside), number(p.Recovery)})
	}
	for _, s := range d.Segments {
		j.Segments = append(j.Segments, segmentJSON{number(s.Dilution), s.json(say), say(s.Notes)})
	}
	for _, k := range d.Joins {
		j.Joins = append(j.Joins, joinJSON{number(k.Low), number(k.High), number(k.At), number(k.Ratio), number(k.RatioLow), number(k.RatioHigh), say([]note.Note{k.Says})[0]})
	}
	return j
}

// OrNull is a pointer to a text, nil where it is empty.
func OrNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func judgedList(list []Judged) []judgedJSON {
	out := []judgedJSON{}
	for _, v := range list {
		permitted := number(v.Permitted)
		if v.Permitted == 0 {
			permitted = num.None
		}
		out = append(out, judgedJSON{number(v.Level), number(v.ULevel), v.N, number(v.Back.Level), number(v.Back.Low), number(v.Back.High),
			number(v.Error), number(v.Low), number(v.High), permitted, v.Verdict})
	}
	return out
}

// Open reads curve.json back, as far as it is needed to read signals, compare
// and hand over. The error is a knownwater.Fault without the file's name.
func Open(data []byte) (Document, error) {
	var j documentJSON
	if err := json.NewDecoder(bytes.NewReader(data)).Decode(&j); err != nil {
		return Document{}, knownwater.Fault{Found: "not a curve: %s", Want: "a file that curve fit --out wrote"}.Of(err.Error())
	}
	refuse := func(err error) (Document, error) {
		return Document{}, knownwater.Fault{Found: "not a whole curve: %s", Want: "a file that curve fit --out wrote, unchanged"}.Of(err.Error())
	}
	d := Document{Conversion: j.Signal, Scope: j.Scope, Choices: j.Choices}
	var err error
	if d.Curve, err = j.curveJSON.curve(); err != nil {
		return refuse(err)
	}
	if f := d.Conversion.Valid(); f != nil {
		return refuse(f)
	}
	d.Notes = note.ToldAll(j.Notes)
	for _, part := range []struct {
		from *string
		to   *string
	}{{j.Analyte, &d.Scale.Analyte}, {j.Unit, &d.Scale.Unit}, {j.Basis, &d.Scale.Basis}} {
		if part.from != nil {
			*part.to = *part.from
		}
	}
	for _, s := range j.Segments {
		c, err := s.curve()
		if err != nil {
			return refuse(err)
		}
		if !(s.Dilution > 0) {
			return refuse(fmt.Errorf("a segment without its dilution"))
		}
		c.Notes = note.ToldAll(s.Notes)
		d.Segments = append(d.Segments, Segment{float64(s.Dilution), c})
	}
	for _, p := range j.Points {
		d.Points = append(d.Points, PointBack{Point: Point{Level: float64(p.Level), ULevel: float64(p.ULevel), UBackground: float64(p.UWater), Signal: float64(p.Signal),
			Check: p.Role == "check", Session: p.Session, Replicate: p.Replicate, Dilution: float64(p.Dilution)}})
	}
	return d, nil
}
