package web

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
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

// hundredThousand is a trial of 100,000 display readings; all invented.
func hundredThousand() knownwater.Trial {
	rng := rand.New(rand.NewPCG(1, 2))
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Methods: []knownwater.Method{{Name: "Pocket display", Kind: knownwater.Display, Resolution: 0.1}},
		Needs:   []knownwater.Need{{Name: "hold", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}}}}
	for i := range 100_000 {
		level := []float64{0, 0.6, 1.5, 3, 6, 12}[i%6]
		seen := max(0, float64(int(10*(level+rng.NormFloat64()*(0.2+0.05*level))+0.5))/10)
		t.Observations = append(t.Observations, knownwater.Observation{Method: "Pocket display", Level: level, ULevel: 0.02, Text: fmt.Sprint(seen),
			Seen: interval.Interval{Low: seen - .05, High: seen + .05}, Dilution: 1, Reader: fmt.Sprint("Reader ", i%5), Session: fmt.Sprint(i % 10), Vial: fmt.Sprint("v", i), Count: 1, Row: i + 2})
	}
	return t
}

// TestQuickPages asks a bench of 100,000 readings for its pages. Findings are
// computed once before, as they are once for a person.
func TestQuickPages(t *testing.T) {
	if testing.Short() {
		t.Skip("fills a bench with 100,000 readings")
	}
	s := newSite(t, false)
	s.furnish()
	sealed := s.sealed()
	s.must("/me", form1("person", "1"))
	s.shelve()
	set := s.must("/knowns/plan", wantedForm("keep"))
	at := s.must("/curves/new", curveValues())
	began := time.Now()
	made, err := s.bench.ImportTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, trials.DataSet{Data: hundredThousand(), Title: "A hundred thousand", Source: "made up"})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("imported in %v", time.Since(began).Round(time.Millisecond))
	big := "/trials/" + render.ID(made.ID)
	began = time.Now()
	if a := s.get(big + "/findings"); a.StatusCode != 200 {
		t.Fatalf("findings: status %d", a.StatusCode)
	}
	t.Logf("findings first computed in %v", time.Since(began).Round(time.Millisecond))
	for _, path := range []string{"/", "/trials", "/methods", "/methods/1", "/needs", "/curves", "/curves/new", at, at + "/change", at + "/read?signals=0.3345", at + "/table", "/knowns", "/knowns/plan", "/knowns/shelf/4", "/knowns/compare", set, set + "/made", set + "/sheet", "/people", "/copies", big, big + "/findings", big + "/publish",
		big + "/readings", big + "/readings?method=Pocket+display&level=6", big + "/readings/90000", big + "/readings?flagged=1", big + "/readings?after=99000", sealed, sealed + "/labels", sealed + "/sheet", sealed + "/run", sealed + "/mine"} {
		var took, worked []time.Duration
		for len(took) < 20 {
			work, began := processor.Time(), time.Now()
			a := s.get(path)
			if a.StatusCode == http.StatusTooManyRequests {
				time.Sleep(time.Second) // faster than anybody may ask
				continue
			}
			took, worked = append(took, time.Since(began)), append(worked, processor.Time()-work)
			if a.StatusCode != 200 {
				t.Fatalf("%s: status %d", path, a.StatusCode)
			}
		}
		slices.Sort(took)
		slices.Sort(worked)
		t.Logf("%-60s 95 of 100 within %6.1f ms, %6.1f ms of them our own work", path, ms(took[18]), ms(worked[18]))
		if limit := allowed(); took[18] > limit && worked[18] > limit {
			t.Errorf("%s takes %.1f ms, %.1f ms of them our own work, want under %v", path, ms(took[18]), ms(worked[18]), limit)
		}
		if took[18] > target*others {
			t.Errorf("%s takes %.1f ms, want under %v even on a busy machine", path, ms(took[18]), target*others)
		}
	}
}

// target holds by the clock, or where other programs take the processor at the
// same time, by the time that this process (server and the test's own browser
// together) had it. The clock may then show others times as much, and no more:
// waiting for a lock or a disk costs no processor, and would be found.
const (
	target = 100 * time.Millisecond
	others = 10
)

// allowed is the target on a machine set aside for measuring
// (KNOWNWATER_BIG=1); elsewhere, where a processor may be slower or shared, a
// page has to grow to three times the target before the test speaks.
func allowed() time.Duration {
	if os.Getenv("KNOWNWATER_BIG") != "" {
		return target
	}
	return 3 * target
}

func ms(d time.Duration) float64 { return d.Seconds() * 1e3 }
