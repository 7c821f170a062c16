package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/curve"
	"knownwater/science/unit"
)

// curveDesign is a photometer's calibration: absorbances of knowns, some of them kept out.
type curveDesign struct {
	name      string
	signal    func(c float64) float64
	sd        func(c float64) float64
	fit, kept []float64
	vials     int
	ratio     float64 // of the error by scatter alone at the worst place to what is permitted
}

var nitrate, _ = unit.Parse("nitrate", "mg/L", "NO3")

func curveDesigns() (ds []curveDesign) {
	straight := func(c float64) float64 { return 0.012 + 0.08*c }
	bent := func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.16*c)+0.01)/1.01) }
	same := func(float64) float64 { return 0.006 }
	grows := func(c float64) float64 { return math.Hypot(0.004, 0.03*0.08*c) }
	levels, kept := []float64{0, 1, 2, 4, 6, 8, 10}, []float64{1.5, 3, 5, 6}
	for _, r := range []float64{0.5, 0.95, 1.5} {
		ds = append(ds,
			curveDesign{"straight, scatter the same", straight, same, levels, nil, 4, r},
			curveDesign{"straight, scatter grows, 4 knowns kept out", straight, grows, levels, kept, 4, r},
			curveDesign{"stray light, scatter the same", bent, same, levels, nil, 4, r},
			curveDesign{"stray light, scatter grows, 4 knowns kept out", bent, grows, levels, kept, 4, r})
	}
	return ds
}

const curveFit, curveWrongFit, curveNot, curveWrongNot, curveTried, curveSize = 0, 1, 2, 3, 4, 5

// run fits a curve, and holds what is said of its single results against how they err in
// truth: the curve as it came out, with the true signals and their scatter.
func (d curveDesign) run(rng *rand.Rand) []float64 {
	out := make([]float64, curveSize)
	var points []curve.Point
	for k, list := range [][]float64{d.fit, d.kept} {
		for _, c := range list {
			for range d.vials {
				points = append(points, curve.Point{Level: c, Signal: d.signal(c) + d.sd(c)*rng.NormFloat64(), Check: k == 1, Dilution: 1, Row: len(points) + 2})
			}
		}
	}
	doc, err := curve.Make(points, curve.Options{Light: true, Sure: true}, curve.Conversion{Kind: curve.Absorbance}, curve.Scope{}, nil)
	if err != nil {
		return out
	}
	sdOf := func(c float64) float64 { return d.sd(c) / ((d.signal(c+0.01) - d.signal(c-0.01)) / 0.02) }
	n := knownwater.Need{Name: "need", Low: needLow, High: 6}
	permitted, worst := 0.0, 0.0
	for i := range 46 {
		permitted = math.Max(permitted, 1.959964*sdOf(n.Low+(n.High-n.Low)*float64(i)/45)/d.ratio)
	}
	n.Permitted = []knownwater.Permit{{At: n.Low, Error: permitted}}
	for i := range 46 {
		c := n.Low + (n.High-n.Low)*float64(i)/45
		worst = math.Max(worst, trueError95(math.Abs(doc.LevelOf(d.signal(c))-c), sdOf(c))/permitted)
	}
	t, err := choose.OfCurve("curve", doc.On(nitrate), knownwater.Method{Name: "photometer"}, knownwater.Trial{Scale: nitrate, Needs: []knownwater.Need{n}}, func(t knownwater.Trial) assess.Findings {
		return assess.Run(t, assess.Options{Brief: true})
	})
	if err != nil {
		return out
	}
	for _, w := range choose.Of([]knownwater.Need{n}, []choose.Trial{t}, choose.Options{}).Needs[0].Ways {
		if w.Tests == 1 {
			out[curveFit], out[curveWrongFit] = b2f(w.Verdict == assess.Fit), b2f(w.Verdict == assess.Fit && worst > 1)
			out[curveNot], out[curveWrongNot] = b2f(w.Verdict == assess.NotFit), b2f(w.Verdict == assess.NotFit && worst <= 1)
			out[curveTried] = b2f(w.Tried)
		}
	}
	return out
}

func curveTable() table {
	t := table{name: "curveways", title: "What to use: by a curve",
		head: "| signals, scatter | scatter’s error ÷ permitted | curves | fit | of all, wrongly | not fit | of all, wrongly | settled by knowns kept out |",
		foot: "Curves of seven knowns from 0 to 10 by four vials each, judged for a need from 1.5 to 6. Wrongly: by what the curve that came out does to the true signals, its own bias and their scatter together. Meant: at most 5 % either way."}
	ds := curveDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{fmt.Sprintf("curveways: %s, %g", d.name, d.ratio), false, func(run int) []float64 { return d.run(source(2900+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		return []string{fmt.Sprintf("| %s | %g | %d | %.0f %% | %.1f %% | %.0f %% | %.1f %% | %.0f %% |", ds[i].name, ds[i].ratio, c.Runs, c.rate(curveFit), c.rate(curveWrongFit), c.rate(curveNot), c.rate(curveWrongNot), c.rate(curveTried))}
	}
	return t
}
