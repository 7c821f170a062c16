package history

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/control"
)

// Beside is what one lot reads to what another does, by knowns that were tested with both.
type Beside struct {
	Ratio, Low, High float64   // NaN: nothing was tested with both
	From, To         int       // vials with each
	Knowns           []float64 // those tested with both, rising
	Known            float64   // of these the one with most vials
	CV               float64   // scatter of one vial there, as a share; NaN: not known
}

// Lot is what is known of a lot beside the one before it.
type Lot struct {
	Method, Code, Before string
	Left, LeftBefore     int // tests; negative: nobody counts them
	Beside
	Told  string  // the verdict
	Share float64 // of the known that a lot may take of what the need permits; 0: no need
}

// ratioDraws of a record are enough for a ratio, in which it falls out.
const ratioDraws = 32

// BesideBy compares two lots by checks of the same knowns, read by one record, and where that does not tell readers apart by the
// same readers. The days do not count: whoever thinks that a lot has changed since leaves its checks out. Readings that the
// record cannot read are left out.
func BesideBy(by Source, from, to []Entry) (b Beside) {
	b.Ratio, b.Low, b.High, b.CV, b.Known = math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()
	told := len(by.ToldReaders()) > 0
	same := func(e Entry) checkKey {
		if told {
			return checkKey{known: e.Known}
		}
		return checkKey{setup{Reader: e.Reader}, e.Known}
	}
	known := func(list []Entry) map[checkKey]int {
		out := map[checkKey]int{}
		for _, e := range list {
			out[same(e)]++
		}
		return out
	}
	a, z := known(from), known(to)
	most := 0
	at := asRead{}
	both := func(list []Entry) (out []control.Vial) {
		for _, e := range list {
			if n := min(a[same(e)], z[same(e)]); n > 0 {
				if v, ok := at.vial(by, e); ok {
					out = append(out, v)
					b.Knowns = append(b.Knowns, e.Known)
					if n > most {
						b.Known, b.CV, most = e.Known, v.CV(), n
					}
				}
			}
		}
		return out
	}
	x, y := both(from), both(to)
	b.From, b.To = len(x), len(y)
	b.Ratio, b.Low, b.High = control.Ratio(x, y)
	slices.Sort(b.Knowns)
	b.Knowns = slices.Compact(b.Knowns)
	return b
}

// asRead is how a known reads with every ratio, for each known, reader and dilution once.
type asRead map[Entry][][]control.Normal

func (a asRead) vial(by Source, e Entry) (v control.Vial, ok bool) {
	o, err := by.Read(questionOf(e))
	if err != nil {
		return v, false
	}
	v.Seen = o.Seen[0]
	k := Entry{Known: e.Known, UKnown: e.UKnown, Reader: e.Reader, Dilution: e.Dilution}
	if v.At, ok = a[k]; ok {
		return v, len(v.At) > 0
	}
	for _, q := range control.Ratios {
		x, tried := by.Expect(e.Known*q, e.UKnown*q, e.Reader, "", e.Dilution)
		n := min(ratioDraws, len(x.Draws))
		at := make([]control.Normal, 0, n)
		for i := range n {
			at = append(at, x.Draws[(2*i+1)*len(x.Draws)/(2*n)])
		}
		if v.At = append(v.At, at); q == 1 && !tried {
			v.At = nil
			break
		}
	}
	a[k] = v.At
	return v, len(v.At) > 0
}

// Verdict holds a ratio against what a need permits: a lot may take half of the
// permitted error, since reading and record need the rest (a convention). "same": even the
// ends of the ratio take no more. "different": the interval leaves out 1. "undecided": more
// vials would tell. "untold": no vials with both.
func (b Beside) Verdict(n *knownwater.Need) string {
	switch share := b.Share(n); {
	case math.IsNaN(b.Ratio):
		return "untold"
	case share > 0 && b.Low >= 1-share && b.High <= 1+share:
		return "same"
	case b.Low > 1 || b.High < 1:
		return "different"
	}
	return "undecided"
}

// Share is what a lot may take of what the need permits, as a share of the concentration where
// that is least within the need; 0: no need. A lot reads every level otherwise by the same share.
func (b Beside) Share(n *knownwater.Need) float64 {
	if n == nil || len(n.Permitted) == 0 {
		return 0
	}
	least := math.Inf(1)
	at := []float64{n.Low, n.High}
	for _, p := range n.Permitted {
		at = append(at, p.At)
	}
	for _, c := range at {
		if c > 0 && c >= n.Low && c <= n.High && !math.IsInf(c, 1) {
			least = math.Min(least, n.PermittedAt(c)/c/2)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// Pairs is how many vials each of two lots needs of this known to show a ratio with a chance
// of four in five; 0: it cannot be planned.
func (b Beside) Pairs(ratio float64) int { return control.SideBySide(b.CV, ratio, 0.8) }
