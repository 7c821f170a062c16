package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strconv"
	"testing"

	"knownwater/science/num"
)

func tile(y float64, s []float64) (lo, hi float64) {
	if s == nil { // display of 0.01
		r := math.Round(y*100) / 100
		return r - 0.005, r + 0.005
	}
	last := len(s) - 1
	bounds := []float64{math.Inf(-1)}
	for i := 1; i <= last; i++ {
		g := s[i] - s[i-1]
		bounds = append(bounds, s[i-1]+g/4, s[i]-g/4)
	}
	bounds = append(bounds, s[last]+(s[last]-s[last-1])/4, math.Inf(1))
	for i := 1; i < len(bounds); i++ {
		if y <= bounds[i] {
			return bounds[i-1], bounds[i]
		}
	}
	panic("unreachable")
}

type design struct {
	levels         []float64
	swatches       []float64
	reps           int
	readers, vials int // >0: vials × readers
	s0, kappa      float64
	rRel, vRel     float64
}

func (ds design) data(rng *rand.Rand) Data {
	d := Data{Groups: len(ds.levels), Technique: make([]int, len(ds.levels)), MeanFloor: floor(ds), MeanTop: 4 * ds.levels[len(ds.levels)-1]}
	var ra []float64
	if ds.readers > 0 {
		d.Factors = []Factor{{"reader", ds.readers, false}, {"vial", ds.vials * len(ds.levels), true}}
		for range ds.readers {
			ra = append(ra, ds.rRel*rng.NormFloat64())
		}
	}
	for g, m := range ds.levels {
		sd := math.Hypot(ds.s0, ds.kappa*m)
		add := func(y float64, mem []int) {
			lo, hi := tile(y, ds.swatches)
			d.Cells = append(d.Cells, Cell{g, lo, hi, mem, 1})
		}
		if ds.readers == 0 {
			for range ds.reps {
				add(m+sd*rng.NormFloat64(), nil)
			}
			continue
		}
		for v := range ds.vials {
			b := ds.vRel * rng.NormFloat64()
			for r := range ds.readers {
				add(m+sd*(ra[r]+b+rng.NormFloat64()), []int{r, g*ds.vials + v})
			}
		}
	}
	return d
}

func TestExplore(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("KW_EXPLORE"))
	if n == 0 {
		t.Skip("exploration only")
	}
	lv := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	wide := []float64{0, 3, 6, 12, 20, 35, 70}
	designs := map[string]design{
		"display const":    {levels: lv, reps: 3, s0: 0.3},
		"display two":      {levels: lv, reps: 3, s0: 0.1, kappa: 0.05},
		"display prop":     {levels: lv, reps: 3, s0: 0.02, kappa: 0.08},
		"display 5 lev":    {levels: []float64{0, 1, 5, 10, 25}, reps: 3, s0: 0.1, kappa: 0.05},
		"chart 9":          {levels: lv, swatches: wide, reps: 9, s0: 0.3, kappa: 0.1},
		"chart 3":          {levels: lv, swatches: wide, reps: 3, s0: 0.3, kappa: 0.1},
		"chart 9 tight":    {levels: lv, swatches: wide, reps: 9, s0: 0.1, kappa: 0.03},
		"chart 3x3 r.5v.5": {levels: lv, swatches: wide, readers: 3, vials: 3, s0: 0.3, kappa: 0.1, rRel: .5, vRel: .5},
		"chart 3x3 r1v.5":  {levels: lv, swatches: wide, readers: 3, vials: 3, s0: 0.3, kappa: 0.1, rRel: 1, vRel: .5},
		"chart 3x3 r0v0":   {levels: lv, swatches: wide, readers: 3, vials: 3, s0: 0.3, kappa: 0.1},
	}
	var names []string
	for k := range designs {
		names = append(names, k)
	}
	sort.Strings(names)
	for _, name := range names {
		if w := os.Getenv("KW_ONLY"); w != "" && w != name {
			continue
		}
		ds := designs[name]
		L := len(ds.levels)
		cover, width, sdc := make([]float64, L), make([]float64, L), make([]float64, L)
		es := 0.0
		missLo, missHi, sdLo := make([]float64, L), make([]float64, L), make([]float64, L)
		for i := range n {
			rng := num.Source(uint64(i), 77, uint64(len(name)))
			p, err := Fit(ds.data(rng), Options{Seed: uint64(i), Draws: 3000})
			if err != nil {
				t.Fatal(err)
			}
			es += p.ErrorShare / float64(n)
			for g, m := range ds.levels {
				s := append([]float64(nil), p.Mean[g]...)
				sort.Float64s(s)
				lo, hi := num.Quantile(s, .025), num.Quantile(s, .975)
				if ds.swatches != nil && lo < .25*hi && lo < num.Quantile(s, .975)-num.Quantile(s, .95) {
					lo, hi = 0, num.Quantile(s, .95)
				}
				if lo <= m && m <= hi {
					cover[g]++
				}
				sd := math.Hypot(ds.s0, ds.kappa*m)
				nn := float64(ds.reps)
				if nn == 0 {
					nn = 9
				}
				width[g] += (hi - lo) / (2 * 1.96 * sd / math.Sqrt(nn)) / float64(n)
				if m < lo {
					missLo[g]++
				}
				if m > hi {
					missHi[g]++
				}
				var sg []float64
				for k := range p.Phi {
					sg = append(sg, p.Phi[k]*p.H(k, p.Mean[g][k]))
				}
				sort.Float64s(sg)
				if sd < num.Quantile(sg, .025) {
					sdLo[g]++
				}
				if num.Quantile(sg, .025) <= sd && sd <= num.Quantile(sg, .975) {
					sdc[g]++
				}
			}
		}
		fmt.Printf("%-18s mcerr %.3f\n  cover", name, es)
		for g := range cover {
			fmt.Printf(" %5.1f", 100*cover[g]/float64(n))
		}
		fmt.Printf("\n  width")
		for g := range cover {
			fmt.Printf(" %5.2f", width[g])
		}
		fmt.Printf("\n  truth<lo")
		for g := range cover {
			fmt.Printf(" %5.1f", 100*missLo[g]/float64(n))
		}
		fmt.Printf("\n  truth>hi")
		for g := range cover {
			fmt.Printf(" %5.1f", 100*missHi[g]/float64(n))
		}
		fmt.Printf("\n  sd<lo")
		for g := range cover {
			fmt.Printf(" %5.1f", 100*sdLo[g]/float64(n))
		}
		fmt.Printf("\n  sd   ")
		for g := range cover {
			fmt.Printf(" %5.1f", 100*sdc[g]/float64(n))
		}
		fmt.Println()
	}
}

