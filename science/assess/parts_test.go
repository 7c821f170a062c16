package assess

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// halfT are the n evenly spread values of a half-t with 3 degrees of freedom, as its inverse has them by halving.
func halfT(n int) []float64 {
	all := make([]float64, n)
	for k := range all {
		low, high := 0.0, 1e4
		for range 80 {
			mid := (low + high) / 2
			if y := mid / math.Sqrt(3); 2/math.Pi*(math.Atan(y)+y/(1+y*y)) < (float64(k)+0.5)/float64(n) {
				low = mid
			} else {
				high = mid
			}
		}
		all[k] = high
	}
	return all
}

// Draws of a prior that nothing was learned to may be nothing, as those that pile up there; draws that stand off it are not.
func TestMayBeNothing(t *testing.T) {
	prior := halfT(2000)
	near, off, tailed := make([]float64, len(prior)), make([]float64, len(prior)), make([]float64, len(prior))
	z := posterior.Normals(len(prior), 1)
	for k, x := range prior {
		near[k], off[k] = x/5, 0.6*math.Exp(0.2*z[k])
		tailed[k] = off[k]
		if k%25 == 0 { // one of 25 next to nothing, where the prior has one of 50: as likely there as on average
			tailed[k] = 0.01 * num.Phi(z[k])
		}
	}
	for _, c := range []struct {
		name  string
		tau   []float64
		scale float64
		want  bool
	}{{"the prior", prior, 1, true}, {"the prior, scaled", near, 0.2, true}, {"next to nothing", near, 1, true}, {"off nothing", off, 1, false}, {"off nothing, but for some", tailed, 1, true}} {
		if got := mayBeNothing(c.tau, c.scale); got != c.want {
			t.Errorf("%s: may be nothing is %v", c.name, got)
		}
	}
}

// Lower ends count parts that are more than nothing for sure, and between tests by one reader the vials' alone of these: by hand
// 0.5·√(1 + 0.6² + 0.8²) = 0.5·√2 and 0.5·√(1 + 0.8²).
func TestSureSD(t *testing.T) {
	const n = 2000
	reader, vial, spread := make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range n {
		reader[k], vial[k], spread[k] = 0.6, 0.8, math.Log(0.5)
	}
	post := &posterior.Posterior{Wide: &posterior.Draws{Mean: [][]float64{spread}, LogSD: [][]float64{spread}, Ratio: [][]float64{reader, halfT(n), vial}}}
	st := &study{post: post, design: &design{groups: []group{{}}, data: posterior.Data{Factors: []posterior.Factor{{Scale: 1}, {Scale: 1}, {Scale: 1, Nested: true}}}}}
	for _, c := range []struct {
		same, steady bool
		want         float64
	}{{false, false, 0.5 * math.Sqrt2}, {true, false, 0.5 * math.Sqrt(1.64)}, {false, true, 0.5 * math.Sqrt2 * hardly}} {
		st.groups[0].steady = c.steady
		if got := st.sureSD(post.Wide, n-1, between{}, c.same); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("one reader %v, steady hands %v: %v, not %v", c.same, c.steady, got, c.want)
		}
	}
}

// In a quarter of the draws, and of every second and fourth of them, a part that may be nothing is; by hand the whole spread, of which
// repeatability is 0.5, is 0.5·√(1 + 0.6²) there.
func TestSurely(t *testing.T) {
	const n = 2000
	sure, wide := make([]float64, n), make([]record.Normal, n)
	post := &posterior.Posterior{Wide: &posterior.Draws{Mean: [][]float64{sure}, Ratio: [][]float64{sure, halfT(n)}}}
	for k := range n {
		sure[k] = 0.6
		wide[k] = record.Normal{Mean: 1, SD: 0.5 * post.Wide.Whole(k)}
	}
	st := &study{post: post, design: &design{data: posterior.Data{Factors: []posterior.Factor{{Scale: 1}, {Scale: 1}}}}}
	out := st.surely(wide, between{})
	for _, every := range []int{1, 2, 4} {
		left := 0.0
		for k := 0; k < n; k += every {
			switch {
			case math.Abs(out[k].SD-0.5*math.Sqrt(1.36)) < 1e-12:
				left += float64(every) / n
			case out[k] != wide[k]:
				t.Fatalf("draw %d: %v of %v", k, out[k], wide[k])
			}
		}
		if math.Abs(left-nothingShare) > 0.01 {
			t.Errorf("of every %d. draw %v leave the part out", every, left)
		}
	}
	post.Wide.Ratio, st.sure = post.Wide.Ratio[:1], nil
	if out := st.surely(wide, between{}); &out[0] != &wide[0] {
		t.Error("a part that is sure is left out")
	}
}
