package waters

import (
	"time"

	"knownwater/bench"
	"knownwater/report"
	"knownwater/web/render"
)

// testLine is what a duplicate, a spike or a blank says of the test.
type testLine struct {
	When              time.Time
	Path, Says, Class string
}

func testLineOf(q bench.Quality) testLine {
	l := testLine{When: q.Result.TakenAt, Path: "/records/" + render.ID(q.Result.Record) + "/results/" + render.ID(q.Result.ID), Class: "within"}
	added := 0.0
	if q.Result.Of.Spike != nil {
		added = *q.Result.Of.Spike
	}
	if !q.Fine {
		l.Class = "outside"
	}
	l.Says = report.QualitySays(q.Role, q.Against.Outcome.Level, q.Result.Outcome.Level, added, q.Pair, q.Result.Scale)
	return l
}
