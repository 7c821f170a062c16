package main

import (
	"encoding/json"
	"io"

	"knownwater/science/assess"
	"knownwater/science/errorpart"
	"knownwater/science/known"
)

// The JSON of the knowns, as docs/formats-knowns.md describes it.

type standardJSON struct {
	Name     string        `json:"name"`
	Code     string        `json:"code,omitempty"`
	Asked    *float64      `json:"asked"`
	Level    assess.Number `json:"level"`
	ULevel   assess.Number `json:"u_level"`
	UShared  assess.Number `json:"u_shared"`
	K        assess.Number `json:"k"`
	Low      assess.Number `json:"low"`
	High     assess.Number `json:"high"`
	Monte    *monteJSON    `json:"monte_carlo"`
	Salinity float64       `json:"salinity"`
	Largest  string        `json:"largest_part"`
	Shares   []shareJSON   `json:"shares"`
	Parts    []partJSON    `json:"parts"`
	Chain    []string      `json:"chain"`
	Notes    []string      `json:"notes"`
}

type monteJSON struct {
	Mean assess.Number `json:"mean"`
	SD   assess.Number `json:"sd"`
	Low  assess.Number `json:"low"`
	High assess.Number `json:"high"`
}

type shareJSON struct {
	Kind  string        `json:"kind"`
	U     assess.Number `json:"u"`
	Share assess.Number `json:"share"`
}

type partJSON struct {
	Name string        `json:"name"`
	Kind string        `json:"kind"`
	Size assess.Number `json:"size"` // signed contribution to the level
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
	RelativeU assess.Number  `json:"relative_u"`
	Ratio     assess.Number  `json:"ratio"`
	Solutions []solutionJSON `json:"solutions"`
}

type setJSON struct {
	Analyte       string                   `json:"analyte"`
	Unit          string                   `json:"unit"`
	Basis         string                   `json:"basis"`
	Version       string                   `json:"version"`
	Standards     []standardJSON           `json:"standards"`
	Intermediates []standardJSON           `json:"intermediates"`
	Covariance    [][]float64              `json:"covariance"`
	SharedMisfit  assess.Number            `json:"shared_misfit"`
	StockUsed     map[string]assess.Number `json:"stock_used_ml"`
	MatrixUsed    assess.Number            `json:"matrix_used_ml"`
	Notes         []string                 `json:"notes"`
	Plan          *planJSON                `json:"plan,omitempty"`
}

type planJSON struct {
	Stock     string            `json:"stock"`
	RelativeU assess.Number     `json:"relative_u"`
	Score     assess.Number     `json:"score"`
	Steps     int               `json:"steps"`
	Waste     assess.Number     `json:"waste_ml"`
	Searched  int               `json:"ways_looked_at"`
	Solutions []solutionJSON    `json:"solutions"`
	Next      *alternativeJSON  `json:"next_best"`
	Buying    []alternativeJSON `json:"buying"`
}

func (v planView) json() setJSON {
	out := setToJSON(v.Shelf, v.Plan.Set, v.Notes)
	out.Plan = &planJSON{
		Stock: v.Plan.Stock, RelativeU: assess.Number(v.Plan.RelativeU), Score: assess.Number(v.Plan.Score), Steps: v.Plan.Steps,
		Waste: assess.Number(v.Plan.Waste), Searched: v.Plan.Searched, Solutions: solutions(v.Plan.Preparation), Buying: []alternativeJSON{},
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

func (v valueView) json() setJSON { return setToJSON(v.Shelf, v.Set, v.Notes) }

func setToJSON(s known.Shelf, set known.Set, notes []string) setJSON {
	out := setJSON{
		Analyte: s.Scale.Analyte, Unit: s.Scale.Unit, Basis: s.Scale.Basis, Version: version,
		Standards: standards(set.Standards), Intermediates: standards(set.Intermediates),
		Covariance: set.Covariance, SharedMisfit: assess.Number(set.SharedMisfit),
		StockUsed: map[string]assess.Number{}, MatrixUsed: assess.Number(set.MatrixUsed), Notes: list(notes),
	}
	for _, st := range s.Stocks {
		if used := set.StockUsed[st.Name]; used > 0 {
			out.StockUsed[st.Name] = assess.Number(used)
		}
	}
	return out
}

func standards(in []known.Standard) []standardJSON {
	out := []standardJSON{}
	for _, st := range in {
		j := standardJSON{
			Name: st.Solution.Name, Code: st.Solution.Code, Level: assess.Number(st.Value.Value), ULevel: assess.Number(st.U),
			UShared: assess.Number(st.UShared), K: assess.Number(st.K), Low: assess.Number(st.Low), High: assess.Number(st.High),
			Salinity: st.Salinity, Largest: st.Largest, Chain: st.Chain, Notes: list(st.Notes),
			Shares: []shareJSON{}, Parts: []partJSON{},
		}
		if st.Solution.Standard {
			asked := st.Solution.Asked
			j.Asked = &asked
		}
		if m := st.Monte; m != nil {
			j.Monte = &monteJSON{assess.Number(m.Mean), assess.Number(m.SD), assess.Number(m.Low), assess.Number(m.High)}
		}
		for _, s := range st.Value.Parts.ByKind() {
			j.Shares = append(j.Shares, shareJSON{s.Kind, assess.Number(s.U), assess.Number(s.Share)})
		}
		for _, p := range st.Value.Parts {
			j.Parts = append(j.Parts, part(p))
		}
		out = append(out, j)
	}
	return out
}

func part(p errorpart.Part) partJSON { return partJSON{p.Name, p.Kind, assess.Number(p.Size())} }

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
	return alternativeJSON{a.What, assess.Number(a.Plan.RelativeU), assess.Number(a.Ratio), solutions(a.Plan.Preparation)}
}

type backgroundJSON struct {
	Value  assess.Number `json:"background"`
	U      assess.Number `json:"u"`
	Low    assess.Number `json:"low"`
	High   assess.Number `json:"high"`
	DF     assess.Number `json:"degrees_of_freedom"`
	Slope  assess.Number `json:"slope"`
	USlope assess.Number `json:"u_slope"`
	N      int           `json:"n"`
	Unit   string        `json:"unit"`
	Basis  string        `json:"basis"`
	Notes  []string      `json:"notes"`
}

func (v backgroundView) json() backgroundJSON {
	b := v.Background
	return backgroundJSON{
		assess.Number(b.Value), assess.Number(b.U), assess.Number(b.Low), assess.Number(b.High), assess.Number(b.Degrees),
		assess.Number(b.Slope), assess.Number(b.USlope), b.N, v.Scale.Unit, v.Scale.Basis, list(b.Notes),
	}
}

func comparisonJSON(c known.Comparison) any {
	return struct {
		Verdict string        `json:"verdict"`
		Shift   assess.Number `json:"shift"`
		U       assess.Number `json:"u"`
		Low     assess.Number `json:"low"`
		High    assess.Number `json:"high"`
		Why     string        `json:"why"`
	}{string(c.Verdict), assess.Number(c.Shift), assess.Number(c.U), assess.Number(c.Low), assess.Number(c.High), c.Why}
}

// list is never null.
func list(in []string) []string {
	if in == nil {
		return []string{}
	}
	return in
}

// writeJSON prints one object, full precision, and nothing else.
func writeJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
