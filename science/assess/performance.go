package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// Performance is what a trial leaves of one method in one water: how its readings follow the
// concentration at every dilution that was tried, for the readers and lots that were tried
// and for others. Readings are turned round by it long after the trial.
type Performance struct {
	Method   knownwater.Method
	Scale    unit.Scale
	Readers  []string // those of the trial, by name
	Lots     []string
	Notes    []note.Note
	Nitrite  *NitriteFinding // nil: the trial says nothing of nitrite
	branches []*branch
	asked    remembered
}

// branch is one dilution of a method; it is worked out when it is first asked for.
type branch struct {
	dilution float64
	work     func() *study
	once     sync.Once
	done     *study
}

// record is the branch's study; nil where it shows no response.
func (b *branch) record() *study {
	b.once.Do(func() { b.done = b.work() })
	if b.done.rec == nil {
		return nil
	}
	return b.done
}

// PerformanceOf works out one method of a trial and nothing else. The method's name may
// be left out where the trial has one, the matrix (the water that the knowns were made
// in) where the method was tried in one. The error holds knownwater.Faults.
func PerformanceOf(t knownwater.Trial, method, matrix string, o Options) (*Performance, error) {
	strands := split(t)
	method, err := oneOf("--method", "method", method, strands, func(s strand) string { return s.method.Name })
	if err != nil {
		return nil, err
	}
	own := slices.DeleteFunc(slices.Clone(strands), func(s strand) bool { return s.method.Name != method })
	matrix, err = oneOf("--matrix", "water that the knowns were made in", matrix, own, func(s strand) string { return s.matrix })
	if err != nil {
		return nil, err
	}
	p := &Performance{Scale: t.Scale}
	for _, s := range strands {
		if s.method.Name != method || s.matrix != matrix {
			continue
		}
		p.Method = s.method
		p.branches = append(p.branches, &branch{dilution: s.dilution, work: func() *study {
			st := &study{strand: s, design: newDesign(s, o), opt: o, scale: t.Scale}
			st.start()
			st.fit()
			st.respond()
			st.ownLots()
			return st
		}})
		for _, o := range s.obs {
			p.Readers, p.Lots = withName(p.Readers, o.Reader), withName(p.Lots, o.Lot)
		}
	}
	slices.Sort(p.Readers)
	slices.Sort(p.Lots)
	first := p.first()
	if first == nil {
		return p, knownwater.Faults{knownwater.Fault{Column: "--method", Found: "the trial does not show how %s responds, so nothing it reads can be turned round", Want: "a method with readings of knowns at two levels or more, most of them read twice, that rise with the level"}.Of(method)}
	}
	if len(t.Nitrite) > 0 {
		if p.Nitrite = p.nitrite(t.Nitrite); p.Nitrite.N+p.Nitrite.Left == 0 {
			p.Nitrite = nil
		}
	}
	if first.post == nil {
		p.Notes = append(p.Notes, first.finding.Notes...)
	}
	return p, nil
}

func withName(list []string, name string) []string {
	if name == "" || slices.Contains(list, name) {
		return list
	}
	return append(list, name)
}

// oneOf is the name that was asked for among the strands', or the only one there is.
func oneOf(flag, what, asked string, strands []strand, name func(strand) string) (string, error) {
	var names []string
	for _, s := range strands {
		if !slices.Contains(names, name(s)) {
			names = append(names, name(s))
		}
	}
	switch {
	case asked == "" && len(names) == 1:
		return names[0], nil
	case slices.Contains(names, asked) && (asked != "" || flag != "--method"):
		return asked, nil
	}
	found := fmt.Sprintf("%d of them, and none is named", len(names))
	if asked != "" {
		found = fmt.Sprintf("%q", asked)
	}
	return "", knownwater.Faults{{Column: flag, Found: found, Want: "one " + what + " of the trial: " + strings.Join(quoted(names), ", ")}}
}

func quoted(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = fmt.Sprintf("%q", n)
	}
	return out
}

