package web

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"runtime"
	"slices"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/internal/processor"
	"knownwater/science/interval"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// manyReadings is a trial of n display readings; all invented.
func manyReadings(n int) knownwater.Trial {
	rng := rand.New(rand.NewPCG(1, 2))
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Methods: []knownwater.Method{{Name: "Pocket display", Kind: knownwater.Display, Resolution: 0.1}},
		Needs:   []knownwater.Need{{Name: "hold", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}}}}
	for i := range n {
		level := []float64{0, 0.6, 1.5, 3, 6, 12}[i%6]
		seen := max(0, float64(int(10*(level+rng.NormFloat64()*(0.2+0.05*level))+0.5))/10)
		t.Observations = append(t.Observations, knownwater.Observation{Method: "Pocket display", Level: level, ULevel: 0.02, Text: fmt.Sprint(seen),
			Seen: interval.Interval{Low: seen - .05, High: seen + .05}, Dilution: 1, Reader: fmt.Sprint("Reader ", i%5), Session: fmt.Sprint(i % 10), Count: 1, Row: i + 2})
	}
	return t
}

// bringIn puts a trial of n readings on the bench and works its findings out, as
// they are once for a person; it returns the trial's address.
func (s *site) bringIn(n int) string {
	s.t.Helper()
	made, err := s.bench.ImportTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"},
		trials.DataSet{Data: manyReadings(n), Title: fmt.Sprint(n, " readings"), Source: "made up"})
	if err != nil {
		s.t.Fatal(err)
	}
	at := "/trials/" + render.ID(made.ID)
	if a := s.get(at + "/findings"); a.StatusCode != http.StatusOK {
		s.t.Fatalf("findings: status %d", a.StatusCode)
	}
	return at
}

// ask is one request for a page, without a connection, from a caller of its own:
// one caller may not ask so fast. Asked again and again, what it takes is the page.
func (s *site) ask(path string) {
	r := httptest.NewRequest("GET", "http://127.0.0.1"+path, nil)
	s.asked++
	r.RemoteAddr = fmt.Sprintf("127.%d.%d.%d:9", s.asked>>16&255, s.asked>>8&255, s.asked&255)
	if at, err := url.Parse(s.url); err == nil {
		for _, c := range s.Jar.Cookies(at) {
			r.AddCookie(c)
		}
	}
	w := httptest.NewRecorder()
	if s.handler.ServeHTTP(w, r); w.Code != http.StatusOK {
		s.t.Fatalf("%s: status %d", path, w.Code)
	}
}

// ofATrial are the pages of a trial that came in from a file.
var ofATrial = []string{"", "/findings", "/publish", "/readings", "/readings?method=Pocket+display&level=6", "/readings?flagged=1", "/readings?after=500"}

// ofABench are pages that stand beside the trials of a bench, with a curve and a
// set of knowns of the given addresses, and a sealed trial.
func ofABench(curve, set, sealed string) []string {
	return []string{"/", "/trials", "/methods", "/methods/1", "/needs", "/curves", "/curves/new", curve, curve + "/change", curve + "/read?signals=0.3345", curve + "/table",
		"/knowns", "/knowns/plan", "/knowns/shelf/4", "/knowns/compare", set, set + "/made", set + "/sheet", "/people", "/copies", sealed, sealed + "/labels", sealed + "/sheet", sealed + "/run", sealed + "/mine"}
}

// benchInUse is a bench with something on every page.
func benchInUse(t testing.TB) (s *site, pages []string) {
	s = newSite(t, false)
	s.furnish()
	sealed := s.sealed()
	s.must("/me", form1("person", "1"))
	s.shelve()
	set := s.must("/knowns/plan", wantedForm("keep"))
	return s, ofABench(s.must("/curves/new", curveValues()), set, sealed)
}

// TestPagesGrowWithNothing: a page of a trial of 24,000 readings makes no more
// objects than one of a trial of 1,800 (both have more than a page of readings), and
// the pages beside them no more than before the large one came. What is counted does not
// depend on the machine; only rows that the database looks at itself, which make
// no object, are held to a time, and that of our own work. BenchmarkPages has the times.
func TestPagesGrowWithNothing(t *testing.T) {
	s, beside := benchInUse(t)
	small := s.bringIn(1800)
	var before []float64
	for _, path := range beside {
		before = append(before, objects(s, path))
	}
	large := s.bringIn(24_000)
	for i, path := range beside {
		sameWork(s, path, before[i], path)
		quickWork(s, path)
	}
	for _, path := range ofATrial {
		sameWork(s, large+path, objects(s, small+path), large+path)
		quickWork(s, large+path)
	}
	sameWork(s, "a reading", objects(s, small+"/readings/1700"), large+"/readings/9000")
}

// sameWork asks again while others that work beside it may be what was counted.
func sameWork(s *site, path string, few float64, many string) {
	s.t.Helper()
	n := objects(s, many)
	for range 100 {
		if n <= 1.5*few+2000 {
			return
		}
		time.Sleep(100 * time.Millisecond)
		n = min(n, objects(s, many))
	}
	s.t.Errorf("%s makes %.0f objects, and %.0f where there are many readings", path, few, n)
}

// objects is how many objects a page makes, at least of three times: others work
// beside it.
func objects(s *site, path string) float64 {
	s.ask(path) // what is remembered from now on
	least := 0.0
	for i := range 3 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		s.ask(path)
		runtime.ReadMemStats(&after)
		if n := float64(after.Mallocs - before.Mallocs); i == 0 || n < least {
			least = n
		}
	}
	return least
}

// mostWork is how long a page may have a processor: three times the target that
// BenchmarkPages has for it on a machine set aside for measuring.
const mostWork = 300 * time.Millisecond

// quickWork is the least of five, by the processor: a busy machine changes it little,
// and a page that passes over every row of a large trial takes many times as much.
func quickWork(s *site, path string) {
	s.t.Helper()
	least := time.Hour
	for range 5 {
		began := processor.Time()
		s.ask(path)
		least = min(least, processor.Time()-began)
	}
	if least > mostWork {
		s.t.Errorf("%s takes %v of a processor", path, least)
	}
}

// BenchmarkPages asks a bench with a trial of 100,000 readings for its pages, each
// as often as the 95th percentile of twenty wants: the target is 100 ms.
func BenchmarkPages(b *testing.B) {
	s, pages := benchInUse(b)
	large := s.bringIn(100_000)
	for _, path := range ofATrial {
		pages = append(pages, large+path)
	}
	for _, path := range append(pages, large+"/readings/90000", large+"/readings?after=99000") {
		b.Run(path, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				began := time.Now()
				s.ask(path)
				took = append(took, time.Since(began))
			}
			slices.Sort(took)
			b.ReportMetric(ms(took[len(took)*95/100]), "ms-95%")
		})
	}
}

func ms(d time.Duration) float64 { return d.Seconds() * 1e3 }
