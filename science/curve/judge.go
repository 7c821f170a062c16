package curve

import (
	"math"
	"sort"

	"knownwater"
	"knownwater/science/note"
)

// PointBack is one point against the curve. Fitted, Residual and the read-back are
// those of a single signal, NaN above the highest known that was fitted; levels are
// as typed, before the dilution.
type PointBack struct {
	Point
	Fitted, Residual float64
	Back             Result
	Recovery         float64 // percent; NaN at level 0
}

// PointsBack holds every point against the curve.
func (c Curve) PointsBack(points []Point) []PointBack {
	out := make([]PointBack, len(points))
	for i, p := range points {
		b := PointBack{Point: p, Fitted: c.At(p.Cell())}
		if p.Cell() > c.Top {
			b.Fitted = math.NaN()
		}
		b.Residual = p.Signal - b.Fitted
		b.Back = c.ReadOn(Sample{Signals: []float64{p.Signal}, Dilution: p.Dilution})
		b.Recovery = math.NaN()
		if p.Level > 0 {
			b.Recovery = 100 * b.Back.Level / p.Level
		}
		out[i] = b
	}
	return out
}

// Judged is a known read back through a curve that it had no part in.
type Judged struct {
	Level, ULevel    float64
	N                int
	Back             Result
	Error, Low, High float64 // read-back less known, with 95 % limits that hold the known's own uncertainty too
	Permitted        float64 // by the need; 0 where there is none
	Verdict          string
}

// The verdicts on a known read back.
const (
	Within    = "within"  // the whole interval of the error lies within what is permitted
	OutsideIt = "outside" // none of it does
	Undecided = "undecided"
	Agrees    = "agrees"    // no need given: the interval holds 0, and is no wider than the known itself
	Disagrees = "disagrees" // … or does not hold it
	// NotContradicted is a known whose error may be 0 and may be more than is of use: its
	// interval is wider than what is permitted (± that) or, without a need, than the known itself.
	NotContradicted = "not contradicted"
	NotRead         = "not read"
)

// Checks judges the curve by the knowns of role check. need may be nil.
func (c Curve) Checks(points []Point, need *knownwater.Need) []Judged {
	var out []Judged
	for _, group := range byLevel(points) {
		out = append(out, c.judge(group, need))
	}
	return out
}

// byLevel gathers the checks of one known.
func byLevel(points []Point) (groups [][]Point) {
	var checks []Point
	for _, p := range points {
		if p.Check {
			checks = append(checks, p)
		}
	}
	sort.SliceStable(checks, func(i, j int) bool { return checks[i].Level < checks[j].Level })
	for i, p := range checks {
		if i == 0 || p.Level != checks[i-1].Level || p.Dilution != checks[i-1].Dilution {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], p)
	}
	return groups
}

// judge reads the mean of one known's vials. Where the curve's points do not tell how they scatter, its error reaches as far
// as under any of the ways of otherwise.
func (c Curve) judge(group []Point, need *knownwater.Need) Judged {
	s := Sample{Dilution: group[0].Dilution}
	j := Judged{Level: group[0].Level, N: len(group), Error: math.NaN(), Low: math.NaN(), High: math.NaN()}
	for _, p := range group {
		s.Signals = append(s.Signals, p.Signal)
		j.ULevel = math.Max(j.ULevel, p.ULevel)
	}
	j.Back = c.ReadOn(s)
	const k = 1.959963984540054 // the known's own uncertainty is as stated: normal
	own := k * j.ULevel
	j.Error = j.Back.Level - j.Level
	j.Low, j.High = j.Back.errorAt(j.Level, own)
	for _, other := range c.others {
		if b := other.ReadOn(s); b.Outside == "" {
			low, high := b.errorAt(j.Level, own)
			j.Low, j.High = math.Min(j.Low, low), math.Max(j.High, high)
		}
	}
	if need != nil {
		j.Permitted = need.PermittedAt(j.Level)
	}
	j.Verdict = j.verdict()
	return j
}

// errorAt is where the error at a known lies that was read back so, 95 %, with what the known's own uncertainty makes of it.
func (b Result) errorAt(level, own float64) (low, high float64) {
	e := b.Level - level
	return e - math.Hypot(b.Level-b.Low, own), e + math.Hypot(b.High-b.Level, own)
}

func (j Judged) verdict() string {
	switch e := j.Permitted; {
	case j.Back.Outside != "":
		return NotRead
	case math.IsNaN(j.Low) || math.IsNaN(j.High):
		return Undecided
	case e > 0 && -e <= j.Low && j.High <= e:
		return Within
	case e > 0 && (j.Low > e || j.High < -e):
		return OutsideIt
	case e > 0 && j.Low <= 0 && 0 <= j.High && j.High-j.Low > 2*e:
		return NotContradicted
	case e > 0:
		return Undecided
	case j.Low <= 0 && 0 <= j.High && j.High-j.Low > j.Level:
		return NotContradicted
	case j.Low <= 0 && 0 <= j.High:
		return Agrees
	}
	return Disagrees
}

// LeftOut fits without each inner level in turn and reads that level back: what
// is left where no known was held out. It is weaker than checks, because every
// level had its part in choosing the shape.
func LeftOut(points []Point, o Options, shape Shape, need *knownwater.Need) (out []Judged) {
	o.Shape = shape
	eachLeftOut(points, o, 1, func(c Curve, without []Point) { out = append(out, c.Checks(without, need)...) })
	return out
}

// eachLeftOut fits without each level in turn, from the one of that number to the last but
// one; of without those that were left out are checks.
func eachLeftOut(points []Point, o Options, from int, fitted func(c Curve, without []Point)) {
	lv := reduce(points)
	o.Sure = true
	for l := from; l < lv.count()-1; l++ {
		without := make([]Point, 0, len(points))
		for _, p := range points {
			if p.Check {
				continue
			}
			p.Check = p.Cell() == lv.c[l]
			without = append(without, p)
		}
		if c, err := Fit(without, o); err == nil {
			fitted(c, without)
		}
	}
}

// Standing is by what a curve was judged, with the number of each verdict.
func (d Document) Standing() note.Note {
	switch {
	case len(d.Checks) > 0:
		return counted(note.New("judged-by-knowns").Number("knowns", float64(len(d.Checks))), d.Checks)
	case len(d.LeftOut) > 0:
		return counted(note.New("judged-by-left-out").Number("knowns", float64(len(d.LeftOut))), d.LeftOut)
	}
	return note.New("judged-by-nothing")
}

// counted adds how many came to each verdict.
func counted(n note.Note, list []Judged) note.Note {
	count := map[string]float64{}
	for _, j := range list {
		count[j.Verdict]++
	}
	for verdict, k := range count {
		n = n.Number(verdict, k)
	}
	return n
}
