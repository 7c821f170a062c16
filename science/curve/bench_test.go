package curve

import (
	"encoding/json"
	"math"
	"testing"

	"knownwater/science/num"
)

// bent are 24 absorbances of the demo's photometer: 1 % stray light over 0 to 12 mg/L.
func bent(seed uint64) []Point {
	r := num.Source(seed)
	var out []Point
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 8, 10, 12} {
		for range 3 {
			a := 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010)
			out = append(out, Point{Level: c, Signal: a + math.Hypot(0.004, 0.03*a)*r.NormFloat64(), Dilution: 1, Row: len(out) + 2})
		}
	}
	return out
}

// The need: 10,000 in under 20 s on two cores, that is 4 ms each on one.
func BenchmarkFitChoosing24(b *testing.B) {
	p := bent(1)
	for b.Loop() {
		if _, err := Fit(p, Options{Light: true}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	c := mustFit(b, bent(1), Options{Light: true})
	for b.Loop() {
		c.Read(Sample{Signals: []float64{0.5, 0.51}})
	}
}

// A fit, its judgement by every point and level, and its file: well under the 100 ms
// that a page may take.
func BenchmarkMake24(b *testing.B) {
	p := bent(1)
	for b.Loop() {
		d, err := Make(p, Options{Light: true}, Conversion{Kind: Absorbance}, Scope{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := json.Marshal(d.JSON(codes)); err != nil {
			b.Fatal(err)
		}
	}
}

// 10,000 fits of 24 points with full choice of shape, as the need is stated.
func BenchmarkTenThousandFits(b *testing.B) {
	for b.Loop() {
		done := make(chan bool)
		for part := range 2 {
			go func() {
				for i := part; i < 10_000; i += 2 {
					if _, err := Fit(bent(uint64(i)), Options{Light: true}); err != nil {
						b.Error(err)
					}
				}
				done <- true
			}()
		}
		<-done
		<-done
	}
}