func init() {
	if s, err := strconv.ParseFloat(os.Getenv("KW_BAL"), 64); err == nil {
		balanceSD = s
	}
	if s, err := strconv.ParseFloat(os.Getenv("KW_PP"), 64); err == nil {
		widthPower = s
	}
	if s, err := strconv.ParseFloat(os.Getenv("KW_UP"), 64); err == nil {
		flatness = s
	}
}

func floor(ds design) float64 {
	if ds.swatches != nil {
		return 0
	}
	return -10
}

func TestConstantOnly(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("KW_EXPLORE"))
	if n == 0 {
		t.Skip("exploration only")
	}
	frozen = true
	defer func() { frozen = false }()
	ds := design{levels: []float64{1, 2, 3, 4, 5, 6, 7, 8}, reps: 3, s0: 0.3}
	w, c, med, sdc := 0.0, 0.0, 0.0, 0.0
	for i := range n {
		rng := num.Source(uint64(i), 78)
		p, _ := Fit(ds.data(rng), Options{Seed: uint64(i), Draws: 4000})
		for g, m := range ds.levels {
			s := append([]float64(nil), p.Mean[g]...)
			sort.Float64s(s)
			lo, hi := num.Quantile(s, .025), num.Quantile(s, .975)
			w += (hi - lo) / (2 * 1.96 * .3 / math.Sqrt(3)) / 8
			if lo <= m && m <= hi {
				c += 1. / 8
			}
		}
		s := append([]float64(nil), p.Phi...)
		sort.Float64s(s)
		med += num.Quantile(s, .5) / .3
		if num.Quantile(s, .025) < .3 && .3 < num.Quantile(s, .975) {
			sdc++
		}
	}
	N := float64(n)
	fmt.Println("const only: width", w/N, "cover", c/N, "median", med/N, "sd cover", sdc/N)
}

func TestPropDebug(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("KW_EXPLORE"))
	if n == 0 {
		t.Skip("exploration only")
	}
	ds := design{levels: []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}, reps: 3, s0: 0.02, kappa: .08}
	a := map[string]float64{}
	N := float64(n)
	for i := range n {
		rng := num.Source(uint64(i), 78)
		d := ds.data(rng)
		p, _ := Fit(d, Options{Seed: uint64(i), Draws: 4000})
		var s []float64
		for k := range p.Phi {
			s = append(s, p.Phi[k]*p.H(k, 12)/.96)
		}
		sort.Float64s(s)
		a["mcmc med"] += num.Quantile(s, .5) / N
		a["mcmc lo"] += num.Quantile(s, .025) / N
		a["mcmc hi"] += num.Quantile(s, .975) / N
		b := append([]float64(nil), p.Balance...)
		sort.Float64s(b)
		a["lam med"] += num.Quantile(b, .5) / N
		// grid
		ss, mean := make([]float64, 8), make([]float64, 8)
		for _, c := range d.Cells {
			mean[c.Group] += (c.Low + c.High) / 6
		}
		for _, c := range d.Cells {
			r := (c.Low+c.High)/2 - mean[c.Group]
			ss[c.Group] += r * r
		}
		type wv struct{ v, w float64 }
		var all []wv
		mx := math.Inf(-1)
		for lam := -9.0; lam < 9; lam += .1 {
			for lf := math.Log(.18) - 2; lf < math.Log(.18)+2; lf += .04 {
				ll := -.5 * lam * lam / 6.25
				for g := range 8 {
					sg := math.Exp(lf) * shapeAt(lam, mean[g]/p.Ref)
					ll += -2*math.Log(sg) - ss[g]/2/sg/sg
				}
				all = append(all, wv{math.Exp(lf) * shapeAt(lam, 12/p.Ref) / .96, ll})
				mx = math.Max(mx, ll)
			}
		}
		sort.Slice(all, func(i, j int) bool { return all[i].v < all[j].v })
		tot := 0.0
		for j := range all {
			all[j].w = math.Exp(all[j].w - mx)
			tot += all[j].w
		}
		cum := 0.0
		for _, x := range all {
			cum += x.w / tot
			if cum > .5 {
				a["grid med"] += x.v / N
				break
			}
		}
	}
	fmt.Println(a)
}
