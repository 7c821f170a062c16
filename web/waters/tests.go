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

func testLineOf(as render.Reader, q bench.Quality) testLine {
	l := testLine{When: q.Result.TakenAt, Path: "/records/" + render.ID(q.Result.Record) + "/results/" + render.ID(q.Result.ID), Class: "within"}
	added := 0.0
	if q.Result.Of.Spike != nil {
		added = *q.Result.Of.Spike
	}
	if !q.Fine {
		l.Class = "outside"
	}
	t := as.Units.Turn(q.Result.Scale)
	l.Says = report.QualitySays(as.Language, q.Role, t.K*q.Against.Outcome.Level, t.K*q.Result.Outcome.Level, t.K*added, q.Pair, t.To)
	return l
}
