package web

import (
	"context"
	"fmt"
	"net/http"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/demo"
	"knownwater/internal/processor"
	"knownwater/science/reading"
	"knownwater/web/render"
)

// smallTrial is a trial such as a club makes in an evening: a chart and a display, eight
// knowns, two vials each, every vial read by the given number of readers; a need for each.
func smallTrial(readers int) knownwater.Trial {
	card := knownwater.Method{Name: "Card", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2, 5, 10, 20, 50}}
	t := manyReadings(0)
	t.Methods = append(t.Methods, card)
	for _, m := range t.Methods {
		for i, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40} {
			for k := range 2 * readers {
				off := float64((7*i+5*k)%11-5) / 5 // invented, and spread about evenly
				text := reading.Show(max(0, c+off*(0.2+0.06*c)), m)
				seen, err := reading.Understand(text, m)
				if err != nil {
					panic(err) // what a method shows it understands
				}
				t.Observations = append(t.Observations, knownwater.Observation{Method: m.Name, Level: c, ULevel: 0.01 * c, Text: text, Seen: seen, Dilution: 1,
					Reader: fmt.Sprint("Reader ", k%readers), Vial: fmt.Sprint(i, "-", k/readers), Count: 1, Row: len(t.Observations) + 2})
			}
		}
	}
	return t
}

// BenchmarkFindingsFirst asks for the page of findings of a trial that nobody has looked
// at: loaded, judged and written. The targets are 300 ms for a small trial and 2 s for one of 100,000
// readings, on a machine set aside for measuring; on a shared one the processor's time says more, of which
// two processors do about half each. "again" is the page alone.
func BenchmarkFindingsFirst(b *testing.B) {
	whole, err := demo.Trial(1)
	if err != nil {
		b.Fatal(err)
	}
	for _, x := range []struct {
		name string
		data knownwater.Trial
	}{
		{"one reader", smallTrial(1)}, {"three readers", smallTrial(3)}, {"demo", whole}, {"100000 readings", manyReadings(100_000)},
	} {
		b.Run(x.name, func(b *testing.B) {
			s := newSite(b, false)
			var again, worked time.Duration
			for b.Loop() {
				b.StopTimer()
				made, err := s.bench.ImportTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"},
					trials.DataSet{Data: x.data, Title: x.name, Source: "made up"})
				if err != nil {
					b.Fatal(err)
				}
				at := "/trials/" + render.ID(made.ID) + "/findings"
				work := processor.Time()
				b.StartTimer()
				if a := s.get(at); a.StatusCode != http.StatusOK {
					b.Fatalf("status %d", a.StatusCode)
				}
				b.StopTimer()
				worked += processor.Time() - work
				began := time.Now()
				s.ask(at)
				again += time.Since(began)
				b.StartTimer()
			}
			b.ReportMetric(ms(again)/float64(b.N), "ms-again")
			b.ReportMetric(ms(worked)/float64(b.N), "ms-processor")
		})
	}
}
