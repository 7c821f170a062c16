package known

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Addition is one reading of the matrix with a known amount of analyte added
// (0 for the plain matrix), both on one scale.
type Addition struct {
	Added   float64
	Reading interval.Interval
}

// Background is what standard additions say about the matrix.
type Background struct {
	Value, U  float64
	Degrees   float64
	Low, High float64 // 95 %, by the method of Fieller: the set of backgrounds that the line does not contradict
	Slope     float64 // reading per added amount: 1 for a method without bias
	USlope    float64
	BentP     float64 // that a straight line bends as much by scatter alone; NaN where fewer than three additions and four readings are
	N         int
	Notes     []note.Note
}

// Additions estimates the background from readings at several additions.
//
// The response is taken as a straight line through what the water holds:
// reading = zero + slope·(background + added), so with intercept a and slope b
// of the fitted line the background is (a − zero)/b. zero is what the method
// reads in pure water without analyte (with its u); it cannot be told from the
// background by additions alone, so if unknown the result is "background plus
// the method's own blank" and the notes say so.
//
//	u² = [u²(a) + u²(zero) + x²·u²(b) + 2x·cov(a,b)] / b²,  x = background,
//
// equal to (s/b)·√(1/n + ȳ²/(b²·Sxx)) for exact readings and zero = 0, n − 2
// degrees of freedom (Miller & Miller, ch. 5). Interval readings enter by the
// likelihood that a normal spread falls into them (see lineThrough); their
// limits are those of its curvature with the same t.
//
// At least two different additions and three readings are needed, and a slope
// that differs from 0; otherwise Value is NaN and the notes say what is missing. So it is
// where the readings bend (5 %, by Student's t of a parabola's third coefficient): a line through
// them is drawn out too far. One that does not show may be there all the same, and a note says so.
func Additions(readings []Addition, zero, uZero float64) Background {
	out := Background{Value: math.NaN(), U: math.NaN(), Low: math.NaN(), High: math.NaN(), Slope: math.NaN(), USlope: math.NaN(), BentP: math.NaN(), N: len(readings)}
	levels := map[float64]bool{}
	for _, r := range readings {
		levels[r.Added] = true
	}
	if len(readings) < 3 || len(levels) < 2 {
		out.Notes = []note.Note{note.New("few-additions").Number("readings", float64(len(readings))).Number("additions", float64(len(levels)))}
		return out
	}
	fitted, ok := through(readings, 1, nil)
	if !ok {
		out.Notes = []note.Note{note.New("additions-too-coarse")}
		return out
	}
	line := line{fitted.coef[0], fitted.coef[1], fitted.cov[0][0], fitted.cov[1][1], fitted.cov[0][1]}
	out.Degrees = float64(len(readings) - 2)
	t := num.TQuantile(0.975, out.Degrees)
	out.Slope, out.USlope = line.b, math.Sqrt(line.vbb)
	if !(math.Abs(line.b) > t*out.USlope) {
		out.Notes = []note.Note{note.New("additions-do-not-show")}
		return out
	}
	if out.BentP = bends(readings, len(levels), line); out.BentP < bent {
		out.Notes = []note.Note{note.New("additions-bent").Number("p", out.BentP)}
		return out
	}
	x := (line.a - zero) / line.b
	va := line.vaa + uZero*uZero
	out.Value = x
	out.U = math.Sqrt(va+x*x*line.vbb-2*x*line.vab) / math.Abs(line.b)
	out.Low, out.High = fieller(line.a-zero, line.b, va, line.vbb, line.vab, t)
	out.Notes = additionNotes(out, zero, uZero)
	return out
}

