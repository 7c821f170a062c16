package assess

import (
	"math"
	"strconv"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
)

// NitriteFinding is what a test of nitrate shows for nitrite: 1 mg/L of nitrite (as NO2) is read as Factor
// mg/L more nitrate, with its 95 % limits and standard uncertainty, by N readings of knowns that hold
// a known amount of nitrite. Left are readings beyond what the trial tried, which say nothing.
type NitriteFinding struct {
	Method string     `json:"method"`
	Factor num.Number `json:"factor"`
	Low    num.Number `json:"low"`
	High   num.Number `json:"high"`
	U      num.Number `json:"u"`
	N      int        `json:"n"`
	Left   int        `json:"left"`
}

// nitrite finds the factor by the trial's own record: each reading y of a known of nitrate c with nitrite n says
// a(y) − c = f·n, a(y) the concentration whose mean reading is y. By weighted least squares through 0,
//
//	f = Σ w n (a − c) / Σ w n²,  w = 1/(σ(a)² + width²/12),
//
// u² = max(1, χ²/ν)/Σ w n² + the record's shared doubt (by its draws) + what the knowns share (all of u(c) and u(n) is taken
// to be shared). A. C. Aitken 1935 for the weights. Nitrate and the result are in the trial's unit, nitrite in mg/L NO2.
func (p *Performance) nitrite(list []knownwater.WithNitrite) *NitriteFinding {
	f := &NitriteFinding{Method: p.Method.Name, Factor: num.None, Low: num.None, High: num.None, U: num.None}
	type term struct{ n, more, w float64 }
	var terms []term
	var sum, top, uLevel, uNitrite float64
	shared := make([]float64, WayDraws)
	count := 0
	for _, o := range list {
		if o.Method != p.Method.Name || !(o.Nitrite > 0) {
			continue
		}
		way := p.Way(o.Reader, o.Lot, o.Dilution)
		seen := o.On()
		low, high := way.Level(seen.Low), way.Level(seen.High)
		_, most := way.Range()
		a := (low + high) / 2
		if o.Seen.OpenAbove() || o.Seen.OpenBelow() || !(a <= most) {
			f.Left += o.Count
			continue
		}
		own := way.Own(a)
		w := 1 / (own*own + (high-low)*(high-low)/12)
		for range o.Count {
			terms = append(terms, term{o.Nitrite, a - o.Level, w})
			way.Shared(a, w*o.Nitrite, shared)
			top, sum = top+w*o.Nitrite*(a-o.Level), sum+w*o.Nitrite*o.Nitrite
			uLevel, uNitrite = uLevel+w*o.Nitrite*o.ULevel, uNitrite+w*o.Nitrite*o.UNitrite
			count++
		}
	}
	if f.N = count; count == 0 {
		return f
	}
	factor := top / sum
	misfit := 0.0
	for _, x := range terms {
		misfit += x.w * (x.more - factor*x.n) * (x.more - factor*x.n)
	}
	square := 1 / sum
	if df := float64(count - 1); df >= 2 {
		square *= math.Max(1, misfit/df)
	}
	for _, e := range shared {
		square += e * e / (sum * sum) / WayDraws
	}
	square += (uLevel*uLevel + factor*factor*uNitrite*uNitrite) / (sum * sum)
	u := math.Sqrt(square)
	f.Factor, f.U = num.Number(math.Max(0, factor)), num.Number(u)
	f.Low, f.High = num.Number(math.Max(0, factor-num.Z95*u)), num.Number(math.Max(0, factor+num.Z95*u))
	return f
}

// nitrites are the factors of a trial's methods, and say them among the trial's notes.
func nitrites(t knownwater.Trial, studies []*study, f *Findings) {
	done := map[string]bool{}
	for _, o := range t.Nitrite {
		if done[o.Method] {
			continue
		}
		done[o.Method] = true
		p := &Performance{Scale: t.Scale}
		for _, st := range studies {
			if st.method.Name == o.Method && st.rec != nil {
				p.Method = st.method
				p.branches = append(p.branches, &branch{dilution: st.dilution, work: func() *study { return st }})
			}
		}
		if p.branches == nil {
			continue // its own notes say that it shows no response
		}
		found := p.nitrite(t.Nitrite)
		f.Nitrite = append(f.Nitrite, *found)
		f.Notes = append(f.Notes, found.note())
	}
}

