package web

import (
	"context"
	"fmt"
	"testing"

	"knownwater"
	"knownwater/web/calibrations"
)

// BenchmarkCurvePages asks for pages of a curve of 24 fitted points and six that
// judge it, whose shape and weights are left to the data. "first" is the first look at
// a new curve, which fits it; "many" has twelve versions and twenty results beside
// what the version in use says.
func BenchmarkCurvePages(b *testing.B) {
	s := newSite(b, false)
	s.furnish()
	v := curveValues()
	v.Set("need", "1")
	one := s.must("/curves/new", v)
	many := s.must("/curves/new", v)
	s.must(many+"/adopt", form1("version", "2"))
	for i := range 20 {
		s.must(many+"/read", waterValues("version", "2", "key", fmt.Sprintf("a-key-of-this-result-%d", i)))
	}
	for i := range 11 {
		s.must(many+"/points", form1("version", fmt.Sprint(2+i), "point", fmt.Sprint(1+2*i), "use", "out", "why", "a bubble"))
	}
	s.must(many+"/adopt", form1("version", "13", "why", "fewer bubbles"))
	seen, err := s.bench.Curve(context.Background(), 1)
	if err != nil {
		b.Fatal(err)
	}
	for _, page := range []struct{ name, path string }{{"again", one}, {"read", one + "/read?signals=0.3345"}, {"table", one + "/table"}, {"many", many}} {
		b.Run(page.name, func(b *testing.B) {
			for b.Loop() {
				s.ask(page.path)
			}
		})
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			c, err := s.bench.SaveCurve(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, 0, seen.Spec, "")
			if err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			s.ask(calibrations.Path(c.ID))
		}
	})
	b.Run("list", func(b *testing.B) { // of all that "first" has made, a hundred and more
		for b.Loop() {
			s.ask("/curves")
		}
	})
}
