package known

import (
	"math"
	"math/rand/v2"

	"knownwater/science/errorpart"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// Standard is one solution with its value: what it holds, how sure that is,
// and why.
type Standard struct {
	Solution    Solution
	Value       errorpart.Value // on the shelf's scale
	U           float64         // standard uncertainty
	K           float64         // coverage factor for 95 %
	Low         float64         // 95 % interval by propagation
	High        float64
	UShared     float64            // the part that all standards share beside the background, for readings.csv
	UBackground float64            // the part that comes from the background of their water, likewise
	Salinity    float64            // practical salinity, by volumes
	Chain       []note.Note        // from the stock down
	Largest     note.Note          // the largest part of U
	Notes       []note.Note        // doubts
	Monte       *errorpart.Summary // Monte Carlo beside it, where asked for
}

// Set is everything that was made, with what the standards share.
type Set struct {
	Scale         unit.Scale
	Standards     []Standard // in order, intermediates left out
	Intermediates []Standard
	Covariance    [][]float64 // of the standards
	SharedMisfit  float64     // how far the correlations of the background and one shared error fall short of it
	SharedSurer   float64     // how many times as sure as they are these two tell a slope or an intercept, see surer
	StockUsed     map[string]float64
	MatrixUsed    float64
	Notes         []note.Note
}

// Evaluate gives every solution of a checked preparation its value and its
// error parts (law of propagation, JCGM 100; every device, stock and the
// background is one error wherever it was used).
func Evaluate(s Shelf, p Preparation) Set {
	set := valued(s, p)
	set.share()
	if set.SharedSurer > SurerToTell {
		set.Notes = append(set.Notes, note.New("more-than-two-shared").Number("times", set.SharedSurer))
	}
	return set
}

// valued is the set before it is asked what its standards share.
func valued(s Shelf, p Preparation) Set {
	m := build(s, p)
	values := errorpart.Propagate(m.inputs, m.concentrations(p))
	nominal := m.run(means(m.inputs))
	volumes := p.volumes(s)
	set := Set{Scale: s.Scale, StockUsed: p.used(volumes), MatrixUsed: p.matrixUsed(volumes)}
	var parts []errorpart.Parts
	for i, x := range p {
		st := standardOf(s, p, x, values[i], nominal[m.index[x.Name]])
		if !x.Standard {
			set.Intermediates = append(set.Intermediates, st)
			continue
		}
		set.Standards = append(set.Standards, st)
		parts = append(parts, st.Value.Parts)
	}
	set.Covariance = errorpart.CovarianceMatrix(parts)
	return set
}

// Simulate lays Monte Carlo (JCGM 101) beside every standard: n joint draws of
// all errors, from a seeded source. It shows where the first-order budget
// bends: a background that cannot be below 0, limits that are not normal.
func Simulate(s Shelf, p Preparation, set *Set, n int, r *rand.Rand) [][]float64 {
	m := build(s, p)
	draws := errorpart.Draws(m.inputs, m.concentrations(p), n, r)
	var kept [][]float64
	k := 0
	for i, x := range p {
		if !x.Standard {
			continue
		}
		f := scaleFactor(s, set.Standards[k].Salinity)
		for t := range draws[i] {
			draws[i][t] *= f
		}
		sum := errorpart.Summarise(draws[i])
		set.Standards[k].Monte = &sum
		set.Standards[k].Notes = append(set.Standards[k].Notes, bend(set.Standards[k], sum)...)
		kept = append(kept, draws[i])
		k++
	}
	return kept
}

// bend says where Monte Carlo and propagation part: an end of the interval off
// by more than half the last digit of u, u with one digit (JCGM 101, clause 8).
func bend(st Standard, sum errorpart.Summary) []note.Note {
	tolerance := 0.5 * math.Pow10(int(math.Floor(math.Log10(st.U))))
	if !(math.Max(math.Abs(sum.Low-st.Low), math.Abs(sum.High-st.High)) > tolerance) {
		return nil
	}
	return []note.Note{note.New("monte-carlo-differs").Number("limit", sum.Low, sum.High).Number("u", st.U)}
}

// concentrations is the model's output: c of every solution in mg/L.
func (m *model) concentrations(p Preparation) errorpart.Model {
	return func(x []float64) []float64 {
		made := m.run(x)
		out := make([]float64, len(p))
		for i, sol := range p {
			out[i] = made[m.index[sol.Name]].c
		}
		return out
	}
}

func means(inputs []errorpart.Input) []float64 {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	return x
}

// scaleFactor leads from mg/L to the shelf's scale in water of a salinity.
func scaleFactor(s Shelf, salinity float64) float64 {
	f, _ := unit.Factor(s.base(), s.Scale, unit.Water{Salinity: salinity, Temperature: s.Room.Temperature})
	return f
}

func standardOf(s Shelf, p Preparation, x Solution, v errorpart.Value, made state) Standard {
	salinity := s.Matrix.Salinity * made.matrix
	f := scaleFactor(s, salinity)
	st := Standard{Solution: x, Salinity: salinity, Value: errorpart.Value{Value: v.Value * f, Parts: v.Parts.Times(f)}}
	st.U = st.Value.U()
	st.K = num.TQuantile(0.975, st.Value.Parts.Degrees())
	st.Low, st.High = st.Value.Value-st.K*st.U, st.Value.Value+st.K*st.U
	st.Chain = p.chain(s, x)
	st.Largest = largest(st.Value.Parts)
	st.Notes = doubtsOf(s, x, st)
	return st
}

// doubtsOf are the notes on one solution.
func doubtsOf(s Shelf, x Solution, st Standard) []note.Note {
	var out []note.Note
	if cut := 1 - st.Salinity/s.Matrix.Salinity; s.Matrix.Salinity > 0 && x.Standard && cut > s.Limits.SalinityCut*1.0001 {
		out = append(out, note.New("salinity-cut").Number("cut", cut).Number("limit", s.Limits.SalinityCut))
	}
	if target := s.total(x); x.Standard && target > 0 && math.Abs(st.Value.Value/target-1) > s.Limits.LevelWithin*1.0001 {
		out = append(out, note.New("other-than-asked").Number("asked", x.Asked))
	}
	if st.U > 0.1*st.Value.Value && x.Standard && x.From != "" {
		out = append(out, note.New("standard-loose").Number("share", st.U/st.Value.Value).Since(st.Largest))
	}
	return out
}

// total is the level asked for as a total concentration on the shelf's scale.
func (s Shelf) total(x Solution) float64 {
	if s.Limits.Added && x.From != "" {
		return x.Asked + s.Matrix.Background
	}
	return x.Asked
}

// largest names the kind of error that makes up most of the variance.
func largest(ps errorpart.Parts) note.Note {
	by := ps.ByKind()
	if len(by) == 0 || by[0].U == 0 {
		return note.New("no-error-part")
	}
	return note.New("largest-part").Name("part", by[0].Kind).Number("share", by[0].Share)
}

// chain is how a solution comes from its stock.
func (p Preparation) chain(s Shelf, x Solution) []note.Note {
	if x.From == "" {
		return []note.Note{note.New("matrix-itself")}
	}
	var up []note.Note
	for _, y := range p {
		if y.Name == x.From {
			up = p.chain(s, y)
		}
	}
	if up == nil {
		up = []note.Note{note.New("from-stock").Name("stock", x.From)}
	}
	return append(up, note.New("made-up").Name("name", x.Name).Name("from", x.From).Since(s.amount(x.Take), s.whole(x.Make), s.liquid(x.In)))
}

// liquid is what a solution is made up with.
func (s Shelf) liquid(d Diluent) note.Note {
	switch {
	case d == InWater:
		return note.New("pure-water")
	case s.Matrix.Name != "":
		return note.New("named-water").Name("water", s.Matrix.Name)
	}
	return note.New("the-matrix")
}

// amount is what a device measures: drops, grams, or one or several deliveries.
func (s Shelf) amount(m Measure) note.Note {
	switch s.device(m.Device).Kind {
	case Dropper:
		return note.New("amount-drops").Number("drops", float64(m.Times)).Name("device", m.Device)
	case Scale:
		return note.New("amount-grams").Number("grams", m.Amount).Name("device", m.Device)
	}
	if m.Times > 1 {
		return note.New("amount-times").Number("times", float64(m.Times)).Number("volume", m.Amount).Name("device", m.Device)
	}
	return note.New("amount-once").Number("volume", m.Amount).Name("device", m.Device)
}

// whole is how much the finished solution is.
func (s Shelf) whole(m Measure) note.Note {
	if s.device(m.Device).Kind == Flask {
		return note.New("whole-to-mark").Name("device", m.Device)
	}
	return note.New("whole-in-grams").Number("grams", m.Amount).Name("device", m.Device)
}