func additionNotes(b Background, zero, uZero float64) []note.Note {
	notes := []note.Note{note.New("additions-as-straight")}
	switch {
	case uZero > 0:
	case zero == 0:
		notes = append(notes, note.New("blank-in-background"))
	default:
		notes = append(notes, note.New("zero-taken-as-exact"))
	}
	if b.Slope < 0.8 || b.Slope > 1.25 {
		notes = append(notes, note.New("method-finds-share").Number("share", b.Slope))
	}
	if b.Low < 0 {
		notes = append(notes, note.New("background-may-be-none"))
	}
	return notes
}

// fieller is the set of ratios a/b that t allows: (a − x·b)² ≤ t²·var(a − x·b).
// It is called only where b differs from 0, so the set is one interval.
func fieller(a, b, vaa, vbb, vab, t float64) (low, high float64) {
	g := b*b - t*t*vbb
	mid := (a*b - t*t*vab) / g
	half := math.Sqrt(math.Max(0, mid*mid-(a*a-t*t*vaa)/g))
	return mid - half, mid + half
}

// bent is the p-value below which readings do not lie on a straight line.
const bent = 0.05

// line is a fitted line y = a + b·x with the covariance of its coefficients.
type line struct{ a, b, vaa, vbb, vab float64 }

// bends is the p-value of a parabola's third coefficient, two-sided; NaN where nothing is left to judge it by. Of answers that bend smoothly
// it finds more than a lack of fit to whatever shape does. It is the largest of those by readings that scatter the same everywhere, by the
// root of what they read and in proportion to it, as a few do not tell: where scatter grows the highest addition by itself looks like a bend.
func bends(readings []Addition, levels int, l line) float64 {
	df := float64(len(readings) - 3)
	if levels < 3 || df < 1 {
		return math.NaN()
	}
	most := math.NaN()
	for _, power := range []float64{0, 0.5, 1} {
		f, ok := through(readings, 2, l.scatters(readings, power))
		if !ok {
			continue
		}
		if p := 2 * num.TCDF(-math.Abs(f.coef[2])/math.Sqrt(f.cov[2][2]), df); !(p <= most) {
			most = p
		}
	}
	return most
}

// leastScatter is the share of what the highest reading scatters by that any does at least.
const leastScatter = 0.02

// scatters are how readings scatter, relative to one another, by a power of what the line has them read.
func (l line) scatters(readings []Addition, power float64) []float64 {
	out := make([]float64, len(readings))
	top := 0.0
	for i, r := range readings {
		out[i] = math.Abs(l.a + l.b*r.Added)
		top = math.Max(top, out[i])
	}
	for i, y := range out {
		out[i] = math.Pow(math.Max(y/top, leastScatter), power)
	}
	return out
}

// fitted are the coefficients of a polynomial and their covariance.
type fitted struct {
	coef []float64
	cov  [][]float64
}

// through fits a polynomial of a degree: by least squares where every reading is exact,
// else by the likelihood of intervals (num.Censored), whose covariance is
// widened by n/(n − p), p its coefficients, for the spread that few readings make too small. scatters (nil: all
// alike) are how readings scatter, relative to one another.
func through(readings []Addition, degree int, scatters []float64) (fitted, bool) {
	var x [][]float64
	var low, high []float64
	exact := true
	for i, r := range readings {
		by := 1.0
		if scatters != nil {
			by = 1 / scatters[i]
		}
		row := []float64{by}
		for range degree {
			row = append(row, row[len(row)-1]*r.Added)
		}
		x = append(x, row)
		low, high = append(low, r.Reading.Low*by), append(high, r.Reading.High*by)
		exact = exact && r.Reading.Low == r.Reading.High
	}
	if exact {
		f, err := num.LeastSquares(x, low, nil)
		return fitted{f.Coef, f.Cov}, err == nil
	}
	f, err := num.Censored(x, low, high, nil)
	if err != nil {
		return fitted{}, false
	}
	n := float64(len(readings))
	k := n / (n - float64(degree+1))
	for _, row := range f.Cov {
		for j := range row {
			row[j] *= k
		}
	}
	return fitted{f.Coef, f.Cov}, true
}