// Read turns readings of one sample round. The error holds knownwater.Faults.
func (p *Performance) Read(q result.Question) (result.Outcome, error) {
	if q.Dilution == 0 {
		q.Dilution = 1
	}
	branch, tried := p.branch(q.Dilution)
	var seen []interval.Interval
	var faults knownwater.Faults
	for _, text := range q.Readings {
		i, err := reading.Understand(text, p.Method)
		var f knownwater.Fault
		if errors.As(err, &f) {
			f.Column = "--reading"
			faults = append(faults, f)
			continue
		}
		seen = append(seen, i.Scale(branch.dilution))
	}
	if faults != nil {
		return result.Outcome{}, faults
	}
	notes := slices.Clone(p.Notes)
	for _, by := range q.Who() {
		for _, n := range p.about("reader", by.Reader, p.Readers) {
			notes = note.Add(notes, n)
		}
	}
	notes = append(notes, p.about("lot", q.Lot, p.Lots)...)
	if n := len(p.Lots); p.first().lots != nil && n < FewLots && !slices.Contains(p.Lots, q.Lot) {
		notes = append(notes, note.New("few-lots").Number("lots", float64(n)))
	}
	s := sampled{branch.ofTriedLot(q.Lot), q.Lot, 0, q.Yield > 0, &p.asked, nil}
	if q.NitriteKnown {
		in := branch.dilution / q.Dilution // of the sample's nitrite, in a vial of a dilution that was not tried
		if s.less = p.lessNitrite(in*q.Nitrite, in*q.UNitrite); s.less != nil {
			s.asked = nil // each result has its own nitrite
		}
	}
	if !tried {
		s.rel = q.UDilution
	}
	var src result.Source = s
	if q.Yield > 0 {
		s.rel = math.Hypot(s.rel, q.UYield)
		src = result.Diluted{Source: s, Factor: 1 / q.Yield}
	}
	if !tried {
		factor := q.Dilution / branch.dilution
		if q.Yield > 0 {
			factor /= q.Yield
		}
		src = result.Diluted{Source: s, Factor: factor}
		notes = append(notes, note.New("dilution-untried").Number("dilution", q.Dilution).Number("tried", branch.dilution))
		if q.UDilution == 0 {
			notes = append(notes, note.New("dilution-taken-as-exact"))
		}
	}
	r := result.Of(src, q.Who(), seen)
	bottom, top := src.Of([]result.Readings{{Count: 1}}, true).Range()
	notes = append(r.Beyond(bottom, top), notes...)
	notes = append(notes, p.nitriteNotes(q.NitriteKnown, q.Nitrite, q.UNitrite)...)
	o := result.Answered(q, src, seen, r)
	o.Method, o.Scale, o.Notes = p.Method.Name, p.Scale, notes
	return o, nil
}

// branch is the one whose record reads a sample of that dilution: its own, which has the
// dilution's error in it already, or the least diluted one, whose answer is multiplied.
func (p *Performance) branch(dilution float64) (st *study, tried bool) {
	for _, b := range p.branches {
		if b.dilution == dilution && b.record() != nil {
			return b.record(), true
		}
	}
	return p.first(), false
}

// first is the least diluted branch that shows a response; nil where none does.
func (p *Performance) first() *study {
	for _, b := range p.branches {
		if st := b.record(); st != nil {
			return st
		}
	}
	return nil
}

// about says where a reader or a lot was not tried, is not named, or cannot be told apart.
func (p *Performance) about(what, name string, tried []string) []note.Note {
	_, told := p.first().factor[what]
	switch untried := name != "" && !slices.Contains(tried, name); {
	case untried && told:
		return []note.Note{note.New("sharer-untried").Name("what", what).Name("name", name)}
	case untried:
		return []note.Note{note.New("sharer-untried-alone").Name("what", what).Name("name", name)}
	case name == "" && told:
		return []note.Note{note.New("sharer-unnamed").Name("what", what)}
	case name != "" && !told && len(tried) > 1:
		return []note.Note{note.New("sharers-not-told-apart").Name("what", what)}
	}
	return nil
}

// remembered is the record of single readings by one reader with one lot: a log asks for it
// thousands of times. It only grows with readers and lots.
type remembered struct {
	mu  sync.Mutex
	got map[asker]result.Response
}

type asker struct {
	of     *study
	lot    string
	rel    float64
	known  bool
	reader string
	count  int
}

// mostAsked is how many are remembered; each holds a table of some 40,000 numbers.
const mostAsked = 24

func (a *remembered) find(k asker, make func() result.Response) result.Response {
	if a == nil {
		return make()
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	r, there := a.got[k]
	if !there {
		r = make()
		if a.got == nil || len(a.got) >= mostAsked {
			a.got = map[asker]result.Response{}
		}
		a.got[k] = r
	}
	return r
}

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
