// Package scan chooses a wavelength: from spectra of a blank, knowns and what disturbs.
package scan

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Spectra are absorbances of vials over one set of wavelengths.
type Spectra struct {
	Wavelength []float64 // nm, rising
	Vials      []Vial
}

// Vial is one spectrum: of a known, or of an interferent alone at an amount that
// may well occur.
type Vial struct {
	Name        string
	Level       float64
	Interferent bool
	Absorbance  []float64 // NaN where it was not measured
}

// Band is what one wavelength, or a source around it, would give.
type Band struct {
	Wavelength  float64
	Width       float64 // full width at half maximum; 0: the spectrometer's own
	Slope       float64 // absorbance per concentration, of a line through the knowns
	Noise       float64 // standard deviation of one vial; NaN without replicates
	Sharpness   float64 // Slope/Noise, per concentration
	Bend        float64 // how far the curve falls short of its first slope at the top, as a share
	BendLow     float64 // … and where that lies, 95 %; infinite where as many vials as a parabola takes are all
	BendHigh    float64
	Straight    float64 // p-value of a line against replicates; NaN without
	Interferent string  // the worst one
	Interfering float64 // its apparent concentration

	hidden float64 // how many times what one vial scatters by an interferent has to be to show
}

// Choice is that of a wavelength.
type Choice struct {
	Bands []Band // one a wavelength
	Best  Band
	Wide  []Band // sources of 20, 30 and 40 nm about the best
	Notes []note.Note
}

const (
	nearBest = 0.9 // of the best slope against noise: among such wavelengths other things decide

	// StraightWithin is the share by which a curve may fall short at the top and
	// still count as straight.
	StraightWithin = 0.05
)

// widths of single-colour sources in nm, full width at half maximum.
var widths = []float64{20, 30, 40}

// Choose looks at every wavelength: the slope of a line through the knowns
// against the scatter of one vial (pooled inside levels and over ±15 nm; of the
// residuals where nothing was measured twice), how far the curve bends, and what the interferents
// would be taken for. Of the wavelengths whose slope against noise is at least
// 90 % of the best, those that are not shown to bend by 5 % and more come first, and of these the one
// with the least interference; where none stands out of what vials scatter by, the
// sharpest. A wider source
// weighs transmittance, not absorbance, over its band:
//
//	A = −log10(Σ S(λ)·10^(−A(λ)) / Σ S(λ)),  S a normal curve of that width,
//
// which lowers the slope and bends the curve. (Choice of thresholds: common
// practice, no source.)
func Choose(s Spectra) (Choice, error) {
	if faults := s.faults(); faults != nil {
		return Choice{}, faults
	}
	out := Choice{}
	for i, nm := range s.Wavelength {
		if b, ok := s.band(nm, 0, func(v Vial) float64 { return v.Absorbance[i] }); ok {
			out.Bands = append(out.Bands, b)
		}
	}
	steady(out.Bands)
	if len(out.Bands) == 0 {
		return Choice{}, fault("at no wavelength do the knowns' absorbances rise with their level", "spectra of a blank and knowns; look whether the columns are absorbances")
	}
	return out.about(s, bestBand(out.Bands)), nil
}

// about is the scan with a wavelength chosen.
func (s Choice) about(spectra Spectra, b Band) Choice {
	s.Best, s.Wide, s.Notes = b, nil, nil
	for _, w := range widths {
		if b, ok := spectra.wide(b.Wavelength, w); ok {
			s.Wide = append(s.Wide, b)
		} else {
			s.Notes = append(s.Notes, note.New("source-beyond-spectra").Number("width", w))
		}
	}
	return s
}

// At is a scan of spectra with another wavelength in the place of the best; false where
// the knowns' absorbances do not rise there or it was not measured.
func (s Choice) At(spectra Spectra, nm float64) (Choice, bool) {
	for _, b := range s.Bands {
		if b.Wavelength == nm {
			return s.about(spectra, b), true
		}
	}
	return s, false
}

// Good are the wavelengths among which the best was chosen: their slope against
// noise is at least 90 % of the largest.
func (s Choice) Good() []Band { return goodBands(s.Bands) }

func (s Spectra) faults() error {
	levels := map[float64]bool{}
	for _, v := range s.Vials {
		if !v.Interferent {
			levels[v.Level] = true
		}
	}
	switch {
	case len(levels) < 3:
		return fault("knowns at %d levels", "a blank and knowns at two levels or more, so that a bend can show", len(levels))
	case len(s.Wavelength) < 3:
		return fault("%d wavelengths", "three or more", len(s.Wavelength))
	}
	return nil
}

