package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// An invented trial and findings that look like it: not computed by the
// engine, only made so that every kind of mark, word and gap occurs once.

type fakeMethod struct {
	name      string
	kind      knownwater.Kind
	dilution  float64
	technique string
	mean      func(c float64) float64
	sd        func(c float64) float64
	tile      func(y float64) (string, interval.Interval)
	vials     int
	readers   []string
	only      func(level float64) bool
}

var (
	fakeLevels = []float64{0.12, 0.72, 1.63, 3.13, 6.14, 12.17, 20.2, 40.3}
	fakeNeeds  = []knownwater.Need{
		{Name: "keep a low-nutrient tank", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}},
		{Name: "notice a dirty tank", Low: 10, High: 40, Permitted: []knownwater.Permit{{At: 10, Error: 4}, {At: 40, Error: 16}}},
	}
)

// tileChart turns a value into the notation of a chart, as concept.md tiles it.
func tileChart(swatches []float64, factor float64) func(float64) (string, interval.Interval) {
	return func(y float64) (string, interval.Interval) {
		y /= factor
		n := len(swatches)
		for i, s := range swatches {
			low := math.Inf(-1)
			if i > 0 {
				low = s - .25*(s-swatches[i-1])
			}
			gap := s - swatches[max(i, 1)-1]
			if i < n-1 {
				gap = swatches[i+1] - s
			}
			high := s + .25*gap
			if y >= low && y <= high {
				return fmt.Sprint(s), interval.Interval{Low: low * factor, High: high * factor}
			}
			if i < n-1 {
				next := swatches[i+1]
				if y > high && y < next-.25*(next-s) {
					return fmt.Sprintf("%v..%v", s, next), interval.Interval{Low: high * factor, High: (next - .25*(next-s)) * factor}
				}
			}
		}
		last := swatches[n-1]
		return fmt.Sprintf(">%v", last), interval.Above((last + .25*(last-swatches[n-2])) * factor)
	}
}

func tileDisplay(step float64) func(float64) (string, interval.Interval) {
	return func(y float64) (string, interval.Interval) {
		v := math.Round(math.Max(y, 0)/step) * step
		return fmt.Sprintf("%.1f", v), interval.Interval{Low: v - step/2, High: v + step/2}
	}
}

func tileDrops(d float64) func(float64) (string, interval.Interval) {
	return func(y float64) (string, interval.Interval) {
		n := math.Max(1, math.Ceil(y/d))
		return fmt.Sprintf("%.0fd", n), interval.Interval{Low: (n - 1) * d, High: n * d}
	}
}

func fakeMethods() []fakeMethod {
	three := []string{"Ines", "Tomo", "Wren"}
	alder := []float64{0, 0.4, 1, 2, 3.5, 6}
	return []fakeMethod{
		{"Alder card", knownwater.Chart, 1, "timed", func(c float64) float64 { return .93 * c }, func(c float64) float64 { return .04 + .09*c },
			tileChart(alder, 1), 6, three, func(l float64) bool { return l < 7 }},
		{"Alder card", knownwater.Chart, 8, "timed", func(c float64) float64 { return .83 * c }, func(c float64) float64 { return .3 + .1*c },
			tileChart(alder, 8), 3, three, func(l float64) bool { return l > 6 }},
		{"Birch card", knownwater.Chart, 1, "timed", func(c float64) float64 { return .7 + 1.05*c/(1+c/90) }, func(c float64) float64 { return .2 + .13*c },
			tileChart([]float64{0, 3, 6, 12, 20, 35, 70}, 1), 3, three, nil},
		{"Cedar meter", knownwater.Display, 1, "", func(c float64) float64 {
			return 2.4 + .58*.25*math.Log1p(math.Exp((c-1.8)/.25))/(1+c/220)
		}, func(c float64) float64 { return math.Hypot(.18, .012*c) }, tileDisplay(.1), 8, []string{"device"}, nil},
		{"Fir drops", knownwater.Drops, 1, "", func(c float64) float64 { return 1.01 * c }, func(c float64) float64 { return .05 + .03*c },
			tileDrops(2), 4, []string{"Ines"}, nil},
	}
}