func (f NitriteFinding) note() note.Note {
	if f.N == 0 {
		return note.New("nitrite-beyond").Name("method", f.Method).Number("left", float64(f.Left))
	}
	return note.New("nitrite-factor").Name("method", f.Method).Number("factor", two(f.Factor)).Number("limits", two(f.Low), two(f.High)).Number("n", float64(f.N))
}

// two are the two digits that a sentence has.
func two[T ~float64](v T) float64 {
	x, _ := strconv.ParseFloat(strconv.FormatFloat(float64(v), 'g', 2, 64), 64)
	return x
}

// usualNitrite is what waters of tanks hold as a rule, mg/L NO2: common practice, no source.
const usualNitrite = 0.1

// NitritePart is what nitrite of n mg/L (standard uncertainty u) makes this method read too much: a
// nitrate concentration, and the standard uncertainties of it by the nitrite and by the factor. Not ok: the trial says
// nothing of nitrite.
func (p *Performance) NitritePart(n, u float64) (reads, byNitrite, byFactor float64, ok bool) {
	if p.Nitrite == nil || p.Nitrite.N == 0 {
		return 0, 0, 0, false
	}
	return float64(p.Nitrite.Factor) * n, float64(p.Nitrite.Factor) * u, float64(p.Nitrite.U) * n, true
}

// nitriteNotes say what nitrite did to an answer, or may have done. u is the answer's standard uncertainty.
func (p *Performance) nitriteNotes(known bool, n, u float64) []note.Note {
	usual, _, _, ok := p.NitritePart(usualNitrite, 0)
	switch {
	case known && !ok && n > 0:
		return []note.Note{note.New("nitrite-not-tried").Name("method", p.Method.Name).Number("nitrite", n)}
	case known && ok:
		reads, byNitrite, byFactor, _ := p.NitritePart(n, u)
		return []note.Note{note.New("nitrite-taken-off").Name("method", p.Method.Name).Number("nitrite", n).Number("reads", two(reads)).Number("u", two(math.Hypot(byNitrite, byFactor)))}
	case !known && ok && float64(p.Nitrite.Low) > 0:
		return []note.Note{note.New("nitrite-not-stated").Name("method", p.Method.Name).Number("usual", usualNitrite).Number("reads", two(usual))}
	}
	return nil
}

// NitriteOfStep is what nitrite does to a step of a counter card, which takes nothing off, holding no draws: factor
// and its lower limit are those of the card's method, NaN where its trial says nothing of nitrite.
func NitriteOfStep(q result.Question, method string, factor, low float64) []note.Note {
	switch {
	case q.NitriteKnown && q.Nitrite > 0 && math.IsNaN(factor):
		return []note.Note{note.New("nitrite-not-tried").Name("method", method).Number("nitrite", q.Nitrite)}
	case q.NitriteKnown && q.Nitrite > 0:
		return []note.Note{note.New("nitrite-by-card").Name("method", method).Number("nitrite", q.Nitrite).Number("reads", two(factor*q.Nitrite))}
	case !q.NitriteKnown && low > 0:
		return []note.Note{note.New("nitrite-not-stated").Name("method", method).Number("usual", usualNitrite).Number("reads", two(factor*usualNitrite))}
	}
	return nil
}

// lessNitrite is what to take off in each draw of a record: the factor and the nitrite drawn
// independently of it, never below 0. The factor is drawn about what the readings gave, below 0 too (which its upper limit tells): drawn about
// the 0 that is printed, half of the draws would take something off where nothing is read.
func (p *Performance) lessNitrite(n, u float64) func(draw int) float64 {
	if p.Nitrite == nil || p.Nitrite.N == 0 || !(n > 0 || u > 0) {
		return nil
	}
	const many = 1024
	factor := float64(p.Nitrite.High) - num.Z95*float64(p.Nitrite.U)
	if p.Nitrite.High == 0 {
		factor = math.Inf(-1)
	}
	rng := num.Source(77)
	less := make([]float64, many)
	first, second := rng.Perm(many), rng.Perm(many)
	for i := range less {
		z := func(k int) float64 { return num.PhiInv((float64(k) + 0.5) / many) }
		less[i] = math.Max(0, factor+float64(p.Nitrite.U)*z(first[i])) * math.Max(0, n+u*z(second[i]))
	}
	return func(draw int) float64 { return less[draw%many] }
}
