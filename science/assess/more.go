package assess

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"sync"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

const (
	// promiseTruths equally likely truths are tried; what settles promiseKept of
	// them, four of five, is promised (see tally), which simulated trials keep as
	// often (docs/accuracy.md).
	promiseTruths = 60
	promiseKept   = 48
	// mostFurther bounds what is promised: tests in all, and at one level.
	mostFurther      = 400
	mostFurtherLevel = 64
	// surerKnowns is how many times as sure knowns are tried as would help.
	surerKnowns = 4
)

// Help is one thing that would settle an undecided need in 4 of 5 cases.
type Help struct {
	What  string `json:"what"`  // "tests", "readers", "lots", "knowns"
	Each  int    `json:"each"`  // tests at every level; readers besides; how many times as sure
	Tests int    `json:"tests"` // in all
}

// moreTests says how many further tests, spread evenly over the levels, each of its
// own vial, by the same readers and lots, settle an undecided need in 4 of 5 cases:
// the least number that settled promiseKept of promiseTruths equally likely truths
// of the posterior that favours a form (see foresight). Where none does it says
// whether new readers, new lots or surer knowns would.
func (st *study) moreTests(f *NeedFinding, n knownwater.Need) { st.promise(f, n).fulfil(f) }

func (st *study) promise(f *NeedFinding, n knownwater.Need) promise {
	low, high := st.span(n)
	spots := thinned(st.spots(low, high), f, st.inSteps())
	return promise{of: []*foresight{st.foresee(spots, promiseTruths)}, levels: len(st.levels), spots: spots, bad: worstFirst(spots, f),
		glimpse: func(now []*study, c float64, corrected bool) glimpse { return now[0].glimpse(n, c, corrected) }}
}

// moreTests does so for a procedure: further tests at the levels of both branches.
func (s switched) moreTests(f *NeedFinding, n knownwater.Need, spots []float64) {
	spots = thinned(spots, f, s.plain.inSteps())
	p := promise{of: []*foresight{s.plain.foresee(spots, promiseTruths), s.diluted.foresee(spots, promiseTruths)},
		levels: len(s.plain.levels) + len(s.diluted.levels), spots: spots, bad: worstFirst(spots, f),
		glimpse: func(now []*study, c float64, corrected bool) glimpse {
			return switched{now[0], now[1], s.over, true}.glimpse(c, n.PermittedAt(c), corrected)
		}}
	p.fulfil(f)
}

// fulfil finds what would settle a need.
func (p promise) fulfil(f *NeedFinding) {
	for _, one := range p.of {
		one.fill()
	}
	worst := f.Raw
	if f.Raw.Verdict == NotFit {
		worst = f.Corrected
	}
	at := float64(worst.WorstAt)
	if !worst.Error95.OK() {
		f.because(note.New("off-the-top").Number("at", at))
		return
	}
	if each, ok := p.least(p.most(), func(n int) further { return further{tests: n, knowns: 1} }); ok {
		f.MoreTests = num.Number(each * p.levels)
		f.Help = append(f.Help, Help{"tests", each, each * p.levels})
		f.because(note.New("too-few-tests").Number("at", at))
		return
	}
	p.otherwise(f, at)
}

func (p promise) most() int { return min(mostFurtherLevel, mostFurther/p.levels) }

// otherwise finds what would settle a need at whose worst place, at, more tests alone do not.
func (p promise) otherwise(f *NeedFinding, at float64) {
	st, chances := p.of[0].st, map[string]float64{}
	for _, source := range newcomers {
		if _, told := st.factor[source]; !told {
			continue
		}
		n, ok := someNew, false
		if len(st.members[source]) < fewReaders {
			chances[source] = p.chance(newMembers(source, someNew), leastChance)
			ok = chances[source] >= float64(promiseKept)/promiseTruths
		} else {
			n, ok = p.least(12, func(n int) further { return newMembers(source, n) })
		}
		if ok {
			f.Help = append(f.Help, Help{source + "s", n, n * p.levels})
			f.because(tooFew(source, at, float64(n)))
			return
		}
	}
	if st.knownU(at) > 0 {
		if n, ok := p.least(p.most(), func(n int) further { return further{tests: n, knowns: surerKnowns} }); ok {
			f.Help = append(f.Help, Help{"knowns", surerKnowns, n * p.levels})
			f.because(note.New("knowns-too-loose").Number("at", at))
			return
		}
	}
	for _, source := range newcomers {
		if c := chances[source]; c >= leastChance {
			f.because(tellLittle(source, at, float64(len(st.members[source])), math.Round(10*c)))
			return
		}
	}
	f.because(note.New("too-close").Number("at", at))
}

