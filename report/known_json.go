package report

import (
	"io"

	"knownwater/science/errorpart"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/num"
)

// The JSON of the knowns, as docs/formats-knowns.md describes it.

type standardJSON struct {
	Name     string      `json:"name"`
	Code     string      `json:"code,omitempty"`
	Asked    *float64    `json:"asked"`
	Level    num.Number  `json:"level"`
	ULevel   num.Number  `json:"u_level"`
	UShared  num.Number  `json:"u_shared"`
	UBack    num.Number  `json:"u_background"`
	K        num.Number  `json:"k"`
	Low      num.Number  `json:"low"`
	High     num.Number  `json:"high"`
	Monte    *monteJSON  `json:"monte_carlo"`
	Salinity float64     `json:"salinity"`
	Largest  string      `json:"largest_part"`
	Shares   []shareJSON `json:"shares"`
	Parts    []partJSON  `json:"parts"`
	Chain    []string    `json:"chain"`
	Notes    []string    `json:"notes"`
}

type monteJSON struct {
	Mean num.Number `json:"mean"`
	SD   num.Number `json:"sd"`
	Low  num.Number `json:"low"`
	High num.Number `json:"high"`
}

type shareJSON struct {
	Kind  string     `json:"kind"`
	U     num.Number `json:"u"`
	Share num.Number `json:"share"`
}

type partJSON struct {
	Name string     `json:"name"`
	Kind string     `json:"kind"`
	Size num.Number `json:"size"` // signed contribution to the level
}

type solutionJSON struct {
	Name  string      `json:"name"`
	Code  string      `json:"code,omitempty"`
	Level *float64    `json:"level,omitempty"`
	From  string      `json:"from,omitempty"`
	Take  measureJSON `json:"take"`
	Make  measureJSON `json:"make"`
	In    string      `json:"in"`
}

type measureJSON struct {
	Device string  `json:"device"`
	Amount float64 `json:"amount"`
	Times  int     `json:"times"`
}

type alternativeJSON struct {
	What      string         `json:"what"`
	RelativeU num.Number     `json:"relative_u"`
	Ratio     num.Number     `json:"ratio"`
	Solutions []solutionJSON `json:"solutions"`
}

type setJSON struct {
	Analyte       string                `json:"analyte"`
	Unit          string                `json:"unit"`
	Basis         string                `json:"basis"`
	Version       string                `json:"version"`
	Standards     []standardJSON        `json:"standards"`
	Intermediates []standardJSON        `json:"intermediates"`
	Covariance    [][]float64           `json:"covariance"`
	SharedMisfit  num.Number            `json:"shared_misfit"`
	SharedSurer   num.Number            `json:"shared_surer"`
	StockUsed     map[string]num.Number `json:"stock_used_ml"`
	MatrixUsed    num.Number            `json:"matrix_used_ml"`
	Notes         []string              `json:"notes"`
	Plan          *planJSON             `json:"plan,omitempty"`
}

type planJSON struct {
	Stock     string            `json:"stock"`
	RelativeU num.Number        `json:"relative_u"`
	Score     num.Number        `json:"score"`
	Steps     int               `json:"steps"`
	Waste     num.Number        `json:"waste_ml"`
	Searched  int               `json:"ways_looked_at"`
	Solutions []solutionJSON    `json:"solutions"`
	Next      *alternativeJSON  `json:"next_best"`
	Buying    []alternativeJSON `json:"buying"`
}

// JSON writes the plan as one object.
func (v KnownPlan) JSON(out io.Writer) error { return writeJSON(out, v.wire(), "  ") }

func (v KnownPlan) wire() setJSON {
	out := setToJSON(v.Shelf, v.Plan.Set, v.Notes, v.Version)
	out.Plan = &planJSON{
		Stock: v.Plan.Stock, RelativeU: num.Number(v.Plan.RelativeU), Score: num.Number(v.Plan.Score), Steps: v.Plan.Steps,
		Waste: num.Number(v.Plan.Waste), Searched: v.Plan.Searched, Solutions: solutions(v.Plan.Preparation), Buying: []alternativeJSON{},
	}
	if v.Next != nil {
		next := alternative(*v.Next)
		out.Plan.Next = &next
	}
	for _, b := range v.Buying {
		out.Plan.Buying = append(out.Plan.Buying, alternative(b))
	}
	return out
}

// JSON writes the values as one object.
func (v KnownValues) JSON(out io.Writer) error {
	return writeJSON(out, setToJSON(v.Shelf, v.Set, v.Notes, v.Version), "  ")
}

