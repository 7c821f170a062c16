package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"knownwater"
	"knownwater/intake"
	"knownwater/science/assess"
)

const methods = `analyte = "nitrate"
unit = "mg/L"
basis = "NO3"

[[method]]
name = "Sandpiper tint card"
kind = "chart"
swatches = [0, 3, 6, 12, 20, 35, 70]
`

// readings are a file in memory; one too large for that is on disk.
func readings(t testing.TB, rows int) intake.Source {
	t.Helper()
	if rows > 1_000_000 {
		return onDisk(t, rows)
	}
	var b bytes.Buffer
	if err := write(&b, rows); err != nil {
		t.Fatal(err)
	}
	return intake.Source{Name: "readings.csv", Data: b.Bytes()}
}

func onDisk(t testing.TB, rows int) intake.Source {
	t.Helper()
	f, err := os.Create(filepath.Join(t.TempDir(), "readings.csv"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	if err := write(f, rows); err != nil {
		t.Fatal(err)
	}
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	return intake.Source{Name: "readings.csv", File: f, Size: info.Size()}
}

func trial(t testing.TB, src intake.Source) knownwater.Trial {
	t.Helper()
	tr, err := intake.Trial(src, intake.Source{Name: "methods.toml", Data: []byte(methods)}, intake.Source{})
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// The file is as long as promised, the same each time, and says what it was made of.
func TestMillion(t *testing.T) {
	src := readings(t, 40_000)
	if n := float64(len(src.Data)) / 40_000; !(math.Abs(n-42) <= 1) {
		t.Errorf("%.1f bytes a row, want 42", n)
	}
	if !bytes.Equal(src.Data, readings(t, 40_000).Data) {
		t.Error("the same rows come out differently")
	}
	m := assess.Run(trial(t, src), assess.Options{Seed: 1}).Methods[0]
	if m.N != 40_000 || !(math.Abs(float64(m.Line.Slope)-slope) <= 0.06) || !(math.Abs(float64(m.Spread.Kappa)-math.Hypot(share, apart)) <= 0.02) {
		t.Errorf("%d readings, slope %v, kappa %v; made with slope %v and a spread of %v", m.N, m.Line.Slope, m.Spread.Kappa, slope, math.Hypot(share, apart))
	}
}

// A million rows are no more cells than ten thousand: the estimation must not notice.
func TestCellsNotReadings(t *testing.T) {
	few, many := trial(t, readings(t, 20_000)), trial(t, readings(t, 400_000))
	if n, m := len(few.Observations), len(many.Observations); m > 2*n {
		t.Errorf("20 thousand rows make %d cells, 400 thousand %d", n, m)
	}
}

var sizes = []int{1000, 10_000, 100_000, 1_000_000, 10_000_000}

func BenchmarkRead(b *testing.B) {
	for _, n := range sizes {
		src := readings(b, n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.SetBytes(max(int64(len(src.Data)), src.Size))
			for b.Loop() {
				trial(b, src)
			}
		})
		runtime.GC()
	}
}

func BenchmarkAssess(b *testing.B) {
	for _, n := range sizes[:4] { // the cells of more are the same
		tr := trial(b, readings(b, n))
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				assess.Run(tr, assess.Options{Seed: 1})
			}
		})
	}
}
