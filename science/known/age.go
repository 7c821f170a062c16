package known

import (
	"math"
	"time"

	"knownwater/science/errorpart"
	"knownwater/science/note"
	"knownwater/science/num"
)

const day = "2006-01-02"

// soon is how long before its end a stock is warned about.
const soon = 30 * 24 * time.Hour

// doubts are warnings about a stock on a day: expiry, age, evaporation.
func (st Stock) doubts(today time.Time) []note.Note {
	var out []note.Note
	say := func(n note.Note) { out = append(out, n) }
	switch {
	case st.Expires.IsZero() && st.Made.IsZero():
		say(note.New("stock-undated").Name("stock", st.Name))
	case !st.Expires.IsZero() && today.After(st.Expires):
		say(note.New("stock-expired").Name("stock", st.Name).Name("day", st.Expires.Format(day)))
	case !st.Expires.IsZero() && today.Add(soon).After(st.Expires):
		say(note.New("stock-expires").Name("stock", st.Name).Name("day", st.Expires.Format(day)))
	case st.Expires.IsZero() && today.Sub(st.Made) > 365*24*time.Hour:
		say(note.New("stock-old").Name("stock", st.Name).Name("day", st.Made.Format(day)))
	}
	if share := st.Loss / (st.LossFrom + math.SmallestNonzeroFloat64); share > 0.002 {
		say(note.New("stock-lost-water").Name("stock", st.Name).Number("share", share))
	}
	return out
}

// Evaporated is the factor by which evaporation has raised a concentration,
// and its standard uncertainty: V/(V − loss), where loss grams of water (1 g
// taken as 1 mL, within 0.3 %) have gone from volume mL. NaN where it all went.
func Evaporated(loss, uLoss, volume float64) (factor, u float64) {
	rest := volume - loss
	if !(rest > 0) {
		return math.NaN(), math.NaN()
	}
	return volume / rest, volume / (rest * rest) * uLoss
}

// Agreement is the verdict on two stocks.
type Agreement string

// The verdicts.
const (
	Agree     Agreement = "agree"
	Disagree  Agreement = "disagree"
	Undecided Agreement = "undecided"
)

// Comparison is one stock against another.
type Comparison struct {
	Verdict   Agreement
	Shift     float64 // first over second by the readings, against first over second by the labels, less 1
	U         float64 // its standard uncertainty
	Low, High float64 // 95 % limits of Shift
	Why       note.Note
}

// MeanRead is what a method read of a standard on average: U is the spread of N readings over
// the root of N; N is 0 where nobody says from how many U comes, and then it is taken as known.
type MeanRead struct {
	Mean, U float64
	N       int
}

// part is the error of a mean, as a share of it.
func (m MeanRead) part(name string, sign float64) errorpart.Part {
	return errorpart.Part{Name: name, U: m.U / m.Mean, Sensitivity: sign, Degrees: math.Max(0, float64(m.N-1))}
}

// CompareStocks judges whether two independent stocks tell the same, from
// readings of both by one method at about the same level.
//
// response is the reading of each divided by the value that its own stock
// gives it (background already in both), with its u; the values' parts tell
// what the two standards share (glassware, background), which cancels.
//
//	shift = (r₁/r₂) − 1,  u² = (r₁/r₂)²·[(u_r1/r₁)² + (u_r2/r₂)² + u²(v₁/v₂)/(v₁/v₂)²]
//
// Its 95 % limits are shift ± t·u, t with the degrees of freedom that Welch and
// Satterthwaite's formula gives (JCGM 100:2008, G.4): three readings of each are four, so
// that t is 2.8, not 2. They disagree where 0 lies outside the limits; they agree where these
// lie wholly within ± permitted; else it is undecided.
func CompareStocks(a, b errorpart.Value, first, second MeanRead, permitted float64) Comparison {
	ratio := errorpart.Ratio(a, b)
	r := (first.Mean / second.Mean) / ratio.Value
	parts := errorpart.Sum([]float64{1, -1 / ratio.Value}, errorpart.Of(first.part("reading 1", 1), second.part("reading 2", -1)), ratio.Parts)
	u := math.Abs(r) * parts.U()
	t := num.TQuantile(0.975, parts.Degrees())
	c := Comparison{Shift: r - 1, U: u, Low: r - 1 - t*u, High: r - 1 + t*u}
	switch {
	case math.IsNaN(u) || math.IsInf(u, 0):
		c.Verdict, c.Why = Undecided, note.New("stocks-of-nothing")
	case c.Low > 0 || c.High < 0:
		c.Verdict, c.Why = Disagree, note.New("stocks-disagree").Number("shift", c.Shift).Number("u", u)
	case c.Low >= -permitted && c.High <= permitted:
		c.Verdict, c.Why = Agree, note.New("stocks-agree").Number("shift", c.Shift).Number("u", u).Number("permitted", permitted)
	default:
		c.Verdict, c.Why = Undecided, note.New("stocks-undecided").Number("shift", c.Shift).Number("u", u).Number("permitted", permitted)
	}
	return c
}

func sq(x float64) float64 { return x * x }
