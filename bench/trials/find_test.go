package trials_test

import (
	"path/filepath"
	"testing"

	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
)

// BenchmarkFind looks through a trial of a hundred thousand readings: for a word that is in
// none, so that every row is looked at, and for the last page of all of them.
func BenchmarkFind(b *testing.B) {
	x, err := bench.Open(filepath.Join(b.TempDir(), "bench.db"), bench.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer x.Close()
	n := 100_000
	if _, err := x.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: large(b, n), Title: "Harbour", Source: "harbour.csv"}); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name string
		s    trials.Search
		want int
	}{
		{"no row", trials.Search{Words: []string{"nowhere"}, Limit: 25}, 0},
		{"last rows by level", trials.Search{Order: "level", Skip: n - 25, Limit: 25}, 25},
	} {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				list, more, err := x.FindReadings(ctx, benchtest.Owner, c.s)
				if err != nil || len(list) != c.want || more {
					b.Fatalf("%d rows, more %v, %v", len(list), more, err)
				}
			}
		})
	}
}
