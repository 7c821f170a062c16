package num

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// digits is how many leading digits of want are right in got: −log10 of the
// relative error (of the error itself where want is 0), at most 16.
func digits(got, want float64) float64 {
	if got == want {
		return 16
	}
	e := math.Abs(got - want)
	if want != 0 && !math.IsInf(want, 0) {
		e /= math.Abs(want)
	}
	if math.IsNaN(e) || math.IsInf(e, 0) {
		return 0
	}
	return max(0, min(16, -math.Log10(e)))
}

// rows reads testdata/name: numbers where they are numbers, NaN elsewhere.
func rows(t testing.TB, name string) (numbers [][]float64, text [][]string) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err = csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text = text[1:]
	for _, r := range text {
		v := make([]float64, len(r))
		for i, s := range r {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil && x == 0 {
				x = math.NaN()
			}
			v[i] = x
		}
		numbers = append(numbers, v)
	}
	if len(numbers) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return numbers, text
}

func readJSON(t testing.TB, name string, to any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, to); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

func needDigits(t testing.TB, what string, got, want, atLeast float64) {
	t.Helper()
	if d := digits(got, want); d < atLeast {
		t.Errorf("%s = %.17g, want %.17g: %.1f digits, want %g", what, got, want, d, atLeast)
	}
}
