package assess

import (
	"math"
	"slices"

	"knownwater/science/result"
)

// sampled is a branch's record asked about samples of one lot. rel is the relative standard
// uncertainty of a dilution that the trial did not try, and of what a lot is known to read.
type sampled struct {
	*study
	lot   string
	rel   float64
	known bool // it is known what the lot reads: nothing is added for lots that were not tried
	asked *remembered
	less  func(draw int) float64 // what of a concentration is read because of nitrite; nil: nothing
}

// quickStep leaves some forty draws to plan by.
const quickStep = 8

// Of is the record of a mean of readings.
func (s sampled) Of(by []result.Readings, quick bool) result.Response {
	if len(by) == 1 && !quick {
		return s.asked.find(asker{s.study, s.lot, s.rel, s.known, by[0].Reader, by[0].Count}, func() result.Response { return s.of(by, quick) })
	}
	return s.of(by, quick)
}

func (s sampled) of(by []result.Readings, quick bool) result.Response {
	step := 1
	if quick {
		step = quickStep
	}
	looser, parts := s.looser(), make([]shares, s.rec.Draws())
	for d := range parts {
		parts[d] = s.shares(d, by)
	}
	return s.rec.Of(step,
		func(d int, c float64) float64 {
			if s.less == nil {
				return s.shiftAt(parts[d], d, c) * s.repeatability(d, c)
			}
			more := c + s.less(d) // the vial shows as much
			return s.shiftAt(parts[d], d, more)*s.repeatability(d, more) + s.rec.At(d, more) - s.rec.At(d, c)
		},
		func(d int, c float64) float64 {
			if s.less != nil {
				c += s.less(d)
			}
			sd := math.Sqrt(s.ownAt(parts[d], d, c)+s.sharedAt(parts[d], d, c)+s.ofUntriedLot(d, c)) * s.repeatability(d, c) * looser
			if s.rel == 0 {
				return sd
			}
			return math.Hypot(sd, s.rel*c*s.rec.Slope(c))
		})
}

// shares are what moves and what scatters the mean of readings of one sample, in units of
// repeatability: shift by effects that are known; own, the variance that each reading has
// by itself (repeatability and vial), and shared, that of effects which are not known, of
// one for all readings of a reader, a session and a lot. Those of readers, lots and sessions stand apart, as each
// may go along with something else than the repeatability: ownAt, shiftAt and sharedAt have them together at c.
type shares struct {
	own, vial     float64 // of repeatability and of vials
	shift, shared [len(sharers)]float64
}

var sharers = [...]string{"reader", "lot", "session"}

const byReader, byLot, bySession = 0, 1, 2

func (s sampled) ownAt(p shares, d int, c float64) float64 {
	over := s.over("vial", d, c)
	return p.own + p.vial*over*over
}

func (s sampled) shiftAt(p shares, d int, c float64) (sum float64) {
	for i, source := range sharers {
		if p.shift[i] != 0 {
			sum += p.shift[i] * s.over(source, d, c)
		}
	}
	return sum
}

func (s sampled) sharedAt(p shares, d int, c float64) (sum float64) {
	for i, source := range sharers {
		if p.shared[i] != 0 {
			over := s.over(source, d, c)
			sum += p.shared[i] * over * over
		}
	}
	return sum
}

func (s sampled) shares(d int, by []result.Readings) shares {
	n := 0.0
	for _, b := range by {
		n += float64(b.Count)
	}
	out := shares{own: 1 / n, vial: s.tau("vial", d) / n}
	tau, average := s.ofUntriedReader(d)
	untried := 0.0
	for _, b := range by {
		w := float64(b.Count) / n
		if effect, ok := s.effect("reader", b.Reader, d); ok {
			out.shift[byReader] += w * effect
		} else {
			out.shared[byReader] += w * w * tau
			untried += w
		}
	}
	out.shared[byReader] += untried * untried * average
	if effect, ok := s.effect("lot", s.lot, d); ok {
		out.shift[byLot] += effect
	}
	out.shared[bySession] += s.tau("session", d)
	return out
}