// band sums one wavelength up; not ok where the signal does not rise or is missing.
func (s Spectra) band(nm, width float64, of func(Vial) float64) (Band, bool) {
	var level, signal []float64
	for _, v := range s.Vials {
		a := of(v)
		if v.Interferent || math.IsNaN(a) || math.IsInf(a, 0) {
			continue
		}
		level, signal = append(level, v.Level), append(signal, a)
	}
	distinct, pure := replicates(level, signal)
	if distinct < 3 {
		return Band{}, false
	}
	line, err := num.Polynomial(level, signal, nil, 1)
	if err != nil || !(line.Coef[1] > 0) {
		return Band{}, false
	}
	b := Band{Wavelength: nm, Width: width, Slope: line.Coef[1], Noise: line.SD, Straight: math.NaN()}
	if nu := float64(len(level) - distinct); nu > 0 {
		b.Noise = math.Sqrt(pure / nu)
		if over := float64(distinct - 2); pure > 0 && over > 0 {
			b.Straight = num.FSurvival((line.ANOVA.ResidualSS-pure)/over/(pure/nu), over, nu)
		}
	}
	b.Sharpness = b.Slope / b.Noise
	b.Bend, b.BendLow, b.BendHigh = bend(level, signal)
	df := line.DF
	if nu := len(level) - distinct; nu > 0 {
		df = nu
	}
	b.hidden = num.TQuantile(0.975, float64(df)) * math.Sqrt(1+line.Unscaled[0][0])
	base := line.Coef[0]
	for _, v := range s.Vials {
		if !v.Interferent {
			continue
		}
		if c := (of(v) - base) / b.Slope; math.Abs(c) > math.Abs(b.Interfering) {
			b.Interferent, b.Interfering = v.Name, c
		}
	}
	return b, true
}

// steadyOver is how far about a wavelength, in nm, scatter is averaged.
const steadyOver = 15

// steady replaces the scatter at each wavelength by the root mean square of those
// around it: a handful of replicates at one wavelength would let luck choose.
func steady(bands []Band) {
	raw := make([]float64, len(bands))
	for i, b := range bands {
		raw[i] = b.Noise
	}
	for i := range bands {
		sum, n := 0.0, 0.0
		for j := range bands {
			if math.Abs(bands[j].Wavelength-bands[i].Wavelength) <= steadyOver && raw[j] >= 0 {
				sum += raw[j] * raw[j]
				n++
			}
		}
		if n > 0 {
			bands[i].Noise = math.Sqrt(sum / n)
			bands[i].Sharpness = bands[i].Slope / bands[i].Noise
		}
	}
}

// replicates are the number of different levels, and the scatter inside them.
func replicates(level, signal []float64) (distinct int, pure float64) {
	of := map[float64][]float64{}
	var order []float64
	for i, c := range level {
		if of[c] == nil {
			order = append(order, c)
		}
		of[c] = append(of[c], signal[i])
	}
	for _, c := range order {
		mean := num.Mean(of[c])
		for _, y := range of[c] {
			pure += (y - mean) * (y - mean)
		}
	}
	return len(order), pure
}

// bend is how far the rise to the top falls short of the first slope, by a quadratic q,
//
//	1 − (q₁·(t − l) + q₂·(t² − l²)) / ((q₁ + 2·q₂·l)·(t − l)) = −q₂·(t − l)/(q₁ + 2·q₂·l),
//
// and where it lies, 95 %, by Student's t of the residuals, of first order. Limits are the further ones of vials that scatter the same at every
// level and of those that do in proportion to it, which a few do not tell: of these the highest alone looks like a bend.
func bend(level, signal []float64) (value, low, high float64) {
	value, low, high = math.NaN(), math.Inf(1), math.Inf(-1)
	least, top := slices.Min(level), slices.Max(level)
	for _, growing := range []bool{false, true} {
		var weights []float64
		for _, c := range level {
			if growing {
				by := math.Max((c-least)/(top-least), leastScatter)
				weights = append(weights, 1/(by*by))
			}
		}
		q, err := num.Polynomial(level, signal, weights, 2)
		if err != nil {
			return math.NaN(), math.Inf(-1), math.Inf(1)
		}
		first := q.Coef[1] + 2*q.Coef[2]*least
		is := -q.Coef[2] * (top - least) / first
		if !growing {
			value = is
		}
		if q.DF < 1 {
			return value, math.Inf(-1), math.Inf(1)
		}
		g := []float64{0, -is / first, -(top-least)/first - is*2*least/first} // of is, by the coefficients
		half := num.TQuantile(0.975, float64(q.DF)) * math.Sqrt(num.Bilinear(g, q.Cov, g))
		low, high = math.Min(low, is-half), math.Max(high, is+half)
	}
	return value, low, high
}