// Of fewer than fewReaders readers or lots no least number of new ones is named: how they differ is
// known within a factor of three or so, the chance of settling a need hardly rises with their number,
// and where it crosses 4 of 5 hangs on the random numbers (1 to 8 over streams). Named is someNew,
// where they would do, or else the chance that they do, from leastChance on.
const (
	someNew     = 4
	leastChance = 1.0 / 3
)

// newMembers are n new readers, or lots, each with every known once.
func newMembers(source string, n int) further {
	return further{tests: n, new: n, of: source, knowns: 1}
}

func tooFew(source string, at, n float64) note.Note {
	if source == "lot" {
		return note.New("too-few-lots").Number("at", at).Number("new", n)
	}
	return note.New("too-few-readers").Number("at", at).Number("new", n)
}

func tellLittle(source string, at, had, of10 float64) note.Note {
	if source == "lot" {
		return note.New("lots-tell-little").Number("at", at).Number("had", had).Number("new", someNew).Number("of10", of10)
	}
	return note.New("readers-tell-little").Number("at", at).Number("had", had).Number("new", someNew).Number("of10", of10)
}

// chance is in which share of the truths further readings settle the need; 0 once that is below least.
func (p promise) chance(more further, least float64) float64 {
	t, n := p.tally(), float64(len(p.of[0].truths))
	for o := range p.outcomes(more) {
		if t.add(o); float64(t.settled())+n-float64(t.of) < least*n {
			return 0
		}
	}
	return float64(t.settled()) / n
}

// promise is the search for what would settle one need.
type promise struct {
	of      []*foresight // of each branch
	levels  int          // of all branches together
	glimpse func(now []*study, c float64, corrected bool) glimpse
	spots   []float64
	bad     []float64 // spots, the worst first
}

// least is the smallest number up to most that settles enough.
func (p promise) least(most int, what func(n int) further) (int, bool) {
	return leastOf(most, func(n int) bool { return p.settles(what(n)) })
}

// leastOf is the smallest of some numbers up to most that is enough; the largest is tried first.
func leastOf(most int, enough func(n int) bool) (int, bool) {
	var numbers []int
	for _, n := range []int{1, 2, 3, 4, 6, 8, 11, 16, 22, 32, 45, 64} {
		if n <= most {
			numbers = append(numbers, n)
		}
	}
	if len(numbers) == 0 || !enough(numbers[len(numbers)-1]) {
		return 0, false
	}
	lo, hi := -1, len(numbers)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; enough(numbers[mid]) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return numbers[hi], true
}

// settles says whether enough truths come out, and stops when that is clear.
func (p promise) settles(more further) bool {
	t := p.tally()
	for o := range p.outcomes(more) {
		t.add(o)
		if t.settled() >= promiseKept {
			return true
		}
		if t.settled()+promiseTruths-t.of < promiseKept {
			return false
		}
	}
	return false
}

// outcome is what further readings make of a need where a truth holds: the method passes, or at
// which spots it fails.
type outcome struct {
	fits  bool
	fails []bool
}

// tally counts outcomes. Truths at which a method fails count together where they fail at one and
// the same place. Each place's spread is doubtful by itself, and of several doubtful ones the largest is nearly
// always large: of trials with three readings a level, whose true errors stood to what is permitted as one number to all
// places, half the truths were off twice as much somewhere, each elsewhere, as the method was anywhere. That
// it is off somewhere was taken for told, and was not when those places had been read again.
type tally struct {
	of, fits int
	fails    []int // by spot
}

func (p promise) tally() *tally { return &tally{fails: make([]int, len(p.spots))} }