func setToJSON(s known.Shelf, set known.Set, notes []note.Note, version string) setJSON {
	out := setJSON{
		Analyte: s.Scale.Analyte, Unit: s.Scale.Unit, Basis: s.Scale.Basis, Version: version,
		Standards: standards(set.Standards), Intermediates: standards(set.Intermediates),
		Covariance: set.Covariance, SharedMisfit: num.Number(set.SharedMisfit), SharedSurer: num.Number(set.SharedSurer),
		StockUsed: map[string]num.Number{}, MatrixUsed: num.Number(set.MatrixUsed), Notes: SayAll(notes),
	}
	for _, st := range s.Stocks {
		if used := set.StockUsed[st.Name]; used > 0 {
			out.StockUsed[st.Name] = num.Number(used)
		}
	}
	return out
}

func standards(in []known.Standard) []standardJSON {
	out := []standardJSON{}
	for _, st := range in {
		j := standardJSON{
			Name: st.Solution.Name, Code: st.Solution.Code, Level: num.Number(st.Value.Value), ULevel: num.Number(st.U),
			UShared: num.Number(st.UShared), UBack: num.Number(st.UBackground), K: num.Number(st.K), Low: num.Number(st.Low), High: num.Number(st.High),
			Salinity: st.Salinity, Largest: Words(st.Largest), Chain: WordsAll(st.Chain), Notes: SayAll(st.Notes),
			Shares: []shareJSON{}, Parts: []partJSON{},
		}
		if st.Solution.Standard {
			asked := st.Solution.Asked
			j.Asked = &asked
		}
		if m := st.Monte; m != nil {
			j.Monte = &monteJSON{num.Number(m.Mean), num.Number(m.SD), num.Number(m.Low), num.Number(m.High)}
		}
		for _, s := range st.Value.Parts.ByKind() {
			j.Shares = append(j.Shares, shareJSON{s.Kind, num.Number(s.U), num.Number(s.Share)})
		}
		for _, p := range st.Value.Parts {
			j.Parts = append(j.Parts, part(p))
		}
		out = append(out, j)
	}
	return out
}

func part(p errorpart.Part) partJSON { return partJSON{p.Name, p.Kind, num.Number(p.Size())} }

func solutions(p known.Preparation) []solutionJSON {
	out := []solutionJSON{}
	for _, x := range p {
		j := solutionJSON{Name: x.Name, Code: x.Code, From: x.From, Take: measureJSON(x.Take), Make: measureJSON(x.Make), In: string(x.In)}
		if x.Standard {
			asked := x.Asked
			j.Level = &asked
		}
		out = append(out, j)
	}
	return out
}

func alternative(a known.Alternative) alternativeJSON {
	return alternativeJSON{a.What, num.Number(a.Plan.RelativeU), num.Number(a.Ratio), solutions(a.Plan.Preparation)}
}

type backgroundJSON struct {
	Value  num.Number `json:"background"`
	U      num.Number `json:"u"`
	Low    num.Number `json:"low"`
	High   num.Number `json:"high"`
	DF     num.Number `json:"degrees_of_freedom"`
	Slope  num.Number `json:"slope"`
	USlope num.Number `json:"u_slope"`
	N      int        `json:"n"`
	Unit   string     `json:"unit"`
	Basis  string     `json:"basis"`
	Notes  []string   `json:"notes"`
}

// JSON writes the background as one object.
func (v KnownBackground) JSON(out io.Writer) error {
	b := v.Background
	return writeJSON(out, backgroundJSON{
		num.Number(b.Value), num.Number(b.U), num.Number(b.Low), num.Number(b.High), num.Number(b.Degrees),
		num.Number(b.Slope), num.Number(b.USlope), b.N, v.Scale.Unit, v.Scale.Basis, SayAll(b.Notes),
	}, "  ")
}

// JSON writes the comparison as one object.
func (v StockComparison) JSON(out io.Writer) error {
	c := v.Comparison
	return writeJSON(out, struct {
		Verdict string     `json:"verdict"`
		Shift   num.Number `json:"shift"`
		U       num.Number `json:"u"`
		Low     num.Number `json:"low"`
		High    num.Number `json:"high"`
		Why     string     `json:"why"`
	}{string(c.Verdict), num.Number(c.Shift), num.Number(c.U), num.Number(c.Low), num.Number(c.High), Say(c.Why)}, "  ")
}
