package assess

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// τ of a reader who was not tried, given effects that are known, against its density summed up on another grid: the share of the
// draws below places of it, and that it is wider than the posterior's wherever readers lie apart.
func TestAnyReaderAgainstItsDensity(t *testing.T) {
	for _, a := range [][]float64{{-1.4, 1.4}, {0.05, -0.05}, {-3, 1, 2}, {0.5, -0.2, 0.1, -0.4}} {
		n, square, mean := float64(len(a)), 0.0, num.Mean(a)
		effect := make([][]float64, len(a))
		for j, v := range a {
			square += (v - mean) * (v - mean)
			for range 2000 {
				effect[j] = append(effect[j], v)
			}
		}
		several := readersAnew(effect, make([]float64, 2000), 1, readerDF, severalReaders)
		got := readersAnew(effect, make([]float64, 2000), 1, readerDF, 1)
		// in x = 1 ÷ (1 + τ), even steps
		density := func(x float64) float64 {
			tau := 1/x - 1
			return math.Pow(tau, 1-n) * math.Exp(-square/2/tau/tau) * math.Pow(1+tau*tau/readerDF, -(readerDF+1)/2) / x / x
		}
		const steps = 200000
		total := 0.0
		for i := range steps {
			total += density((float64(i) + 0.5) / steps)
		}
		for _, at := range []float64{0.1, 0.3, 1, 3, 10} {
			want := 0.0
			for i := range steps {
				if x := (float64(i) + 0.5) / steps; 1/x-1 < at {
					want += density(x) / total
				}
			}
			for _, by := range []*anyReader{got, several} {
				below := 0.0
				for _, v := range by.tau {
					if v < at*at {
						below += 1 / float64(len(by.tau))
					}
				}
				if math.Abs(below-want) > 4e-3 {
					t.Errorf("of %d readers at %v %.4f of the draws lie below %v, not %.4f", len(by.tau), a, below, at, want)
				}
			}
		}
	}
}

// Two readers of a display who differ by 2.8 repeatabilities: how far a third one's single reading reaches, against
// the mixture over τ worked out from what the two read on average, their scatter known.
func TestWhatAThirdReaderReads(t *testing.T) {
	rng := num.Source(41)
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	m := knownwater.Method{Name: "M", Kind: knownwater.Display, Resolution: 0.01}
	tr := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{m}}
	const each, sd, off = 5, 0.3, 1.4
	levels := []float64{0, 4, 8, 12, 16, 20}
	for _, c := range levels {
		for r, habit := range []float64{-off, off} {
			for v := range each {
				text := reading.Show(c+5+sd*(habit+rng.NormFloat64()), m)
				seen, err := reading.Understand(text, m)
				if err != nil {
					t.Fatal(err)
				}
				tr.Observations = append(tr.Observations, knownwater.Observation{Method: m.Name, Level: c, Text: text, Seen: seen, Dilution: 1,
					Reader: fmt.Sprint("R", r), Count: 1, Vial: fmt.Sprint(c, r, v), Row: len(tr.Observations) + 2})
			}
		}
	}
	p, err := PerformanceOf(tr, "M", "", Options{})
	if err != nil {
		t.Fatal(err)
	}
	o, err := p.Read(result.Question{Readings: []string{"15.00"}})
	if err != nil {
		t.Fatal(err)
	}
	error2, square := 1/float64(each*len(levels)), 2*off*off
	var weight, spread []float64
	total := 0.0
	for x := -6.0; x < 9; x += 0.02 {
		tau := math.Exp(x)
		v := tau*tau + error2
		w := tau * math.Exp(-square/2/v) / math.Sqrt(v) * math.Pow(1+tau*tau/readerDF, -(readerDF+1)/2)
		weight, spread, total = append(weight, w), append(spread, math.Sqrt(tau*tau+v/2+1)), total+w
	}
	low, high := 0.0, 100.0
	for range 60 {
		mid, p := (low+high)/2, 0.0
		for i, w := range weight {
			p += w / total * num.Phi(mid/spread[i])
		}
		if p < 0.975 {
			low = mid
		} else {
			high = mid
		}
	}
	if want := 2 * high * sd; math.Abs((o.Result.High-o.Result.Low)/want-1) > 0.15 {
		t.Errorf("a reading by one who was not tried leaves %.2f to %.2f open, %.2f in all, not about %.2f", o.Result.Low, o.Result.High, o.Result.High-o.Result.Low, want)
	}
}
