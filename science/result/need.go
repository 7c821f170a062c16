package result

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// The advice on a need.
const (
	Inside     = "inside"
	Below      = "below"
	Above      = "above"
	TestAgain  = "test again"
	CannotTell = "this method cannot tell"
)

// MostReadings is how many more readings anybody would take before the answer is that
// this method cannot tell.
const MostReadings = 20

// DefaultSure is how sure one wants to be where the need does not say.
const DefaultSure = 0.95

// Verdict is what readings of one sample say of a need.
type Verdict struct {
	Need string
	Chances
	Advice string
	More   int // further readings that are likely to settle it, by whoever needs fewest; 0: settled; −1: not within MostReadings
	Settle []Settle
	Cases  []float64 // equally likely concentrations where it is not settled; nil where it is
}

// Settle is who would settle it with how many readings, the fewest first.
type Settle struct {
	Reader string // "": anybody
	Count  int
}

// Judge holds what readings say against a need. The chances come from the same response
// as the set, every concentration from 0 up equally likely beforehand, and do not
// contradict it (Chances.within).
//
// More is the least number of further readings after which, in four of five cases, one of
// the three chances is as large as one wants to be sure: cases are concentrations as
// likely as the chances say, each with what further readings there will be.
func Judge(src Source, by []Readings, seen []interval.Interval, a inverse.Answer, n knownwater.Need) Verdict {
	mean := interval.Mean(seen)
	r := src.Of(by, false)
	d := newDensity(r, mean, a, fine, n.Low, n.High)
	v := Verdict{Need: n.Name, Chances: d.chances(mean, n.Low, n.High).within(a, n.Low, n.High), Settle: []Settle{}}
	if v.Advice = v.decided(sure(n)); v.Advice != "" {
		return v
	}
	v.Cases = cases(d)
	p := plan{src: src, by: by, seen: mean, need: n, cases: v.Cases}
	for _, reader := range readers(src, by) {
		if m := p.more(reader); m > 0 {
			v.Settle = append(v.Settle, Settle{reader, m})
		}
	}
	slices.SortStableFunc(v.Settle, func(a, b Settle) int { return cmp.Compare(a.Count, b.Count) })
	if v.Advice, v.More = CannotTell, -1; len(v.Settle) > 0 {
		v.Advice, v.More = TestAgain, v.Settle[0].Count
	}
	return v
}

// readers are those who read, then the others.
func readers(src Source, by []Readings) (out []string) {
	for _, b := range by {
		out = append(out, b.Reader)
	}
	for _, r := range src.Readers() {
		if place(by, r) < 0 {
			out = append(out, r)
		}
	}
	return out
}

func sure(n knownwater.Need) float64 {
	if n.Sure > 0 {
		return n.Sure
	}
	return DefaultSure
}

// decided is the advice where one chance is large enough, else nothing.
func (k Chances) decided(sure float64) string {
	switch {
	case k.Inside >= sure:
		return Inside
	case k.Below >= sure:
		return Below
	case k.Above >= sure:
		return Above
	}
	return ""
}

// plan asks what further readings would say.
type plan struct {
	src   Source
	by    []Readings
	seen  interval.Interval
	need  knownwater.Need
	cases []float64 // equally likely concentrations
}

const (
	caseCount = 7
	inCases   = 0.8 // four of five
)

func cases(d density) (out []float64) {
	mass := d.mass()
	for i := range caseCount {
		out = append(out, d.quantile(mass, (float64(i)+0.5)/caseCount))
	}
	return out
}

// more is the least number of further readings by a reader that settle it in four of five
// cases, −1 where MostReadings do not. More readings are taken never to settle less.
func (p plan) more(reader string) int {
	if math.IsInf(p.seen.Width(), 0) || p.settles(reader, MostReadings) < inCases {
		return -1
	}
	low, high := 0, MostReadings // not enough, enough
	for high-low > 1 {
		if m := (low + high) / 2; p.settles(reader, m) < inCases {
			low = m
		} else {
			high = m
		}
	}
	return high
}

// nodes and weights of a normal distribution, Gauss and Hermite's three.
var nodes = []struct{ z, weight float64 }{{-1.7320508075688772, 1.0 / 6}, {0, 2.0 / 3}, {1.7320508075688772, 1.0 / 6}}

// settles is the share of cases that m further readings would settle.
func (p plan) settles(reader string, m int) float64 {
	had, more := 0.0, Readings{reader, m}
	for _, b := range p.by {
		had += float64(b.Count)
	}
	r := p.src.Of(with(p.by, more), true)
	share := 0.0
	for _, c := range p.cases {
		y, sd := p.src.Next(c, p.seen.Mid(), p.by, more)
		for _, n := range nodes {
			at := y + n.z*sd
			half := p.src.Step(at) / 2
			all := had + float64(m)
			seen := interval.Interval{
				Low:  (had*p.seen.Low + float64(m)*(at-half)) / all,
				High: (had*p.seen.High + float64(m)*(at+half)) / all,
			}
			a := inverse.Turn(r, seen)
			k := newDensity(r, seen, a, quick, p.need.Low, p.need.High).chances(seen, p.need.Low, p.need.High).within(a, p.need.Low, p.need.High)
			if k.decided(sure(p.need)) != "" {
				share += n.weight / caseCount
			}
		}
	}
	return share
}