// fixture is the invented trial with its findings.
func fixture() (assess.Findings, knownwater.Trial) {
	rng := rand.New(rand.NewPCG(7, 11))
	f := assess.Findings{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3", Salinity: 35, Temperature: 25, Seed: 7, Version: "0.1.0-fixture",
		Notes:       note.ToldAll([]string{"Levels were stated with a standard uncertainty; the stock's part is taken as shared by all levels."}),
		WaterStated: true, Questions: []doubt.Question{
			{Kind: doubt.OfSwap, Method: "Alder card", Says: note.Told("Were vials M3T and Q7K of session 3 swapped?"), At: []doubt.Place{{Row: 12, Level: 3.13, Reading: "12"}, {Row: 31, Level: 12.17, Reading: "3.5"}}},
			{Kind: doubt.OfBasis, Method: "Alder card", Says: note.Told("Did Wren write the reading of 0.72 as nitrogen?"), HoldsBack: true, At: []doubt.Place{{Row: 7, Level: 0.72, Reading: "0..0.4"}}}}}
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.Water{Salinity: 35, Temperature: 25}, Needs: append([]knownwater.Need{}, fakeNeeds...)}
	for _, m := range fakeMethods() {
		mf, obs := fakeFinding(rng, m)
		f.Methods = append(f.Methods, mf)
		t.Observations = append(t.Observations, obs...)
		t.Methods = append(t.Methods, knownwater.Method{Name: m.name, Kind: m.kind})
	}
	f.Methods[0].Notes = append(f.Methods[0].Notes, note.New("reads").Name("side", "open", "low").Number("from", 0.12, 3.13).Number("to", 1.63, 6.14).
		Number("first", -0.01, -0.22).Number("last", -0.12, -0.43).Number("ends", 0.12, 6.14))
	f.Methods[3].Notes = append(f.Methods[3].Notes, note.Told("One reading a vial, one device: reader and vial cannot be told from repeatability."))
	f.Procedures = []assess.Procedure{{Method: "Alder card", Branches: []assess.Branch{{Dilution: 1, To: 5}, {Dilution: 8, From: 5, To: num.None}}, Needs: f.Methods[1].Needs}}
	f.Methods[0].Lots = []assess.LotFinding{{Lot: "A1", Ratio: 1.1, Low: 1.02, High: 1.19}, {Lot: "A2", Ratio: 0.9, Low: 0.83, High: 0.97}}
	return f, t
}

func fakeFinding(rng *rand.Rand, m fakeMethod) (assess.MethodFinding, []knownwater.Observation) {
	mf := assess.MethodFinding{Method: m.name, Kind: string(m.kind), Dilution: m.dilution, Technique: m.technique, MCError: .021}
	var obs []knownwater.Observation
	seenText := map[string]interval.Interval{}
	for _, level := range fakeLevels {
		if m.only != nil && !m.only(level) {
			continue
		}
		l, os := fakeLevel(rng, m, level)
		for _, o := range os {
			seenText[o.Text] = o.On()
		}
		mf.Levels, obs = append(mf.Levels, l), append(obs, os...)
		mf.N += l.N
	}
	fakeRest(&mf, m, seenText)
	return mf, obs
}

