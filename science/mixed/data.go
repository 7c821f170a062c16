// Package mixed finds what interval readings say about group means, about how
// readings scatter, and about what they share (reader, session, lot, vial):
// a Gaussian model with shared parts whose readings are known only as
// intervals, and its posterior under weak, stated priors.
//
// # The model
//
// Reading i of group g (one level under one technique) has the latent value
//
//	z = m_g + h_g·(A_reader + A_session + A_lot + t_g·A_vial) + φ·h_g·t_g·e,  e ~ N(0, 1)
//	h_g = h(a first estimate of m_g),  h(m)² = (r² + (m/ref)²)/(1 + r²),  r = e^λ
//
// and only the interval that holds z is seen. The spread is the two-component
// function σ² = σ0² + (κ·mean)² (Technometrics 37 (1995) 176–184) with
// σ0 = φ·r/√(1+r²) and κ = φ/(ref·√(1+r²)); ref is a fixed response in the middle of the
// data. Shared parts follow the same function, so that one number a source
// (τ, the standard deviation of A, at response ref) says how large it is.
// t is 1 for the reference technique.
//
// # Priors
//
//	m_g   flat; between Data.MeanFloor and Data.MeanTop where all readings of g
//	      are open at one end
//	φ, λ  density of log φ ∝ φ^0.7·Π (s/(s + w))^1.5 over the lowest and the highest
//	      group, s the repeatability and w the width of a reading there: a spread
//	      far below what an interval can show is as unlikely as it is unseen, so
//	      that readings that all fell in one interval give an upper limit, not
//	      zero; for exact readings a little heavier than 1/φ, tuned by simulation
//	      so that 95 % intervals of three readings a level cover 95 %; where the
//	      intervals are coarse (Data.Coarse) times Π 1/(1 + (s/2w)²): a person who
//	      matches colours misses by about a step, not by many
//	λ     normal, mean 0, standard deviation 4.5: from constant to proportional spread
//	τ     half-t (3 degrees of freedom) with scale Factor.Scale·φ: a source is likely no larger than
//	      repeatability, but free to be many times as large
//	log t normal, mean 0, standard deviation 0.7: within a factor of four, 95 %
package mixed

import "math"

// None marks a cell that has no member of a factor.
const None = -1

// Factor is a source of spread that several readings share.
type Factor struct {
	Name    string
	Members int
	// Scale is the prior scale of the factor's τ as a share of φ.
	Scale float64
	// Nested members belong to one group each (vials); others cross groups.
	Nested bool
}

// Cell is Count readings that are alike: same group, same interval, same
// member of every factor.
type Cell struct {
	Group     int
	Low, High float64 // equal when exact, infinite when open
	Member    []int   // one a factor, or None
	Count     float64
}

// Data is what the model is fitted to. All values are in one unit.
type Data struct {
	Groups    int
	Technique []int // technique of each group; 0 is the reference
	Factors   []Factor
	Cells     []Cell
	// Coarse says that the intervals are steps about as wide as a person sees
	// (a chart), so that a spread of many steps is unlikely; a display's last
	// digit or a drop says nothing of the kind.
	Coarse bool
	// MeanFloor and MeanTop bound the group means where all readings of a
	// group are open at one end.
	MeanFloor, MeanTop float64
}

// Posterior is a set of equally weighted draws. Mean[g][k], SD[k] …: draw k of
// every quantity belongs together.
type Posterior struct {
	Ref     float64 // the response at which Phi and Tau are stated
	Mean    [][]float64
	Phi     []float64
	Balance []float64     // λ
	Tau     [][]float64   // by factor
	T       [][]float64   // by technique; T[0] is all ones
	Effect  [][][]float64 // by crossed factor and member, at Ref; nil for nested factors

	// Point is the most likely set of group means given the medians of the
	// spread parameters: free of Monte Carlo noise to first order.
	Point []float64
	// ErrorShare is the largest Monte Carlo standard error of a group mean's
	// average, as a share of half its 95 % interval.
	ErrorShare float64
}

// Weights are what the draws count for the prediction of single readings: under
// the prior 1/φ instead of φ^0.7/φ, for which one-sided predictions from normal
// readings come true at their nominal rate.
func (p *Posterior) Weights() []float64 {
	w := make([]float64, len(p.Phi))
	for k, phi := range p.Phi {
		w[k] = math.Pow(phi/p.Phi[0], -flatness)
	}
	return w
}

// Draws is how many draws there are.
func (p *Posterior) Draws() int { return len(p.Phi) }
