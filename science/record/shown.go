package record

import (
	"math"
	"sort"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Shown is what a method can show at all, as concentrations in the sample:
// either a list of answers that cover the axis (chart, drops), or steps of a
// display's last digit (Step; 0 for a signal without steps).
type Shown struct {
	Answers []Answer // rising
	Step    float64
}

// Answer is one thing that a method can show: the interval it stands for, and
// the single number that the bench habit makes of it.
type Answer struct {
	Seen  interval.Interval
	Value float64
}

// Up is the next boundary between answers at y or above.
func (s Shown) Up(y float64) float64 {
	switch {
	case s.Answers != nil:
		i := sort.Search(len(s.Answers), func(i int) bool { return s.Answers[i].Seen.High >= y })
		if i == len(s.Answers) {
			return math.Inf(1)
		}
		return s.Answers[i].Seen.High
	case s.Step > 0:
		return (math.Ceil(y/s.Step-0.5) + 0.5) * s.Step
	}
	return y
}

// StepAt is how wide the answer at y is; the narrower neighbour's where it is open.
func (s Shown) StepAt(y float64) float64 {
	if s.Answers == nil {
		return s.Step
	}
	for _, a := range s.Answers {
		if a.Seen.Contains(y) && !math.IsInf(a.Seen.Width(), 0) {
			return a.Seen.Width()
		}
	}
	narrow := math.Inf(1)
	for _, a := range s.Answers {
		narrow = math.Min(narrow, a.Seen.Width())
	}
	return narrow
}

// Normal is a normal distribution of latent readings.
type Normal struct {
	Mean, SD float64
	Sharing  int // which sharing of its gaps a chart is read by; 0 elsewhere
}

// Below is P(latent ≤ y).
func (n Normal) Below(y float64) float64 { return num.Phi((y - n.Mean) / n.SD) }

// Order is the chance that a reading from `high` is shown above, and the same
// as, an independent reading from `low`.
//
// For answers: Σ_j P(high shows j)·P(low shows less than j). For a display with
// steps s, whose phase is of no account: with D the difference of the latent
// readings, E[D/s cut to 0 … 1] and E[(1 − |D|/s)⁺], in closed form from
// E[(D − t)⁺] = σ(zΦ(z) + φ(z)), z = (μ − t)/σ.
func (s Shown) Order(low, high Normal) (above, same float64) { return s.OrderFrom(low)(high) }

// OrderFrom is Order of many readings against one.
func (s Shown) OrderFrom(low Normal) func(high Normal) (above, same float64) {
	if s.Answers == nil {
		return func(high Normal) (above, same float64) {
			return orderOnDisplay(Normal{Mean: high.Mean - low.Mean, SD: math.Hypot(low.SD, high.SD)}, s.Step)
		}
	}
	shown := make([]float64, len(s.Answers)) // P(low shows j)
	s.chances(low, func(j int, p float64) { shown[j] = p })
	return func(high Normal) (above, same float64) {
		lower, at := 0.0, 0
		s.chances(high, func(j int, p float64) {
			for ; at < j; at++ {
				lower += shown[at]
			}
			above += p * lower
			same += p * shown[j]
		})
		return above, same
	}
}

// chances are those of the answers, each of which begins where the one before ends, but of those that have none left above others.
func (s Shown) chances(of Normal, each func(j int, p float64)) {
	below := 0.0
	for j, a := range s.Answers {
		if below == 1 {
			return
		}
		from := below
		below = of.Below(a.Seen.High)
		each(j, below-from)
	}
}

func orderOnDisplay(d Normal, step float64) (above, same float64) {
	if step < 1e-3*d.SD {
		return 1 - d.Below(0), 0
	}
	above, _ = num.RoundedBelow(d.Mean-step/2, d.SD, step)
	below, _ := num.RoundedBelow(-d.Mean-step/2, d.SD, step)
	return above, math.Max(0, 1-above-below)
}
