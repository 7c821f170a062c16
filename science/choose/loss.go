package choose

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// Loss is what wrong calls cost: how often a water that lies below or above is taken for
// right, and a right one is acted on, of all answers; and the money of that a year.
type Loss struct {
	Below, Above, FalseAlarm num.Number // chances, of one answer
	Money                    num.Number // a year; none where no cost of a wrong call is stated
}

// lossOf is the expected loss of a way: the global risks of JCGM 106:2012, clause 9, over
// where the water lies as a rule, when a result inside the need is left and one outside
// acted on (risk). Where nobody says where the water lies
// it is taken to lie evenly from half the need's width below it to half above.
func lossOf(w Way, n knownwater.Need) Loss {
	none := Loss{num.None, num.None, num.None, num.None}
	if n.WrongBelow == 0 && n.WrongAbove == 0 && n.FalseAlarm == 0 {
		return none
	}
	usual := n.Usual
	if usual == [2]float64{} {
		half := (n.High - n.Low) / 2
		usual = [2]float64{math.Max(0, n.Low-half), n.High + half}
	}
	low := n.Low
	if low == 0 { // nothing lies below
		low = math.Inf(-1)
	}
	r, ok := w.risk(usual, [2]float64{low, n.High}, [2]float64{low, n.High})
	if !ok {
		return none
	}
	l := Loss{num.Number(r.Below), num.Number(r.Above), num.Number(r.Producer), num.None}
	l.Money = num.Number(12 * n.TestsAMonth * l.each(n))
	return l
}

// each is what an answer costs in wrong calls.
func (l Loss) each(n knownwater.Need) float64 {
	return float64(l.Below)*n.WrongBelow + float64(l.Above)*n.WrongAbove + float64(l.FalseAlarm)*n.FalseAlarm
}

// lossAt is the loss a year of so many answers a month.
func (w Way) lossAt(answersAMonth float64) float64 {
	if !w.Loss.Money.OK() {
		return 0
	}
	return 12 * answersAMonth * w.lossEach
}

// biases are what a method is off by at its knowns as read, and how it scatters there; of a sheet that dilutes waters above over those of both dilutions.
type biases struct {
	below, above dilutedBy
	over         float64
}

// dilutedBy is what readings of one dilution are off by and the standard deviations of single ones, at the knowns, and how much of their
// variance tests share.
type dilutedBy struct {
	bias, spread []biasAt
	turned       []biasAt // results of the middles of readings that the trial turned round, both rising
	shared       share
}

// share is how much of the variance of single readings is that of readers, and of sittings and lots.
type share struct{ reader, rest float64 }

// of is what tests by so many readers have in common.
func (s share) of(readers int) float64 { return s.rest + s.reader/float64(max(readers, 1)) }

func shareOf(s assess.Spread) share {
	square := func(sd num.Number) float64 {
		if !sd.OK() {
			return 0
		}
		return float64(sd) * float64(sd)
	}
	reader, rest := square(s.ReaderSD), square(s.SessionSD)+square(s.LotSD)
	all := square(s.RepeatabilitySD) + square(s.VialSD) + reader + rest
	if !(all > 0) {
		return share{}
	}
	return share{reader / all, rest / all}
}

type biasAt struct{ at, is float64 }

// biasesOf are those of the branches of a procedure.
func biasesOf(f assess.Findings, p assess.Procedure, method knownwater.Method) (out biases) {
	out.over = math.Inf(1)
	for _, m := range f.Methods {
		if m.Method != p.Method || m.Matrix != p.Matrix {
			continue
		}
		for i, b := range p.Branches {
			switch {
			case b.Dilution != m.Dilution:
			case i == 0:
				out.below = dilutedByOf(m, method)
			default:
				out.above, out.over = dilutedByOf(m, method), b.From
			}
		}
	}
	out.over -= out.at(out.over) // what reads so much
	return out
}

// biasesOnly are those of one dilution.
func biasesOnly(m assess.MethodFinding, method knownwater.Method) biases {
	return biases{below: dilutedByOf(m, method), over: math.Inf(1)}
}

func dilutedByOf(m assess.MethodFinding, method knownwater.Method) dilutedBy {
	along := func(of func(l assess.LevelFinding) num.Number) (out []biasAt) {
		for _, l := range m.Levels {
			if v := of(l); v.OK() {
				out = append(out, biasAt{l.Level, float64(v)})
			}
		}
		slices.SortFunc(out, func(a, b biasAt) int { return cmp.Compare(a.at, b.at) })
		return out
	}
	return dilutedBy{
		bias: along(func(l assess.LevelFinding) num.Number {
			if l.Bias.OK() {
				return l.Bias
			}
			return (l.BiasLow + l.BiasHigh) / 2
		}),
		spread: along(func(l assess.LevelFinding) num.Number { return l.SD }),
		turned: turnedOf(m, method),
		shared: shareOf(m.Spread),
	}
}

