package curve

import (
	"fmt"
	"math"
	"strings"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/response"
)

type number = num.Number

func numbers(v []float64) []number {
	out := make([]number, len(v))
	for i := range v {
		out[i] = number(v[i])
	}
	return out
}

func matrix(v [][]float64) [][]number {
	out := make([][]number, len(v))
	for i := range v {
		out[i] = numbers(v[i])
	}
	return out
}

func floats(v []number) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = float64(v[i])
	}
	return out
}

func floatMatrix(v [][]number) [][]float64 {
	out := make([][]float64, len(v))
	for i := range v {
		out[i] = floats(v[i])
	}
	return out
}

// curveJSON is one curve; the contract is docs/formats.md.
type curveJSON struct {
	Model          Shape           `json:"model"`
	Formula        string          `json:"formula"`
	Coefficients   []number        `json:"coefficients"`
	StandardErrors []number        `json:"standard_errors"`
	Covariance     [][]number      `json:"covariance"`
	ResidualSD     number          `json:"residual_sd"`
	DF             number          `json:"df"`
	Weights        Weights         `json:"weights"`
	Spread         *spreadJSON     `json:"spread"`
	LackOfFitP     number          `json:"lack_of_fit_p"`
	RSquared       number          `json:"r_squared"`
	Range          rangeJSON       `json:"range"`
	Critical       number          `json:"critical"`
	Detection      number          `json:"detection"`
	Quantification number          `json:"quantification"`
	ThroughZero    bool            `json:"through_zero"`
	Why            string          `json:"why"`
	Tried          []trialJSON     `json:"tried"`
	Fitted         fittedJSON      `json:"fitted_to"`
	Weightings     []weightingJSON `json:"weightings"`
	Beside         *curveJSON      `json:"beside,omitempty"`
}

type spreadJSON struct {
	Sigma0 number `json:"sigma0"`
	Kappa  number `json:"kappa"`
}

type rangeJSON struct {
	SignalLow  number    `json:"signal_low"`
	SignalHigh number    `json:"signal_high"`
	LevelLow   number    `json:"level_low"`
	LevelHigh  number    `json:"level_high"`
	Why        string    `json:"ends_because,omitempty"`
	Flat       *flatJSON `json:"flat,omitempty"`
}

type flatJSON struct {
	From number `json:"from"`
	Mean number `json:"signal"`
	SD   number `json:"sd"`
	N    number `json:"n"`
	DF   number `json:"df"`
	Why  string `json:"why"`
}

type fittedJSON struct {
	Points int    `json:"points"`
	Levels int    `json:"levels"`
	Blanks int    `json:"blanks"`
	Bottom number `json:"lowest"`
	Top    number `json:"highest"`
}

type trialJSON struct {
	Shape     Shape  `json:"shape"`
	LackOfFit number `json:"lack_of_fit_p"`
	AICc      number `json:"aicc"`
	LeftOut   number `json:"left_out_error"`
	Sound     bool   `json:"sound"`
}

type weightingJSON struct {
	Mass     float64    `json:"probability"`
	Steady   float64    `json:"probability_if_steady"`
	Growing  float64    `json:"probability_if_growing"`
	Variance variance   `json:"variance"`
	Coef     []number   `json:"coefficients"`
	Noise    [][]number `json:"covariance_noise"`
	Known    [][]number `json:"covariance_knowns,omitempty"`
	Size     number     `json:"size"`
	DF       number     `json:"df"`
}

func (c Curve) json(say func([]note.Note) []string) curveJSON {
	because := func(why []note.Note) string { return strings.Join(say(why), "; ") }
	l := c.Limits(1)
	j := curveJSON{
		Model: c.Shape, Formula: c.Formula(), Coefficients: numbers(c.Coef), Covariance: matrix(c.Cov),
		ResidualSD: number(c.ResidualSD), DF: number(c.DF), Weights: c.Weights, LackOfFitP: number(c.LackOfFit), RSquared: number(c.R2),
		Range:    rangeJSON{number(c.Range.SignalLow), number(c.Range.SignalHigh), number(c.Range.LevelLow), number(c.Range.LevelHigh), because(c.Range.Why), nil},
		Critical: number(l.Critical), Detection: number(l.Detection), Quantification: number(l.Quantification),
		ThroughZero: c.ThroughZero, Why: because([]note.Note{c.Why}),
		Fitted: fittedJSON{c.Points, c.Levels, c.Blanks, number(c.Bottom), number(c.Top)},
	}
	if f := c.Range.Flat; f != nil {
		j.Range.Flat = &flatJSON{number(f.From), number(f.Mean), number(f.SD), number(f.N), number(f.DF), because(f.Why)}
	}
	for i := range c.Coef {
		j.StandardErrors = append(j.StandardErrors, number(c.SE(i)))
	}
	if c.Weights == BySpread {
		j.Spread = &spreadJSON{number(c.Sigma0), number(c.Kappa)}
	}
	for _, t := range c.Tried {
		j.Tried = append(j.Tried, trialJSON{t.Shape, number(t.LackOfFit), number(t.AICc), number(t.LeftOut), t.Sound})
	}
	for _, w := range c.Weightings {
		j.Weightings = append(j.Weightings, weightingJSON{w.Mass, w.Steady, w.Growing, w.Variance, numbers(w.Coef), matrix(w.Noise), matrix(w.Known), number(w.Size), number(w.DF)})
	}
	if c.Beside != nil {
		b := c.Beside.json(say)
		j.Beside = &b
	}
	return j
}

