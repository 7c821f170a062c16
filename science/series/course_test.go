package series_test

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/series"
)

// testdata/irregular.json: a Kalman filter in R, and dense algebra in 40 digits.
func TestCourse(t *testing.T) {
	var want struct {
		Trend struct {
			Loglik   float64   `json:"loglik_given_first_two"`
			From     int       `json:"from_reading"`
			Level    []float64 `json:"level"`
			LevelVar []float64 `json:"level_var"`
			Slope    []float64 `json:"slope_per_day"`
			Var      []float64 `json:"slope_var"`
		} `json:"trend_ql_0.02_qs_0.001"`
	}
	load(t, "irregular.json", &want)
	c := columns(t, "irregular.csv")
	var sites []series.Site
	for i, y := range c[1] {
		sites = append(sites, series.Normal(y, c[2][i]))
	}
	course := series.Course{Days: c[0], Level: 0.02, Slope: 0.001}
	slope, variance, l := course.Now(sites)
	last := len(want.Trend.Slope) - 1 // there what is filtered is smoothed
	near(t, "log-likelihood", l, want.Trend.Loglik, 1e-11)
	near(t, "slope", slope, want.Trend.Slope[last], 1e-12)
	near(t, "variance", variance, want.Trend.Var[last], 1e-13)
	smoothed := course.Smoothed(sites)[want.Trend.From-1:] // readings are counted from 1
	if len(smoothed) != len(want.Trend.Level) {
		t.Fatalf("%d states, R has %d", len(smoothed), len(want.Trend.Level))
	}
	for i, m := range smoothed {
		near(t, "smoothed level", m.Level, want.Trend.Level[i], 1e-11)
		near(t, "its variance", m.LevelVar, want.Trend.LevelVar[i], 1e-12)
		near(t, "smoothed slope", m.Slope, want.Trend.Slope[i], 1e-12)
		near(t, "its variance", m.SlopeVar, want.Trend.Var[i], 1e-13)
	}
}

func TestNowHolds(t *testing.T) {
	for _, now := range []float64{0, 0.4} {
		held, n, width := 0.0, 0.0, 0.0
		for seed := range uint64(200) {
			rng := num.Source(seed, 21)
			var r series.Readings
			shared := rng.NormFloat64()
			away := 0.4 * rng.NormFloat64()
			for week := range 30 {
				y := 6 + 0.3*math.Max(0, 10-float64(week)) + now*math.Max(0, float64(week-18)) + away + 0.6*rng.NormFloat64() + shared
				away = 0.8*away + 0.4*0.6*rng.NormFloat64()
				r.Days, r.Value, r.Var = append(r.Days, 7*float64(week)), append(r.Value, y), append(r.Var, 0.36)
			}
			r.Spread = []float64{1, 1}
			for _, e := range []float64{-1, 1} {
				column := make([]float64, 30)
				for i := range column {
					column[i] = e
				}
				r.Shared = append(r.Shared, column)
			}
			trend, ok := r.Went()
			e := trend.Now
			if !ok {
				t.Fatal("no slope of thirty weeks")
			}
			if n++; 7*e.Low <= now && now <= 7*e.High {
				held++
			}
			width += 7 * (e.High - e.Low) / 200
		}
		if held/n < 0.93 || width > 1 {
			t.Errorf("slope %v a week now: its interval holds it in %.1f %%, %.2f wide", now, 100*held/n, width)
		}
	}
}
