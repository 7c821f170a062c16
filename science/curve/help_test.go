package curve

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"knownwater/science/num"
)

// columns reads named columns of a CSV of testdata.
func columns(t testing.TB, file string, names ...string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(names))
	for j, name := range names {
		at := -1
		for i, h := range rows[0] {
			if h == name {
				at = i
			}
		}
		if at < 0 {
			t.Fatalf("%s has no column %s", file, name)
		}
		for _, row := range rows[1:] {
			v, err := strconv.ParseFloat(row[at], 64)
			if err != nil {
				t.Fatal(err)
			}
			out[j] = append(out[j], v)
		}
	}
	return out
}

// newSource is a seeded stream.
func newSource(seed uint64) *rand.Rand { return num.Source(seed) }

func pointsOf(x, y []float64) (out []Point) {
	for i := range x {
		out = append(out, Point{Level: x[i], Signal: y[i], Dilution: 1, Row: i + 2})
	}
	return out
}

func pointsFrom(t testing.TB, file, x, y string) []Point {
	c := columns(t, file, x, y)
	return pointsOf(c[0], c[1])
}

func values(t testing.TB, file string) map[string]any {
	t.Helper()
	b, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var v map[string]any
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// dig walks into decoded JSON.
func dig(t testing.TB, v any, path ...any) float64 {
	t.Helper()
	for _, p := range path {
		switch k := p.(type) {
		case string:
			v = v.(map[string]any)[k]
		case int:
			v = v.([]any)[k]
		}
	}
	f, ok := v.(float64)
	if !ok {
		t.Fatalf("no number at %v", path)
	}
	return f
}

func mustFit(t testing.TB, p []Point, o Options) Curve {
	t.Helper()
	c, err := Fit(p, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// near compares relatively.
func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.15g, want %.15g (relative %.1e, allowed %.0e)", what, got, want, math.Abs(got-want)/math.Abs(want), rel)
	}
}

// printed compares with a figure as printed: half a unit of its last digit.
func printed(t testing.TB, what string, got, want, unit float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5000001*unit) {
		t.Errorf("%s = %.10g, printed %g", what, got, want)
	}
}