func fakeLevel(rng *rand.Rand, m fakeMethod, level float64) (assess.LevelFinding, []knownwater.Observation) {
	l := assess.LevelFinding{Level: level, ULevel: .02 + .004*level}
	counts := map[string]*assess.SeenReading{}
	var order []string
	var obs []knownwater.Observation
	mid := 0.0
	for v := range m.vials {
		vial := m.sd(level) * .6 * rng.NormFloat64()
		for _, r := range m.readers {
			text, on := m.tile(m.mean(level) + vial + m.sd(level)*.8*rng.NormFloat64())
			l.N++
			if counts[text] == nil {
				s := assess.SeenReading{Text: text, Low: num.Number(on.Low), High: num.Number(on.High)}
				if on.OpenBelow() {
					s.Low = num.None
				}
				if on.OpenAbove() {
					s.High = num.None
				}
				counts[text] = &s
				order = append(order, text)
			}
			counts[text].Count++
			if !on.OpenBelow() && !on.OpenAbove() {
				mid += on.Mid()
			}
			obs = append(obs, knownwater.Observation{Method: m.name, Level: level, ULevel: l.ULevel, Text: text, Seen: on.Scale(1 / m.dilution),
				Dilution: m.dilution, Reader: r, Technique: "timed", Vial: fmt.Sprintf("%s-%g-%d", m.name, level, v), Session: "1", Matrix: "salt mix", Count: 1})
		}
	}
	for _, s := range order {
		l.Seen = append(l.Seen, *counts[s])
	}
	n := float64(l.N)
	se := math.Hypot(m.sd(level)*.6/math.Sqrt(float64(m.vials)), m.sd(level)*.8/math.Sqrt(n))
	mean, half := m.mean(level), 2.1*se
	l.MeanLow, l.MeanHigh = num.Number(mean-half), num.Number(mean+half)
	l.Mean, l.MidpointMean = num.Number(mean+.3*se*rng.NormFloat64()), num.Number(mid/n)
	l.SDLow, l.SD, l.SDHigh = num.Number(m.sd(level)*.7), num.Number(m.sd(level)), num.Number(m.sd(level)*1.6)
	l.SingleU = num.Number(m.sd(level) * 1.05)
	if len(order) == 1 {
		only := counts[order[0]]
		l.MeanLow, l.MeanHigh, l.Mean = only.Low, only.High, num.None
		if !only.Low.OK() {
			l.MeanLow = 0
		}
		l.SD, l.SDLow = num.None, 0
	}
	hb := math.Hypot(half, 2*l.ULevel)
	if l.Mean.OK() {
		l.Bias = l.Mean - num.Number(level)
		l.Recovery = 100 * l.Mean / num.Number(level)
	} else {
		l.Bias, l.Recovery = num.None, num.None
	}
	l.BiasLow, l.BiasHigh = l.MeanLow-num.Number(level)-num.Number(hb-half), l.MeanHigh-num.Number(level)+num.Number(hb-half)
	l.RecoveryLow, l.RecoveryHigh = 100*l.MeanLow/num.Number(level), 100*l.MeanHigh/num.Number(level)
	return l, obs
}

