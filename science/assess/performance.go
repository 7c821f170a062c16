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
