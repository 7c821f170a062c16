package choose

import (
	"math"

	"knownwater/science/num"
	"knownwater/science/reading"
)

// averageLeft is the chance that the average of a way's tests of a water of c lies between two limits of readings. Each shows an answer, and what is
// averaged are the numbers that answers are taken for (corrected ones go by their middles): two tests of a display in whole units that
// hardly scatters show the same twice, and rounding does not average out. Where steps are no wider than what a test scatters by, the
// average is normal but for its own steps, step ÷ tests (Sheppard's correction for the variance); else all answers that tests may show
// together are gone through. What tests share, of their reader, sitting and lot, is the same in each.
func (w Way) averageLeft(wanted [2]float64, scatters func(c float64) float64) func(c float64) float64 {
	n := float64(w.Tests)
	return func(c float64) float64 {
		mean, sd := w.reads(c), scatters(c)
		shared := math.Sqrt(w.biases.of(c).shared.of(w.Readers)) * sd
		own := math.Max(math.Sqrt(math.Max(0, 1-w.biases.of(c).shared.of(1))), 1e-3) * sd
		step := w.stepAt(mean)
		if own >= step {
			low, high := wanted[0], wanted[1]
			const near = 1e-9
			low, high = step/n*(math.Ceil(low/step*n-near)-0.5), step/n*(math.Floor(high/step*n+near)+0.5)
			s := math.Sqrt(shared*shared + (own*own+step*step/12)/n)
			return num.Phi((high-mean)/s) - num.Phi((low-mean)/s)
		}
		if shared < 0.01*step {
			return together(w.shows(mean, own), w.Tests, wanted)
		}
		in := 0.0
		for i := range sharedPlaces {
			z := num.PhiInv((float64(i) + 0.5) / sharedPlaces)
			in += together(w.shows(mean+shared*z, own), w.Tests, wanted) / sharedPlaces
		}
		return in
	}
}

// sharedPlaces is at how many places, of equal chance, what tests share is taken.
const sharedPlaces = 9

// stepAt is the step of what a method shows about a reading; of a chart none, whose answers are few.
func (w Way) stepAt(mean float64) float64 {
	by := w.dilutionAt(mean)
	switch {
	case w.method.Resolution > 0:
		return w.method.Resolution * by
	case w.method.DropValue > 0:
		return w.method.DropValue * by
	}
	return math.Inf(1)
}

// shown is a number that an answer is taken for, with its chance.
type shown struct{ value, chance float64 }

// rare is a chance that no share of waters notices.
const rare = 1e-5

// shows are the numbers that a test may show whose readings are normal about a mean. What reads so much that its sheet dilutes it is read again.
func (w Way) shows(mean, sd float64) []shown {
	if !w.Switches || w.Dilution != 0 || !(w.Factor > 0) {
		return w.showsAt(w.dilutionAt(mean), mean, sd)
	}
	var out []shown
	again := 0.0
	for _, s := range w.showsAt(1, mean, sd) {
		if s.value > w.Over {
			again += s.chance
		} else {
			out = append(out, s)
		}
	}
	if again > rare {
		for _, s := range w.showsAt(w.Factor, mean, sd) {
			out = append(out, shown{s.value, s.chance * again})
		}
	}
	return out
}

func (w Way) showsAt(dilution, mean, sd float64) (out []shown) {
	add := func(value, low, high float64) {
		if p := num.Phi((high*dilution-mean)/sd) - num.Phi((low*dilution-mean)/sd); p > rare {
			out = append(out, shown{value * dilution, p})
		}
	}
	far := (math.Max(0, mean) + 5*sd) / dilution
	if answers := reading.Answers(w.method, far); answers != nil {
		for i, a := range answers {
			low, value := a.Seen.Low, a.Value
			if from := math.Max(low, math.Min(0, a.Seen.High)); w.Corrected && !a.Seen.OpenAbove() {
				value = (from + a.Seen.High) / 2
			}
			if i == 0 {
				low = math.Inf(-1)
			}
			add(value, low, a.Seen.High)
		}
		return out
	}
	step := w.method.Resolution
	for v := step * math.Round((mean-5*sd)/dilution/step); v <= far+step; v += step {
		add(v, v-step/2, v+step/2)
	}
	return out
}

// together is the chance that the average of tests lies between two limits.
func together(one []shown, tests int, limits [2]float64) float64 {
	const near = 1e-9
	slack := near * float64(tests) * math.Max(1, math.Abs(limits[1]))
	if math.IsInf(limits[1], 1) {
		slack = near
	}
	low, high := limits[0]*float64(tests)-slack, limits[1]*float64(tests)+slack
	var sum func(tests int, value float64) float64
	sum = func(tests int, value float64) (p float64) {
		for _, s := range one {
			switch v := value + s.value; {
			case tests > 1:
				p += s.chance * sum(tests-1, v)
			case v >= low && v <= high:
				p += s.chance
			}
		}
		return p
	}
	return sum(tests, 0)
}
