package assess

import (
	"math"
	"slices"
)

// lowerBand is a lower limit at every place that holds at all of them at once.
//
// Continuous errors: median − k·(median − 15.9 % quantile)
// of each place's logarithms, k the 1 − r.tail quantile over the draws of the largest
// drop below the median in that unit over all places. Errors that come in steps (a
// chart's) have no such unit: their band is the quantile that 97.5 % of the draws
// keep above at every place.
func lowerBand(places []sample, r rule) []float64 {
	if r.steps {
		return rankBand(places)
	}
	drop := make([]float64, places[0].n)
	for _, p := range places {
		for i, k := range p.low {
			drop[k] = max(drop[k], p.drops[i])
		}
	}
	k := quantile(drop, 1-r.tail)
	out := make([]float64, len(places))
	for i, p := range places {
		out[i] = p.centre - k*p.unit
	}
	return out
}

func rankBand(places []sample) []float64 {
	rank := make([]float64, places[0].n)
	for k := range rank {
		rank[k] = 1
	}
	for _, p := range places {
		for k, j := range p.steps.of {
			rank[k] = min(rank[k], p.steps.upTo[j])
		}
	}
	share := math.Floor(quantile(rank, 0.025)*float64(len(rank))) / float64(len(rank))
	out := make([]float64, len(places))
	for i, p := range places {
		j, _ := slices.BinarySearch(p.steps.upTo, share)
		out[i] = logOr(p.steps.value[min(j, len(p.steps.value)-1)], -endless)
	}
	return out
}

// steps are draws of which many are alike.
type steps struct {
	value, upTo []float64 // rising, and the share of draws up to each
	of          []uint16  // by draw: which value it has
}

func stepsOf(draws []float64) (s steps) {
	sorted := slices.Clone(draws)
	slices.Sort(sorted)
	for i, v := range sorted {
		if i+1 == len(sorted) || sorted[i+1] != v {
			s.value, s.upTo = append(s.value, v), append(s.upTo, float64(i+1)/float64(len(sorted)))
		}
	}
	s.of = make([]uint16, len(draws))
	for k, v := range draws {
		at, _ := slices.BinarySearch(s.value, v)
		s.of[k] = uint16(at)
	}
	return s
}

// rule is how "not fit" is told of a method.
type rule struct {
	steps bool    // its errors come in steps
	tail  float64 // the share of draws that may fall below the lower band
	above float64 // the share of draws that an upper limit leaves above it
}

// rule, with so many more tests at every level, on average. With many readings the tail is what "not
// fit" is wrong in at the border. With few the prior leaves the spread wider than it
// mostly is, and the band lower: on made-up trials (docs/accuracy.md) "not fit" stays
// wrong in less than 5 % of every design with
//
//	tail = 0.3/n, between 0.025 and 0.075
//
// n the average number of readings a level; 0.025 where a level's vials cannot be told
// from its repeats.
//
// Upper limits, and "fit" with them, are told by a prior that favours a form, but of steps. Two or
// three readings a level hardly speak against it where the form is another (a hump) or the tails
// are heavy, and limits that leave 2.5 % of the draws above them missed in 8 and 5 %. They leave
//
//	above = n/150, at most 0.025
//
// and miss in 3 and 4 %; here n is readEvenly. Half of that where the scatter of numbers hides in their steps, so that readings
// hardly speak against any form (five a level, a hump: 7 %, so 5).
func (st *study) rule(more float64) rule {
	n := st.perLevel() + more
	r := rule{st.inSteps(), math.Min(math.Max(0.3/n, 0.025), 0.075), 0.025}
	if !r.steps {
		r.above = math.Min((st.readEvenly()+more)/150, r.above)
		if st.hidden() {
			r.above /= 2
		}
	}
	vials, told := st.factor["vial"]
	if slices.Contains(st.data.OneVial, true) || told && st.post != nil && st.post.Wide.FlatIn(vials) {
		r.tail = 0.025
	}
	return r
}

// hidden says whether the scatter hides in steps: whether at half of the levels that were read more than once all readings
// may be one value, of steps that leave it open.
func (st *study) hidden() bool {
	n, hide := 0, 0
	for _, gr := range st.groups {
		if gr.n > 1 {
			n++
		}
		if gr.hides {
			hide++
		}
	}
	return hide > 0 && 2*hide >= n
}

// perLevel is how many readings a level has, on average.
func (st *study) perLevel() float64 {
	n := 0
	for i := range st.levels {
		n += st.groups[st.groupAt(i)].n
	}
	return float64(n) / float64(len(st.levels))
}

// readEvenly is how many readings each level would have that were read equally often and told as much of their spreads: the
// harmonic mean, as the variance of the logarithm of a spread goes with 1/n. A form that is favoured goes unopposed at levels
// that were read once or twice, however often others were.
func (st *study) readEvenly() float64 {
	sum := 0.0
	for i := range st.levels {
		sum += 1 / float64(st.groups[st.groupAt(i)].n)
	}
	return float64(len(st.levels)) / sum
}

// looser is by how many times single later readings are taken to scatter more than the draws have it, in what they
// say of a sample. Two readings a level hardly speak against the form that is favoured: over a hump 95 % sets held the water in
// 80 to 88 % about its summit, and in no more than 90 by the draws of the wide prior, in which humps are rare, too. So
//
//	looser = 1 + (3 − n)/2, at least 1
//
// n the readings a level (readEvenly): half as much again with two, and nothing from three on. Not where nothing was
// read twice, as the scatter about a line counts its own degrees of freedom.
func (st *study) looser() float64 {
	if st.post == nil {
		return 1
	}
	return math.Max(1, 1+(enoughReadings-st.readEvenly())/2)
}

// enoughReadings a level tell of the spread by themselves what single later readings need.
const enoughReadings = 3

// with is the more careful of two branches' rules in everything: what is told of both together.
func (r rule) with(other rule) rule {
	r.tail, r.above = math.Min(r.tail, other.tail), math.Min(r.above, other.above)
	return r
}