func fakeRest(mf *assess.MethodFinding, m fakeMethod, seen map[string]interval.Interval) {
	top, start := fakeLevels[len(fakeLevels)-1], fakeLevels[0]
	if m.only != nil {
		start, top = mf.Levels[0].Level, mf.Levels[len(mf.Levels)-1].Level
	}
	n := num.None
	mf.Spread = assess.Spread{Sigma0: num.Number(m.sd(0)), Kappa: .08, At: num.Number(m.mean(3.13)),
		RepeatabilitySD: num.Number(m.sd(3.13) * .8), RepeatabilityLow: num.Number(m.sd(3.13) * .5), RepeatabilityHigh: num.Number(m.sd(3.13) * 1.2),
		ReaderSD: n, ReaderLow: n, ReaderHigh: n, SessionSD: n, SessionLow: n, SessionHigh: n, VialSD: n, VialLow: n, VialHigh: n, LotSD: n, LotLow: n, LotHigh: n}
	if len(m.readers) > 1 {
		mf.Spread.VialSD, mf.Spread.VialLow, mf.Spread.VialHigh = num.Number(m.sd(3.13)*.4), 0, num.Number(m.sd(3.13)*.9)
		mf.Spread.ReaderSD, mf.Spread.ReaderLow, mf.Spread.ReaderHigh = .12, .02, .5
		for i, r := range m.readers {
			o := num.Number([]float64{.03, -.16, .13}[i])
			mf.Readers = append(mf.Readers, assess.Offset{Reader: r, Offset: o, Low: o - .11, High: o + .11})
		}
		mf.Techniques = []assess.TechniqueFinding{
			{From: "careless", To: "timed", Levels: []float64{6.14}, Apart: assess.Apart{Difference: -.06, Low: -.4, High: .28, Low90: -.34, High90: .22}, ByLevel: []assess.TechniqueAt{{Level: 6.14, Permitted: 1.2, Apart: assess.Apart{Difference: -.06, Low: -.4, High: .28, Low90: -.34, High90: .22}}}, Margin: 1.2, Verdict: assess.SameForNeed, SDRatio: .67, SDRatioLow: .5, SDRatioHi: .9},
			{From: "timed", To: "painstaking", Levels: []float64{6.14}, Apart: assess.Apart{Difference: n, Low: -1.4, High: 1.6, Low90: -1.3, High90: 1.4}, ByLevel: []assess.TechniqueAt{{Level: 6.14, Permitted: 1.2, Apart: assess.Apart{Difference: n, Low: -1.4, High: 1.6, Low90: -1.3, High90: 1.4}}}, Margin: 1.2, Verdict: assess.Undecided, SDRatio: .8, SDRatioLow: .4, SDRatioHi: 1.5},
			{From: "careless", To: "painstaking", Levels: []float64{6.14}, Apart: assess.Apart{Difference: 1.9, Low: 1.3, High: 2.5, Low90: 1.4, High90: 2.4}, ByLevel: []assess.TechniqueAt{{Level: 6.14, Permitted: 1.2, Apart: assess.Apart{Difference: 1.9, Low: 1.3, High: 2.5, Low90: 1.4, High90: 2.4}}}, Margin: 1.2, Verdict: assess.Different, SDRatio: n, SDRatioLow: n, SDRatioHi: n},
		}
	}
	mf.Line = assess.Line{Intercept: num.Number(m.mean(0)), InterceptSE: .07, Slope: num.Number((m.mean(top) - m.mean(start)) / (top - start)), SlopeSE: .013, LackOfFitP: .00042}
	mf.Shape = assess.Shape{Name: "line", Why: []note.Note{note.Told("the smallest shape that the levels do not contradict")}}
	if m.kind == knownwater.Display {
		mf.Shape = assess.Shape{Name: "dead zone", Why: []note.Note{note.Told("below about 2 the reading does not move; a line is contradicted (p < 0.001)")}, Parameters: []num.Number{2.4, .58, 1.8}}
	}
	for i := range 41 {
		x := unitSinh(float64(i)/40, .12, top)
		mf.Shape.At, mf.Shape.Mean = append(mf.Shape.At, x), append(mf.Shape.Mean, num.Number(m.mean(x)))
	}
	mf.Limits = assess.Limits{Critical: num.Number(2 * m.sd(0)), Detection: num.Number(4.2 * m.sd(0)), Quantification: num.Number(13 * m.sd(0))}
	if m.kind == knownwater.Drops {
		mf.Limits = assess.Limits{Critical: n, Detection: n, Quantification: n}
		mf.Notes = append(mf.Notes, note.Told("Limits: all blanks fell in the first drop, so nothing below one drop can be told apart."))
	}
	for _, l := range mf.Levels {
		step := 3.3 * m.sd(l.Level)
		s := assess.Step{At: l.Level, SmallestStep: num.Number(step), OtherReader: num.Number(step * 1.4)}
		if l.Level+step > top {
			s.SmallestStep, s.OtherReader = n, n
		}
		mf.Steps = append(mf.Steps, s)
		for _, h := range mf.Levels {
			if h.Level > l.Level {
				z := (m.mean(h.Level) - m.mean(l.Level)) / math.Hypot(m.sd(h.Level), m.sd(l.Level))
				p := .5 * math.Erfc(-z/math.Sqrt2)
				mf.Pairs = append(mf.Pairs, assess.Pair{Low: l.Level, High: h.Level, RightOrder: num.Number(p), Tie: num.Number((1 - p) / 2), TestsASide: num.Number(math.Ceil(2.7 / (z*z + .01))), RightOrderOthers: num.Number(p * .95), TieOthers: num.Number((1 - p) / 3)})
			}
		}
	}
	for _, need := range fakeNeeds {
		if need.Low < top && need.High > start {
			mf.Needs = append(mf.Needs, fakeNeed(m, need))
		}
	}
	fakeReadBack(mf, m, seen)
}

