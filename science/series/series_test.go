package series_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/series"
)

// columns of a table of numbers; an empty cell is NaN.
func columns(t *testing.T, name string) (out [][]float64) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out = make([][]float64, len(rows[0]))
	for _, r := range rows[1:] {
		for i, text := range r {
			v := math.NaN()
			if text != "" {
				if v, err = strconv.ParseFloat(text, 64); err != nil {
					t.Fatal(err)
				}
			}
			out[i] = append(out[i], v)
		}
	}
	return out
}

func load(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatal(err)
	}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, should be %v (± %g)", what, got, want, tolerance)
	}
}

func exact(y, sd float64) series.Seen { return series.Seen{Interval: interval.Exact(y), SD: sd} }

// testdata/nile.json: R and dense algebra in 40 digits.
func TestNile(t *testing.T) {
	var want struct {
		Recomputed struct {
			Level struct {
				Loglik        float64 `json:"loglik_given_first_reading"`
				Index         []int   `json:"index_1_based"`
				Smoothed, Var []float64
				SmoothedVar   []float64 `json:"smoothed_var"`
			} `json:"local_level_at_15099_1469.1"`
		}
	}
	load(t, "nile.json", &want)
	c := columns(t, "nile.csv")
	var seen []series.Seen
	for _, y := range c[1] {
		seen = append(seen, exact(y, math.Sqrt(15099)))
	}
	w := series.Walk{Days: c[0], PerDay: 1469.1}
	sites, l := w.Fit(seen, nil)
	near(t, "log-likelihood", l, want.Recomputed.Level.Loglik, 1e-9)
	smooth := w.Smoothed(sites)
	for k, i := range want.Recomputed.Level.Index {
		near(t, "level", smooth[i-1].Mean(), want.Recomputed.Level.Smoothed[k], 1e-9)
		near(t, "variance", smooth[i-1].Var(), want.Recomputed.Level.SmoothedVar[k], 1e-8)
	}
}

func TestIrregular(t *testing.T) {
	var want struct {
		Level struct {
			Loglik      float64 `json:"loglik_given_first_reading"`
			Smoothed    []float64
			SmoothedVar []float64 `json:"smoothed_var"`
		} `json:"local_level_q_0.1"`
	}
	load(t, "irregular.json", &want)
	c := columns(t, "irregular.csv")
	var seen []series.Seen
	for i, y := range c[1] {
		seen = append(seen, exact(y, c[2][i]))
	}
	w := series.Walk{Days: c[0], PerDay: 0.1}
	sites, l := w.Fit(seen, nil)
	near(t, "log-likelihood", l, want.Level.Loglik, 1e-10)
	for i, b := range w.Smoothed(sites) {
		near(t, "level", b.Mean(), want.Level.Smoothed[i], 1e-11)
		near(t, "variance", b.Var(), want.Level.SmoothedVar[i], 1e-12)
	}
}

// Intervals: integration on a grid. Expectation propagation is not exact; how far it is off
// is what the tolerances say.
func TestIntervals(t *testing.T) {
	var want struct {
		Loglik struct {
			Q    []float64 `json:"q_per_day"`
			Grid []float64
		}
		Levels struct {
			Mean, SD, Q025, Q975 []float64
		} `json:"levels_q_0.1"`
	}
	load(t, "intervals.json", &want)
	c := columns(t, "intervals.csv")
	var seen []series.Seen
	for i := range c[0] {
		i := series.Seen{Interval: interval.Interval{Low: c[1][i], High: c[2][i]}, SD: c[3][i]}
		if math.IsNaN(i.Low) {
			i.Low = math.Inf(-1)
		}
		seen = append(seen, i)
	}
	for k, q := range want.Loglik.Q {
		_, l := series.Walk{Days: c[0], PerDay: q}.Fit(seen, nil)
		near(t, "log-likelihood", l, want.Loglik.Grid[k], 0.005)
	}
	w := series.Walk{Days: c[0], PerDay: 0.1}
	sites, _ := w.Fit(seen, nil)
	for i, b := range w.Smoothed(sites) {
		sd := math.Sqrt(b.Var())
		near(t, "level", b.Mean(), want.Levels.Mean[i], 0.01)
		near(t, "spread", sd, want.Levels.SD[i], 0.01)
		near(t, "lower end", b.Mean()-1.959964*sd, want.Levels.Q025[i], 0.06)
		near(t, "upper end", b.Mean()+1.959964*sd, want.Levels.Q975[i], 0.06)
	}
}
