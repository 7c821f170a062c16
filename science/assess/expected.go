package assess

import (
	"math"

	"knownwater/science/control"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/result"
)

// Expected is how a known that is tested long after the trial should read, had nothing
// moved since: in each draw of the record another mean and spread, and what the method can
// show where that is steps. Everything stands on the scale of what is seen times Dilution.
type Expected struct {
	Draws    []control.Normal
	Tiles    []interval.Interval // nil: numbers
	Dilution float64
	Slope    float64  // of readings along the concentration there; 0 where it is flat
	Lots     []string // those of the trial by name; empty where it names none
	// Record is whose draws these are: of one record, and of none other, they are the same draws whatever is expected of them.
	Record any
}

// Expect is how one reading of a known, with its standard uncertainty, should read. Not ok:
// the known lies beyond all that was tried.
//
// The scatter of a check is that of the reading, its vial and its session. What all checks
// share moves the draws: the doubt about the mean response, the known's own error, and
// what a reader who was not tried may read off. The lots of the trial are what a check is
// held against, so a lot that was not tried adds nothing: that it reads otherwise is what
// checks are for.
func (p *Performance) Expect(known, u float64, reader, lot string, dilution float64) (e Expected, ok bool) {
	if dilution == 0 {
		dilution = 1
	}
	st, tried := p.branch(dilution)
	st = st.ofTriedLot(lot)
	e.Dilution, e.Lots, e.Record = st.dilution, p.Lots, st.rec
	factor := 1.0 // from the sample to what the branch tried
	if !tried {
		factor = st.dilution / dilution
	}
	bottom, top := st.rec.Range()
	if at := known * factor; !(at >= bottom && at <= top*(1+1e-9)) {
		return e, false
	}
	s := sampled{study: st, lot: lot}
	n := st.rec.Draws()
	for d := range n {
		// places of a lattice: spread evenly, and alike for every check
		c := (known + u*num.PhiInv(lattice(d, n, 89))) * factor
		c = math.Min(math.Max(c, 0), top)
		own := 1 + s.tauAt("vial", d, c) + s.tauAt("session", d, c)
		shift := 0.0
		if effect, ok := s.effect("reader", reader, d); ok {
			shift += effect
		} else {
			shift += s.newReaders.newcomer.quantile(lattice(d, n, 137))
		}
		shift *= s.over("reader", d, c)
		if effect, ok := s.effect("lot", lot, d); ok {
			shift += effect * s.over("lot", d, c)
		}
		sd := s.repeatability(d, c)
		e.Draws = append(e.Draws, control.Normal{Mean: st.rec.At(d, c) + shift*sd, SD: sd * math.Sqrt(own)})
	}
	for _, a := range st.rec.Shown.Answers {
		e.Tiles = append(e.Tiles, a.Seen)
	}
	e.Slope = st.rec.Slope(known*factor) * factor
	return e, true
}

// Source is what readings of a lot at a dilution say: as tried there, or by the least
// diluted branch.
func (p *Performance) Source(lot string, dilution float64) result.Source {
	st, tried := p.branch(dilution)
	st = st.ofTriedLot(lot)
	if !tried {
		return result.Diluted{Source: sampled{st, lot, 0, false, &p.asked, nil}, Factor: dilution / st.dilution}
	}
	return sampled{st, lot, 0, false, &p.asked, nil}
}

// Tried is where knowns were tested, undiluted or at the least dilution.
func (p *Performance) Tried() (bottom, top float64) { return p.first().rec.Range() }

// lattice puts d of n in places between 0 and 1, each once, in an order that a step gives.
func lattice(d, n, step int) float64 {
	for gcd(step, n) != 1 {
		step++
	}
	return (float64(d*step%n) + 0.5) / float64(n)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