// leastScatter is the share of what the highest vial scatters by that any does at least.
const leastScatter = 0.05

// Bends says whether a bend shows at all.
func (b Band) Bends() bool { return b.BendLow > 0 || b.BendHigh < 0 }

// straight says whether no bend shows that counts.
func (b Band) straight() bool { return !b.Bends() || math.Abs(b.Bend) < StraightWithin }

// Disturbs says whether what the worst interferent adds shows beside what one vial scatters by.
func (b Band) Disturbs() bool { return b.Interferent != "" && b.disturbed() != 0 }

func goodBands(all []Band) (good []Band) {
	most := 0.0
	for _, b := range all {
		if v := b.Strength(); v > most {
			most = v
		}
	}
	for _, b := range all {
		if !(b.Strength() < nearBest*most) {
			good = append(good, b)
		}
	}
	return good
}

// bestBand chooses by slope against noise, then straightness, then interference.
func bestBand(all []Band) Band {
	good := goodBands(all)
	best := good[0]
	for _, b := range good[1:] {
		if b.before(best) {
			best = b
		}
	}
	return best
}

// Strength is slope against noise; the slope alone where no scatter is known.
func (b Band) Strength() float64 {
	if b.Noise > 0 {
		return b.Sharpness
	}
	return b.Slope
}

func (b Band) before(a Band) bool {
	if b.straight() != a.straight() {
		return b.straight()
	}
	if ib, ia := b.disturbed(), a.disturbed(); math.Abs(ib-ia) > 0.05*math.Max(ia, ib) {
		return ib < ia
	}
	return b.Strength() > a.Strength()
}

// disturbed is the interference, none where what one vial and the knowns scatter by may be all of it (5 %).
func (b Band) disturbed() float64 {
	if v := math.Abs(b.Interfering); !(v < b.hidden*b.Noise/b.Slope) {
		return v
	}
	return 0
}

// wide is a source of some width about a wavelength.
func (s Spectra) wide(nm, width float64) (Band, bool) {
	sigma := width / (2 * math.Sqrt(2*math.Ln2))
	if nm-width < s.Wavelength[0] || nm+width > s.Wavelength[len(s.Wavelength)-1] {
		return Band{}, false
	}
	return s.band(nm, width, func(v Vial) float64 {
		var light, all num.Sum
		for i, l := range s.Wavelength {
			z := (l - nm) / sigma
			if math.Abs(z) > 4 || math.IsNaN(v.Absorbance[i]) {
				continue
			}
			w := math.Exp(-z*z/2) * s.spacing(i)
			all.Add(w)
			light.AddProduct(w, math.Pow(10, -v.Absorbance[i]))
		}
		return -math.Log10(light.Value() / all.Value())
	})
}

// spacing is the width of wavelength that point i stands for.
func (s Spectra) spacing(i int) float64 {
	a, b := max(0, i-1), min(len(s.Wavelength)-1, i+1)
	return (s.Wavelength[b] - s.Wavelength[a]) / float64(b-a)
}

// Why the wavelength at which the signal rises most against its scatter was not taken.
const (
	BentThere      = "bent"
	DisturbedThere = "disturbed"
)

// Sharper is the wavelength with the best slope against scatter, where it was not taken
// because it bends or because something else absorbs there; why is empty where it was, or
// for no such reason.
func (s Choice) Sharper() (sharp Band, why string) {
	sharp = s.Bands[0]
	for _, b := range s.Bands {
		if b.Strength() > sharp.Strength() {
			sharp = b
		}
	}
	switch b := s.Best; {
	case sharp.Wavelength == b.Wavelength || sharp.before(b):
	case !sharp.straight() && b.straight():
		why = BentThere
	case sharp.Disturbs():
		why = DisturbedThere
	}
	return sharp, why
}

func fault(found, want string, values ...any) knownwater.Faults {
	return knownwater.Faults{knownwater.Fault{Found: found, Want: want}.Of(values...)}
}