func unitSinh(p, c0, top float64) float64 { return c0 * math.Sinh(p*math.Asinh(top/c0)) }

func fakeNeed(m fakeMethod, need knownwater.Need) assess.NeedFinding {
	nf := assess.NeedFinding{Need: need.Name}
	worst := func(e float64, w *assess.ErrorWithin, at, permitted float64) {
		if !w.Permitted.OK() || w.Permitted == 0 || e/permitted > float64(w.Error95/w.Permitted) {
			*w = assess.ErrorWithin{WorstAt: num.Number(at), Error95: num.Number(e), Low: num.Number(e * .85), High: num.Number(e * 1.25), Permitted: num.Number(permitted)}
		}
	}
	for i := range 25 {
		c := need.Low + (need.High-need.Low)*float64(i)/24
		p := need.PermittedAt(c)
		bias := math.Abs(m.mean(c) - c)
		raw, corrected := bias+1.645*m.sd(c), 2*m.sd(c)/math.Max(.1, (m.mean(c+.1)-m.mean(c))/.1)
		worst(raw, &nf.Raw, c, p)
		worst(corrected, &nf.Corrected, c, p)
		nf.Along = append(nf.Along, assess.AlongNeed{At: c, Permitted: p, Raw: num.Number(raw), RawLow: num.Number(raw * .85), RawHigh: num.Number(raw * 1.25),
			Corrected: num.Number(corrected), CorrLow: num.Number(corrected * .85), CorrHigh: num.Number(corrected * 1.25)})
	}
	judge := func(e *assess.ErrorWithin) string {
		switch {
		case e.High <= e.Permitted:
			e.Verdict = assess.Fit
		case e.Low > e.Permitted:
			e.Verdict = assess.NotFit
		default:
			e.Verdict = assess.Undecided
		}
		return e.Verdict
	}
	a, b := judge(&nf.Raw), judge(&nf.Corrected)
	nf.MoreTests = num.None
	switch {
	case a == assess.Fit:
		nf.Verdict = assess.Fit
	case b == assess.Fit:
		nf.Verdict = assess.FitWhenCorrected
	case a == assess.NotFit && b == assess.NotFit:
		nf.Verdict = assess.NotFit
	default:
		nf.Verdict, nf.MoreTests = assess.Undecided, 17.2
		nf.Why = []note.Note{note.Told("The permitted error lies inside the interval at the worst place.")}
		nf.AtShare = []note.Note{note.Told("With an at-share of 0.5 instead of 0.25 it would be not fit.")}
	}
	return nf
}

func fakeReadBack(mf *assess.MethodFinding, m fakeMethod, seen map[string]interval.Interval) {
	texts := make([]string, 0, len(seen))
	for s := range seen {
		texts = append(texts, s)
	}
	sort.Slice(texts, func(i, j int) bool {
		if seen[texts[i]].High != seen[texts[j]].High {
			return seen[texts[i]].High < seen[texts[j]].High
		}
		return texts[i] < texts[j]
	})
	below, above := "below", "above"
	for _, s := range texts {
		on := seen[s]
		slope := float64(mf.Line.Slope)
		turn := func(y float64) num.Number {
			return num.Number(math.Max(0, (y-float64(mf.Line.Intercept))/slope))
		}
		rb := assess.ReadBack{Reading: s, Level: turn(on.Mid()), Low: turn(on.Low - 1.5*m.sd(on.Low)), High: turn(on.High + 1.5*m.sd(on.High))}
		switch {
		case on.OpenBelow():
			rb.Level, rb.Low, rb.High, rb.Open = num.None, num.None, turn(on.High+m.sd(on.High)), &below
		case on.OpenAbove():
			rb.Level, rb.High, rb.Low, rb.Open = num.None, num.None, turn(on.Low-m.sd(on.Low)), &above
		case m.kind == knownwater.Display && on.Mid() < 2.6:
			rb.Level, rb.Low, rb.High, rb.Parts = num.None, 0, 2.7, [][2]num.Number{{0, 1.1}, {1.6, 2.7}}
		}
		mf.ReadBack = append(mf.ReadBack, rb)
	}
}