// told is a reason as it stands in a file; none where it is empty.
func told(why string) []note.Note {
	if why == "" {
		return nil
	}
	return []note.Note{note.Told(why)}
}

// curve turns it back, or says what is wrong with it.
func (j curveJSON) curve() (Curve, error) {
	c := Curve{
		Shape: j.Model, Coef: floats(j.Coefficients), Cov: floatMatrix(j.Covariance), ResidualSD: float64(j.ResidualSD), DF: float64(j.DF),
		Weights: j.Weights, LackOfFit: float64(j.LackOfFitP), R2: float64(j.RSquared), ThroughZero: j.ThroughZero, Why: note.Told(j.Why),
		Range:  Range{float64(j.Range.SignalLow), float64(j.Range.SignalHigh), float64(j.Range.LevelLow), float64(j.Range.LevelHigh), told(j.Range.Why), nil},
		Bottom: float64(j.Fitted.Bottom), Top: float64(j.Fitted.Top), Points: j.Fitted.Points, Levels: j.Fitted.Levels, Blanks: j.Fitted.Blanks,
		Sigma0: math.NaN(), Kappa: math.NaN(), form: response.Of(j.Model),
	}
	if j.Spread != nil {
		c.Sigma0, c.Kappa = float64(j.Spread.Sigma0), float64(j.Spread.Kappa)
	}
	if f := j.Range.Flat; f != nil {
		c.Range.Flat = &Flat{float64(f.From), float64(f.Mean), float64(f.SD), float64(f.N), float64(f.DF), told(f.Why)}
	}
	for _, t := range j.Tried {
		c.Tried = append(c.Tried, Attempt{t.Shape, float64(t.LackOfFit), float64(t.AICc), float64(t.LeftOut), t.Sound})
	}
	for _, w := range j.Weightings {
		out := Weighting{w.Mass, w.Steady, w.Growing, w.Variance, floats(w.Coef), floatMatrix(w.Noise), nil, float64(w.Size), float64(w.DF)}
		if w.Known != nil {
			out.Known = floatMatrix(w.Known)
		}
		if w.Steady == 0 && w.Growing == 0 { // written before there were other beliefs than the even one
			out.Steady, out.Growing = w.Mass, w.Mass
		}
		c.Weightings = append(c.Weightings, out)
	}
	if j.Beside != nil {
		if j.Beside.Beside != nil {
			return c, fmt.Errorf("a curve beside another has one beside itself")
		}
		b, err := j.Beside.curve()
		if err != nil {
			return c, fmt.Errorf("the curve beside: %w", err)
		}
		c.Beside = &b
	}
	return c, c.valid()
}

// valid is what every curve that was fitted keeps.
func (c Curve) valid() error {
	finite := func(v ...float64) bool {
		for _, x := range v {
			if math.IsNaN(x) || math.Abs(x) > 1e200 {
				return false
			}
		}
		return true
	}
	if c.form == nil {
		return fmt.Errorf("model %q is no shape", c.Shape)
	}
	p := c.form.Params
	if len(c.Coef) != p || !finite(c.Coef...) || !squareOf(c.Cov, p) {
		return fmt.Errorf("a %s has %d coefficients and a covariance of as many rows", c.Shape, p)
	}
	r := c.Range
	if !finite(r.SignalLow, r.SignalHigh, r.LevelLow, r.LevelHigh) || !(r.LevelLow < r.LevelHigh) || r.LevelLow < 0 {
		return fmt.Errorf("the range has no two ends in order")
	}
	if f := r.Flat; f != nil && !(finite(f.From, f.Mean, f.SD, f.N, f.DF) && f.SD >= 0 && f.N > 0 && f.DF >= 0) {
		return fmt.Errorf("the knowns that cannot be told apart lack a signal or its scatter")
	}
	var sum chances
	for _, w := range c.Weightings {
		if !(w.Mass >= 0 && w.Steady >= 0 && w.Growing >= 0) || len(w.Coef) != p || !finite(w.Coef...) || !squareOf(w.Noise, p) || w.Known != nil && !squareOf(w.Known, p) {
			return fmt.Errorf("a weighting lacks its probability, coefficients or covariance")
		}
		v := w.Variance
		switch v.Weights {
		case Equal, OverX, OverX2:
		case BySpread:
			f := response.Of(v.Net)
			if v.Ratio != 0 && (f == nil || len(v.NetCoef) != f.Params || !finite(v.NetCoef...) || !finite(v.Full) || v.Full == 0) || f == nil {
				return fmt.Errorf("a weighting's spread lacks its curve")
			}
		default:
			return fmt.Errorf("%q are no weights", v.Weights)
		}
		sum.even, sum.steady, sum.growing = sum.even+w.Mass, sum.steady+w.Steady, sum.growing+w.Growing
	}
	for _, p := range []float64{sum.even, sum.steady, sum.growing} {
		if !(math.Abs(p-1) < 1e-6) {
			return fmt.Errorf("the weightings' probabilities sum to %.6g, not to 1", p)
		}
	}
	return nil
}

func squareOf(m [][]float64, n int) bool {
	if len(m) != n {
		return false
	}
	for _, row := range m {
		if len(row) != n {
			return false
		}
	}
	return true
}
