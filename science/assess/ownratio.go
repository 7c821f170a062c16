package assess

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"knownwater/science/num"
	"knownwater/science/reading"
)

// ownRatioTail is the normal quantile of limits that leave 4 % outside on each side, as
// a level's own limits in package posterior do.
const ownRatioTail = 1.7507

// ownRatio is the logarithm of technique t's scatter over the reference one's as the readings alone have it,
// averaged over the levels both were tried at, and its limits. The posterior takes each level's
// scatter for like the others', whoever read it, so that it draws a true ratio towards 1; between
// these limits nothing is left out for that. A sum of squares S with f degrees of freedom, within
// one reader's, sitting's, lot's and vial's readings, has
//
//	E ½log(S/f) = log σ + ½(ψ(f/2) − log(f/2))     var = ¼ψ′(f/2)
//
// (S/σ² is chi-square). Not told of what is seen in steps as wide as the scatter, nor where a
// technique was not repeated at some level.
func (st *study) ownRatio(t int) (low, high float64, ok bool) {
	if !reading.Of(st.method.Kind).Number {
		return 0, 0, false
	}
	type key struct{ technique, reader, session, lot, vial string }
	n, ratio, variance := 0.0, 0.0, 0.0
	for i, l := range st.levels {
		if _, there := st.at[[2]int{i, t}]; !there {
			continue
		}
		if _, there := st.at[[2]int{i, 0}]; !there {
			continue
		}
		by := map[key]*sumsOfCell{}
		step := 0.0
		for _, o := range st.obs {
			if o.Level != l.value {
				continue
			}
			on := o.On()
			if on.OpenBelow() || on.OpenAbove() {
				return 0, 0, false
			}
			step = max(step, on.Width())
			k := key{o.Technique, o.Reader, o.Session, o.Lot, o.Vial}
			if by[k] == nil {
				by[k] = &sumsOfCell{}
			}
			by[k].add(on.Mid()-l.value, float64(max(1, o.Count)))
		}
		for side, technique := range []string{st.techniques[0], st.techniques[t]} {
			var sums []float64
			f := 0.0
			for k, c := range by {
				if k.technique == technique {
					sums, f = append(sums, c.squares()), f+c.n-1
				}
			}
			slices.Sort(sums) // the same sum whatever the order of the rows
			var total num.Sum
			for _, s := range sums {
				total.Add(s)
			}
			squares := total.Value()
			if f < 1 || squares <= f*step*step {
				return 0, 0, false
			}
			own := math.Log(squares/f)/2 - (mathext.Digamma(f/2)-math.Log(f/2))/2
			ratio += float64(2*side-1) * own
			variance += num.Trigamma(f/2) / 4
		}
		n++
	}
	if n == 0 {
		return 0, 0, false
	}
	half := ownRatioTail * math.Sqrt(variance) / n
	return ratio/n - half, ratio/n + half, true
}

// sumsOfCell are the sums of readings of one person, sitting, lot and vial at a known, as deviations from it.
type sumsOfCell struct {
	n        float64
	off, sqr num.Sum
}

func (c *sumsOfCell) add(d, n float64) {
	c.n += n
	c.off.Add(n * d)
	c.sqr.AddProduct(n*d, d)
}

// squares is the sum of squares about the cell's own mean.
func (c *sumsOfCell) squares() float64 {
	return max(0, c.sqr.Value()-c.off.Value()*c.off.Value()/c.n)
}