func (t *tally) add(o outcome) {
	t.of++
	if o.fits {
		t.fits++
	}
	for i, fails := range o.fails {
		if fails {
			t.fails[i]++
		}
	}
}

// settled is how many of them are settled.
func (t *tally) settled() int { return t.fits + slices.Max(t.fails) }

// outcomes says of each truth in its order what further readings make of the need. Truths are
// judged side by side, as many as there are workers.
func (p promise) outcomes(more further) iter.Seq[outcome] {
	return func(yield func(outcome) bool) {
		for some := range slices.Chunk(p.of[0].truths, workers) {
			out := make([]outcome, len(some))
			var wg sync.WaitGroup
			for i, truth := range some {
				wg.Go(func() { out[i] = p.outcome(truth, more) })
			}
			wg.Wait()
			for _, o := range out {
				if !yield(o) {
					return
				}
			}
		}
	}
}

// outcome judges one truth after further readings, by the rules that judge a need
// (errorWithin), from the worst place on. Of each place and draw only what the answer
// hangs on is worked out.
func (p promise) outcome(truth int, more further) outcome {
	var now []*study
	for i, f := range p.of {
		if i > 0 { // draws of another branch stand in an order of their own
			truth = orderOf(len(f.form.x[0]), 10)[truth]
		}
		l, ok := f.after(truth, more)
		if !ok {
			return outcome{}
		}
		st := *f.st
		st.ahead = l
		now = append(now, &st)
	}
	by := p.rule(more)
	at := func(corrected bool) func(c float64) glimpse {
		return func(c float64) glimpse { return p.glimpse(now, c, corrected) }
	}
	raw, corrected := at(false), at(true)
	switch {
	case fitsAt(p.bad, raw, by) || fitsAt(p.bad, corrected, by):
		return outcome{fits: true}
	case !mayMissAt(p.bad, raw, by) || !mayMissAt(p.bad, corrected, by):
		return outcome{}
	}
	fails := bandMisses(p.spots, raw, by)
	if !slices.Contains(fails, true) {
		return outcome{}
	}
	for i, also := range bandMisses(p.spots, corrected, by) {
		fails[i] = fails[i] && also
	}
	return outcome{fails: fails}
}

// rule is how "not fit" is told after further readings, of all branches together.
func (p promise) rule(more further) rule {
	by := p.of[0].st.rule(p.of[0].added(more))
	for _, f := range p.of[1:] {
		by = by.with(f.st.rule(f.added(more)))
	}
	return by
}

// mostSpots is how many places of a need are looked at ahead.
const mostSpots = 9

// thinned leaves a few of a need's places: the ends, the worst, and some between. Where the
// error goes in steps a place says nothing of its neighbours, and all of them are looked at.
func thinned(spots []float64, f *NeedFinding, steps bool) []float64 {
	if steps {
		return spots
	}
	var out []float64
	step := max(1, (len(spots)+mostSpots-1)/mostSpots)
	for i, c := range spots {
		if i%step == 0 || i == len(spots)-1 || c == float64(f.Raw.WorstAt) || c == float64(f.Corrected.WorstAt) {
			out = append(out, c)
		}
	}
	return out
}

// worstFirst orders places by how large the error may be there, as read.
func worstFirst(spots []float64, f *NeedFinding) []float64 {
	high := map[float64]float64{}
	for _, a := range f.Along {
		high[a.At] = math.Inf(1)
		if a.RawHigh.OK() {
			high[a.At] = float64(a.RawHigh) / a.Permitted
		}
	}
	return slices.SortedStableFunc(slices.Values(spots), func(a, b float64) int { return cmp.Compare(high[b], high[a]) })
}

// promises says whether more tests are asked for.
func (st *study) promises() bool { return st.opt.Promises || !st.opt.Brief }

// because adds what holds the verdict back.
func (f *NeedFinding) because(n note.Note) { f.Why = append(f.Why, n) }

// knownU is the standard uncertainty of the known nearest to c.
func (st *study) knownU(c float64) float64 {
	best, u := math.Inf(1), 0.0
	for _, l := range st.levels {
		if d := math.Abs(l.value - c); d < best {
			best, u = d, l.u
		}
	}
	return u
}