// turnedOf are readings and their results as far as these rise. Where an end of a need lies about on an answer, these say on which side of
// it the answer comes out; what a known alone reads, seen in steps, does not.
func turnedOf(m assess.MethodFinding, method knownwater.Method) (out []biasAt) {
	for _, r := range m.ReadBack {
		seen, err := reading.Understand(r.Reading, method)
		if err != nil || !r.Level.OK() || seen.OpenBelow() || seen.OpenAbove() {
			continue
		}
		by := biasAt{(math.Max(seen.Low, math.Min(0, seen.High)) + seen.High) / 2 * m.Dilution, float64(r.Level)}
		if k := len(out) - 1; k < 0 || by.at > out[k].at && by.is > out[k].is {
			out = append(out, by)
		}
	}
	return out
}

// aside is the share of a result, or of 1, by which a reading lies beside another.
const aside = 1e-6

// cameFrom is the reading that is turned round to a result: straight between those that were, else otherwise, but not among them.
func (d dilutedBy) cameFrom(result, otherwise float64) float64 {
	last := len(d.turned) - 1
	i := slices.IndexFunc(d.turned, func(t biasAt) bool { return t.is >= result })
	switch {
	case math.IsInf(result, 0) || last < 0:
		return otherwise
	case i < 0:
		return math.Max(otherwise, d.turned[last].at+aside*math.Max(1, result))
	case d.turned[i].is == result:
		return d.turned[i].at
	case i == 0:
		return math.Min(otherwise, d.turned[0].at-aside*math.Max(1, result))
	}
	a, b := d.turned[i-1], d.turned[i]
	return a.at + (b.at-a.at)*(result-a.is)/(b.is-a.is)
}

// of is that of the dilution that a water goes to.
func (b biases) of(c float64) dilutedBy {
	if c > b.over {
		return b.above
	}
	return b.below
}

// at is the bias at c: straight between knowns, flat beyond them; nothing where nothing is known.
func (b biases) at(c float64) float64 { return straight(b.of(c).bias, c) }

// spreadAt is how a single reading of c scatters; where nothing is known of its dilution as undiluted ones do.
func (b biases) spreadAt(c float64) float64 {
	of := b.of(c).spread
	if len(of) == 0 {
		of = b.below.spread
	}
	return straight(of, c)
}

func straight(of []biasAt, c float64) float64 {
	i := slices.IndexFunc(of, func(b biasAt) bool { return b.at >= c })
	switch {
	case len(of) == 0:
		return 0
	case i == 0:
		return of[0].is
	case i < 0:
		return of[len(of)-1].is
	}
	t := (c - of[i-1].at) / (of[i].at - of[i-1].at)
	return of[i-1].is + t*(of[i].is-of[i-1].is)
}

// behaves are mean and standard deviation of a result along the need: the mean of a single one is what the knowns say, or the
// truth where it is corrected; the deviation, straight between the places that were judged and flat beyond, the one
// that leaves 95 of 100 within the error there. An average scatters less, everywhere in the proportion of its worst place.
func (w Way) behaves() (mean, sd func(c float64) float64, ok bool) {
	var at []biasAt // of the deviation
	for _, a := range w.Along {
		e := a.Raw
		if w.Corrected {
			e = a.Corrected
		}
		if !e.OK() {
			return nil, nil, false
		}
		at = append(at, biasAt{a.At, scatter(float64(e), w.bias(a.At))})
	}
	if len(at) == 0 {
		return nil, nil, false
	}
	less := 1.0
	if worst := float64(w.Error.WorstAt); w.Tests > 1 && w.Error.Error95.OK() && w.Error.WorstAt.OK() {
		if single := straight(at, worst); single > 0 {
			less = math.Min(scatter(float64(w.Error.Error95), w.bias(worst))/single, 1)
		}
	}
	return func(c float64) float64 { return c + w.bias(c) }, func(c float64) float64 { return less * straight(at, c) }, true
}

// bias is what a result is off by on average.
func (w Way) bias(c float64) float64 {
	if w.Corrected {
		return 0
	}
	return w.biases.at(c)
}

// mostOff is how much of an error a bias may be: the estimate of one that is more came by chance.
const mostOff = 0.98

// scatter is the s with P(|N(bias, s)| ≤ e) = 0.95.
func scatter(e, bias float64) float64 {
	b := math.Min(math.Abs(bias), mostOff*e)
	s, err := num.Root(func(s float64) float64 { return num.Phi((e-b)/s) - num.Phi(-(e+b)/s) - 0.95 }, 1e-6*e, e, 1e-9*e)
	if err != nil {
		return e / num.PhiInv(0.975)
	}
	return s
}
