package choose

import (
	"math"

	"knownwater/science/decide"
	"knownwater/science/reading"
)

// risk is what comes of leaving waters alone whose results lie between two limits and acting on all others. What a single test shows comes
// in steps, of which the whole is left or acted on: a display of whole units leaves waters up to 6.5 where results up to 6 stand. So where how
// readings scatter within their steps is known, it is asked between which readings the results that are left lie.
func (w Way) risk(waters, tolerance, left [2]float64) (decide.Risks, bool) {
	mean, sd, ok := w.behaves()
	if !ok {
		return decide.Risks{}, false
	}
	prior := decide.Even(waters[0], waters[1])
	if !w.inSteps() {
		return decide.Risk(prior, mean, sd, tolerance, left), true
	}
	ends := w.readsOf(left)
	if w.Tests > 1 {
		return decide.RiskOf(prior, w.averageLeft(ends, w.scatters(waters)), tolerance, left), true
	}
	return decide.Risk(prior, w.reads, w.scatters(waters), tolerance, w.readingsOf(left, ends)), true
}

// readsOf are the readings that two results come from: the results themselves, and of corrected ones what is turned round to them.
func (w Way) readsOf(limits [2]float64) [2]float64 {
	if w.Corrected {
		for i, c := range limits {
			limits[i] = w.biases.of(c).cameFrom(c, w.reads(c))
		}
	}
	return limits
}

// inSteps says whether a way shows answers in steps, and how readings scatter within them is known.
func (w Way) inSteps() bool {
	k := reading.Of(w.method.Kind)
	return w.Curve == "" && !k.Signal && len(w.biases.below.spread) > 0 && (w.method.Resolution > 0 || reading.Answers(w.method, 1) != nil)
}

// reads is what a test of a water reads on average, before it is corrected.
func (w Way) reads(c float64) float64 { return c + w.biases.at(c) }

// scatters is how readings scatter, straight between knowns; a share of where waters lie at least, for the integral.
func (w Way) scatters(waters [2]float64) func(c float64) float64 {
	least := 1e-4 * (waters[1] - waters[0])
	return func(c float64) float64 { return math.Max(w.biases.spreadAt(c), least) }
}

// readingsOf are the ends of the readings whose results lie between two limits, which come from readings between two ends.
func (w Way) readingsOf(limits, ends [2]float64) [2]float64 {
	wanted := ends
	low, high := w.shownBetween(w.dilutionAt(ends[0]), ends)
	ends = [2]float64{low, high}
	if up := w.dilutionAt(limits[1]); up != w.dilutionAt(limits[0]) {
		if _, most := w.shownBetween(up, wanted); most > w.Over {
			ends[1] = most
		} else {
			ends[1] = w.Over
		}
	}
	return ends
}

// dilutionAt is by how much a sample of that reading is diluted.
func (w Way) dilutionAt(reading float64) float64 {
	switch {
	case w.Dilution != 0:
		return w.Dilution
	case w.Switches && w.Factor > 0 && reading > w.Over:
		return w.Factor
	}
	return 1
}

// shownBetween are the ends of the readings for which the method shows a value between two limits, at a dilution; where it shows none of
// them both are the lower limit. An infinite limit stays. What is corrected goes by the middle of an answer, as it is turned round.
func (w Way) shownBetween(dilution float64, limits [2]float64) (low, high float64) {
	const near = 1e-9 // of a step: limits are on it
	low, high = math.Inf(1), math.Inf(-1)
	if answers := reading.Answers(w.method, limits[1]/dilution); answers != nil {
		for _, a := range answers {
			v, slack := a.Value, near*limits[1]
			if from := math.Max(a.Seen.Low, math.Min(0, a.Seen.High)); w.Corrected && !a.Seen.OpenAbove() {
				v = (from + a.Seen.High) / 2
			}
			if v *= dilution; v >= limits[0]-slack && v <= limits[1]+slack {
				low, high = math.Min(low, a.Seen.Low*dilution), math.Max(high, a.Seen.High*dilution)
			}
		}
	} else {
		step := w.method.Resolution * dilution
		low, high = step*(math.Ceil(limits[0]/step-near)-0.5), step*(math.Floor(limits[1]/step+near)+0.5)
	}
	if math.IsInf(limits[0], -1) {
		low = limits[0]
	}
	if !(low < high) {
		return limits[0], limits[0]
	}
	return low, high
}
