// Package errorpart carries an uncertainty as a set of named error parts, so
// that what two results share can cancel in their difference and stay in each.
//
// The same name means the same error: standards made from one stock carry one
// part with the stock's name, each with its own sensitivity to it. From the
// parts follow the uncertainty of a result, the covariance of two, the
// uncertainty of any combination, and which part matters most.
package errorpart

import (
	"math"
	"sort"
)

// Part is one named error in a result: an error of standard uncertainty U
// (in its own unit) moves the result by Sensitivity per unit of it.
type Part struct {
	Name        string  // identity: the same name is the same error
	Kind        string  // what sort of error it is: stock, device, background, …
	U           float64 // standard uncertainty of the error itself, k = 1
	Sensitivity float64 // change of the result per unit of the error, signed
	Degrees     float64 // degrees of freedom behind U; 0 means infinitely many
}

// Size is the part's signed contribution to the result in the result's unit.
func (p Part) Size() float64 { return p.Sensitivity * p.U }

// Parts are the independent named errors of one result, rising by name, each
// name once. Make them with Of.
type Parts []Part

// Of puts parts in order; parts of one name are one error, their sensitivities add.
func Of(parts ...Part) Parts {
	sorted := append(Parts(nil), parts...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Name < sorted[j].Name })
	var out Parts
	for _, p := range sorted {
		if last := len(out) - 1; last >= 0 && out[last].Name == p.Name {
			out[last].Sensitivity += p.Sensitivity
			continue
		}
		out = append(out, p)
	}
	return out
}

// Variance is Σ (sensitivity·u)², JCGM 100 equation 10.
func (ps Parts) Variance() float64 { return Covariance(ps, ps) }

// U is the combined standard uncertainty, the root of Variance.
func (ps Parts) U() float64 { return math.Sqrt(ps.Variance()) }

// Degrees are the effective degrees of freedom of U by Welch and Satterthwaite,
// ν = u⁴ / Σ(uᵢ⁴/νᵢ), JCGM 100 equation G.2b; infinite if no part limits them.
func (ps Parts) Degrees() float64 {
	v, sum := ps.Variance(), 0.0
	for _, p := range ps {
		if p.Degrees > 0 && v > 0 {
			share := p.Size() * p.Size() / v
			sum += share * share / p.Degrees
		}
	}
	return 1 / sum
}

// Times is the parts of k times the result.
func (ps Parts) Times(k float64) Parts {
	out := append(Parts(nil), ps...)
	for i := range out {
		out[i].Sensitivity *= k
	}
	return out
}

// Sum is the parts of Σ weights[i]·result i; parts that the results share
// add up with their signs, so in a difference they cancel.
func Sum(weights []float64, results ...Parts) Parts {
	var all []Part
	for i, ps := range results {
		all = append(all, ps.Times(weights[i])...)
	}
	return Of(all...)
}

// Covariance is Σ sizeA·sizeB over the errors that a and b share.
func Covariance(a, b Parts) float64 {
	sum, lost := 0.0, 0.0 // compensated: parts may differ by many powers of ten
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i].Name < b[j].Name:
			i++
		case a[i].Name > b[j].Name:
			j++
		default:
			term := a[i].Size()*b[j].Size() - lost
			next := sum + term
			lost = (next - sum) - term
			sum = next
			i++
			j++
		}
	}
	return sum
}

// CovarianceMatrix is the covariance of every pair of results.
func CovarianceMatrix(results []Parts) [][]float64 {
	m := make([][]float64, len(results))
	for i := range m {
		m[i] = make([]float64, len(results))
	}
	for i := range m {
		for j := i; j < len(m); j++ {
			m[i][j] = Covariance(results[i], results[j])
			m[j][i] = m[i][j]
		}
	}
	return m
}

// Shared are the parts of ps, with the sensitivities of ps, whose errors occur
// in every one of the others too.
func (ps Parts) Shared(others ...Parts) Parts {
	var out Parts
	for _, p := range ps {
		everywhere := true
		for _, o := range others {
			everywhere = everywhere && o.has(p.Name)
		}
		if everywhere {
			out = append(out, p)
		}
	}
	return out
}

func (ps Parts) has(name string) bool {
	i := sort.Search(len(ps), func(i int) bool { return ps[i].Name >= name })
	return i < len(ps) && ps[i].Name == name
}

// Share is how much of the variance of a result one sort of error makes up.
type Share struct {
	Kind  string
	U     float64 // standard uncertainty from this kind alone
	Share float64 // of the variance, 0 to 1
}

// ByKind is the budget summed up by kind, the largest first.
func (ps Parts) ByKind() []Share {
	of := map[string]float64{}
	for _, p := range ps {
		of[p.Kind] += p.Size() * p.Size()
	}
	total := ps.Variance()
	var out []Share
	for kind, v := range of {
		share := 0.0
		if total > 0 {
			share = v / total
		}
		out = append(out, Share{Kind: kind, U: math.Sqrt(v), Share: share})
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].U != out[j].U {
			return out[i].U > out[j].U
		}
		return out[i].Kind < out[j].Kind
	})
	return out
}

// Value is a result with its error parts.
type Value struct {
	Value float64
	Parts Parts
}

// U is the combined standard uncertainty of the value.
func (v Value) U() float64 { return v.Parts.U() }

// Ratio is a/b to first order; what they share in proportion cancels. It is
// NaN where b is 0.
func Ratio(a, b Value) Value {
	if b.Value == 0 {
		return Value{Value: math.NaN()}
	}
	r := a.Value / b.Value
	return Value{r, Sum([]float64{1 / b.Value, -r / b.Value}, a.Parts, b.Parts)}
}
