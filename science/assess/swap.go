package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/note"
)

// vialReading is one vial's middle reading.
type vialReading struct {
	name, session string
	level         int
	y             float64
}

// mostVials bounds the search for swapped vials, which looks at every pair.
const mostVials = 600

// askSwap looks for two vials of different levels, tested in one session, each
// of which reads like the other's level and not like its own. Each level is
// judged by its other vials (median), with the scatter of vials within levels
// taken robustly (1.483·MAD of the relative residuals).
func (st *study) askSwap() {
	vials := st.vialReadings()
	if len(vials) > mostVials || len(st.levels) < 2 {
		return
	}
	byLevel := map[int][]float64{}
	for _, v := range vials {
		byLevel[v.level] = append(byLevel[v.level], v.y)
	}
	centre := map[int]float64{}
	for i, ys := range byLevel {
		if len(ys) < 3 { // two vials alone do not say which of them is the odd one
			continue
		}
		centre[i] = quantile(ys, 0.5)
	}
	scatter := st.vialScatter(vials, centre)
	for a := range vials {
		for b := a + 1; b < len(vials); b++ {
			va, vb := vials[a], vials[b]
			ca, okA := centre[va.level]
			cb, okB := centre[vb.level]
			if !okA || !okB || va.level == vb.level || va.session != vb.session {
				continue
			}
			sa, sb := scatter(ca), scatter(cb)
			if math.Abs(ca-cb) < 3.5*math.Max(sa, sb) {
				continue
			}
			za, zb := math.Abs(va.y-ca)/sa, math.Abs(vb.y-cb)/sb
			xa, xb := (va.y-cb)/sb, (vb.y-ca)/sa
			if own := za*za + zb*zb; math.Min(za, zb) > 3 && own > 40 && xa*xa+xb*xb < own/6 {
				st.slip("swap", note.New("ask-swap").Name("vial", va.name, vb.name).Number("level", st.levels[va.level].value, st.levels[vb.level].value),
					note.New("vials-read").Number("reads", va.y, vb.y).Number("others", ca, cb))
			}
		}
	}
}

// vialScatter is the scatter of vials about their level's centre, as a
// function of the centre: a floor from the lower half of the levels and a
// proportional part from the upper half.
func (st *study) vialScatter(vials []vialReading, centre map[int]float64) func(y float64) float64 {
	var centres, low, high []float64
	for _, c := range centre {
		centres = append(centres, c)
	}
	half := quantile(append(centres, 0), 0.5)
	for _, v := range vials {
		switch c, ok := centre[v.level]; {
		case !ok:
		case c <= half:
			low = append(low, math.Abs(v.y-c))
		default:
			high = append(high, math.Abs(v.y-c)/c)
		}
	}
	floor := 1.483 * quantile(append(low, 0), 0.5)
	share := math.Max(0.05, 1.483*quantile(append(high, 0), 0.5))
	return func(y float64) float64 {
		return math.Max(math.Hypot(floor, share*math.Abs(y)), st.rec.Shown.StepAt(y)/2)
	}
}

func (st *study) vialReadings() []vialReading {
	type key struct{ vial, session string }
	sums := map[key]*vialReading{}
	counts := map[key]float64{}
	for _, o := range st.obs {
		if o.Vial == "" {
			continue
		}
		k := key{vialKey(o), o.Session}
		v := sums[k]
		if v == nil {
			i := slices.IndexFunc(st.levels, func(l level) bool { return l.value == o.Level })
			v = &vialReading{name: o.Vial, session: o.Session, level: i}
			sums[k] = v
		}
		on := o.On()
		v.y += float64(o.Count) * middle([2]float64{on.Low, on.High})
		counts[k] += float64(o.Count)
	}
	out := make([]vialReading, 0, len(sums))
	for k, v := range sums {
		v.y /= counts[k]
		out = append(out, *v)
	}
	sort.Slice(out, func(i, j int) bool {
		return out[i].level < out[j].level || out[i].level == out[j].level && out[i].name < out[j].name
	})
	return out
}