// ofUntriedLot is the variance that a lot adds which was not tried, or is not named, at c, in units of
// repeatability; 0 where it is known what the lot reads.
func (s sampled) ofUntriedLot(d int, c float64) float64 {
	if _, tried := s.effect("lot", s.lot, d); tried || s.known {
		return 0
	}
	if s.lots == nil {
		return s.tauAt("lot", d, c)
	}
	at, k := s.along(c), s.kept[d]
	r := at.repeatability(s.post.Form, k)
	return (s.lots.at(k, at.above) + s.lotsAverage(s.post.Form, k, at)) / (r * r)
}

// repeatability of a single reading at c, in draw d of the record.
func (st *study) repeatability(d int, c float64) float64 {
	if st.post == nil {
		return st.singles[st.kept[d]]
	}
	return st.along(c).repeatability(st.post.Form, st.kept[d])
}

// tau is the variance of a source of spread in draw d of the record, in units of
// repeatability; 0 where the design could not tell it.
func (st *study) tau(source string, d int) float64 {
	if st.post == nil {
		return 0
	}
	k, draws := st.kept[d], st.post.Form
	ratio := 0.0
	if f, ok := st.factor[source]; ok {
		ratio = draws.Ratio[f][k]
	} else if source == "vial" && draws.Unseen != nil {
		ratio = draws.Unseen[k]
	}
	return ratio * ratio
}

// ofUntriedReader is the variance of a reader who was not tried in draw d of the record, and that of where the average of those
// tried lies beyond what the draws have, in units of repeatability; 0 where the design could not tell it.
func (st *study) ofUntriedReader(d int) (tau, average float64) {
	by := st.newReaders.later
	if by == nil {
		return 0, 0
	}
	return by.tau[st.kept[d]], by.average[st.kept[d]]
}

// effect is that of a reader or a lot that was tried, in units of repeatability.
func (st *study) effect(source, name string, d int) (float64, bool) {
	f, ok := st.factor[source]
	if !ok || st.post == nil {
		return 0, false
	}
	j := slices.Index(st.members[source], name)
	if j < 0 {
		return 0, false
	}
	return st.post.Form.Effect[f][j][st.kept[d]], true
}

// Next is the mean of further readings over the draws: what the first ones had in common
// with them, y less the response, moves them by the shared part's share of the variance of
// the first mean. Of what another reader shares with the first, or one of several, nothing is
// taken for known.
func (s sampled) Next(c, y float64, had []result.Readings, more result.Readings) (mean, sd float64) {
	n := min(16, s.rec.Draws())
	at, variance := s.rec.Best(c), 0.0
	for i := range n {
		d := i * s.rec.Draws() / n
		base := s.repeatability(d, c)
		first, next := s.shares(d, had), s.shares(d, []result.Readings{more})
		lot := s.ofUntriedLot(d, c)
		shared, nextShared := s.sharedAt(first, d, c)+lot, s.sharedAt(next, d, c)+lot
		own, nextOwn := s.ownAt(first, d, c), s.ownAt(next, d, c)
		k := shared / (own + shared)
		if len(had) != 1 || had[0].Reader != more.Reader {
			k = 0
			nextOwn += nextShared
		}
		mean += (at + base*s.shiftAt(next, d, c) + k*(y-at-base*s.shiftAt(first, d, c))) / float64(n)
		variance += base * base * (nextOwn + k*own) / float64(n)
	}
	return mean, math.Sqrt(variance)
}

// Step is how wide an answer at y is.
func (s sampled) Step(y float64) float64 { return s.rec.Shown.StepAt(y) }

// Readers are those of the trial whose effects it can tell.
func (s sampled) Readers() []string {
	if _, ok := s.factor["reader"]; !ok {
		return nil
	}
	return s.members["reader"]
}
