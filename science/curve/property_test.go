package curve

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/response"
)

// Units change nothing but the numbers: levels and signals in other units give
// the same answers in those units.
func TestUnitsDoNotMatter(t *testing.T) {
	for _, shape := range []Shape{Line, Quadratic, Cubic, Saturating, StrayLight} {
		for _, w := range []Weights{"", Equal, OverX, OverX2} {
			p := bent(20)
			o := Options{Shape: shape, Weights: w, Light: true}
			a := mustFit(t, p, o)
			q := append([]Point(nil), p...)
			for i := range q {
				q[i].Level *= 16.128 // µmol/L
			}
			b := mustFit(t, q, o)
			for _, y := range []float64{0.1, 0.7, 1.2} {
				ra, rb := a.Read(Sample{Signals: []float64{y}}), b.Read(Sample{Signals: []float64{y}})
				near(t, string(shape)+" level", rb.Level, 16.128*ra.Level, 1e-7)
				near(t, string(shape)+" u", rb.U, 16.128*ra.U, 1e-6)
				near(t, string(shape)+" low", rb.Low, 16.128*ra.Low, 1e-6)
			}
			la, lb := a.Limits(1), b.Limits(1)
			near(t, string(shape)+" detection", lb.Detection, 16.128*la.Detection, 1e-6)
		}
	}
}

func TestOrderDoesNotMatter(t *testing.T) {
	p := bent(21)
	a := mustFit(t, p, Options{Light: true})
	q := make([]Point, len(p))
	for i := range p {
		q[(i*7)%len(p)] = p[i]
	}
	b := mustFit(t, q, Options{Light: true})
	if a.Shape != b.Shape {
		t.Fatalf("%s and %s", a.Shape, b.Shape)
	}
	for j := range a.Coef {
		near(t, "coefficient", b.Coef[j], a.Coef[j], 1e-9)
	}
}

// More replicates of a sample never widen its interval, dilution error never
// narrows it.
func TestIntervalsMoveTheRightWay(t *testing.T) {
	c := mustFit(t, bent(22), Options{Light: true})
	last := math.Inf(1)
	for n := 1; n <= 5; n++ {
		y := make([]float64, n)
		for i := range y {
			y[i] = 0.7
		}
		r := c.Read(Sample{Signals: y})
		if w := r.High - r.Low; w > last {
			t.Errorf("%d replicates: %g after %g", n, w, last)
		} else {
			last = w
		}
	}
	last = 0
	for _, u := range []float64{0, 0.01, 0.02, 0.05} {
		r := c.Read(Sample{Signals: []float64{0.7}, Dilution: 8, UDilution: u})
		if w := r.High - r.Low; w < last {
			t.Errorf("u %g: %g after %g", u, w, last)
		} else {
			last = w
		}
	}
}

// codes stand for the sentences of notes, which package report has.
func codes(notes []note.Note) []string {
	out := make([]string, len(notes))
	for i, n := range notes {
		out[i] = n.Code
	}
	return out
}

// What is written is read back the same, notes as what somebody told.
func TestDocumentSurvives(t *testing.T) {
	for _, o := range []Options{{Light: true}, {Shape: Quadratic, Weights: OverX2}, {Shape: Line, Weights: Equal, Shared: 0.01}} {
		d, err := Make(bent(23), o, Conversion{Kind: Absorbance}, Scope{Lot: "A1"}, nil)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(d.JSON(codes))
		if err != nil {
			t.Fatal(err)
		}
		back, err := Open(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, y := range []float64{0.02, 0.4, 1.5, 9} {
			a, _ := d.Read(Sample{Signals: []float64{y}, Dilution: 8, UDilution: 0.01})
			b, _ := back.Read(Sample{Signals: []float64{y}, Dilution: 8, UDilution: 0.01})
			same := func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) }
			if !same(a.Level, b.Level) || !same(a.Low, b.Low) || !same(a.High, b.High) || a.Outside != b.Outside {
				t.Errorf("%+v became %+v", a, b)
			}
		}
		if !slices.Equal(codes(back.Notes), slices.Repeat([]string{note.CodeTold}, len(d.Notes))) || len(d.Notes) == 0 || back.Notes[0].Names["text"][0] != d.Notes[0].Code {
			t.Errorf("notes %+v became %+v", d.Notes, back.Notes)
		}
		if back.Scope.Lot != "A1" || len(back.Points) != 24 {
			t.Error("lot or points were lost")
		}
	}
}

// A weak slope: Fieller's interval has no end, and none is made up: all that is left is that there is nothing below zero.
func TestWeakSlopeHasNoEnd(t *testing.T) {
	p := pointsOf([]float64{0, 1, 2, 3, 4, 5}, []float64{0.50, 0.42, 0.61, 0.44, 0.58, 0.55})
	c := mustFit(t, p, plain)
	r := c.Read(Sample{Signals: []float64{0.52}})
	if r.Low != 0 || !math.IsNaN(r.High) || !math.IsNaN(r.Level) || r.Open != Above {
		t.Errorf("%+v", r)
	}
	if len(r.Notes) == 0 || r.Notes[0].Code != "any-level-fits" {
		t.Error(r.Notes)
	}
}

// In a dead zone the answer is a set that reaches down to nothing.
func TestDeadZone(t *testing.T) {
	c := mustFit(t, deadZonePoints(newSource(24)), Options{})
	if c.Shape != DeadZone {
		t.Fatalf("chose %s: %s", c.Shape, c.Why.Code)
	}
	for _, y := range []float64{2.3, 2.4, 2.45} {
		if r := c.Read(Sample{Signals: []float64{y}}); r.Low != 0 || !(r.High >= 1 && r.High < 3) {
			t.Errorf("%g shown: %+v", y, r)
		}
	}
	if r := c.Read(Sample{Signals: []float64{4.8}}); !(math.Abs(r.Level-6) <= 1) {
		t.Errorf("4.8 shown: %+v", r)
	}
}

func TestConversion(t *testing.T) {
	for _, tc := range []struct {
		k    Conversion
		v    float64
		want float64
	}{
		{Conversion{Kind: Percent}, 10, 1},
		{Conversion{Kind: Transmittance}, 0.01, 2},
		{Conversion{Kind: Counts, DarkCounts: 100, BlankCounts: 10100}, 1100, 1},
		{Conversion{Kind: Absorbance, Path: 5}, 1, 0.2},
		{Conversion{Kind: DisplayValue}, 12, 12},
	} {
		got, f := tc.k.Of(tc.v)
		if f != nil || !(math.Abs(got-tc.want) <= 1e-12) {
			t.Errorf("%+v of %g: %g, %v", tc.k, tc.v, got, f)
		}
	}
	for _, tc := range []struct {
		k Conversion
		v float64
	}{{Conversion{Kind: Percent}, 0}, {Conversion{Kind: Percent}, 151}, {Conversion{Kind: Transmittance}, -0.1}, {Conversion{Kind: Counts, DarkCounts: 100, BlankCounts: 200}, 100}} {
		if got, f := tc.k.Of(tc.v); f == nil {
			t.Errorf("%+v of %g is %g", tc.k, tc.v, got)
		}
	}
	if (Conversion{Kind: Counts}).Valid() == nil || (Conversion{Kind: Absorbance, BlankCounts: 3}).Valid() == nil {
		t.Error("a blank twice, or none, is taken")
	}
}

// The verdict's borders, and their neighbours.
func TestVerdicts(t *testing.T) {
	for _, tc := range []struct {
		low, high, permitted float64
		want                 string
	}{
		{-0.5, 0.5, 0.5, Within}, {-0.4, 0.51, 0.5, Undecided}, {-0.51, 0.4, 0.5, Undecided}, {-0.51, 0.5, 0.5, NotContradicted}, {-7, 6.5, 1, NotContradicted},
		{0.51, 0.9, 0.5, OutsideIt}, {0.5, 0.9, 0.5, Undecided}, {-0.9, -0.51, 0.5, OutsideIt},
		{0, 1, 0, Agrees}, {0.01, 1, 0, Disagrees}, {-0.5, 0.51, 0, NotContradicted}, {-7, 6.5, 0, NotContradicted}, {math.NaN(), 1, 0.5, Undecided},
	} {
		if got := (Judged{Level: 1, Low: tc.low, High: tc.high, Permitted: tc.permitted}).verdict(); got != tc.want {
			t.Errorf("%+v: %s", tc, got)
		}
	}
}

// Whatever the points are, a curve or a fault comes back.
func FuzzFit(f *testing.F) {
	f.Add([]byte{0, 10, 0, 12, 50, 100, 50, 99, 100, 200, 100, 201}, uint8(0), uint8(0))
	f.Add([]byte{1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6}, uint8(3), uint8(2))
	f.Fuzz(func(t *testing.T, data []byte, shape, weights uint8) {
		var points []Point
		for i := 0; i+1 < len(data) && i < 60; i += 2 {
			points = append(points, Point{Level: float64(data[i]) / 10, Signal: float64(int8(data[i+1])) / 50, Dilution: 1, Check: data[i]%16 == 15, Row: i + 2})
		}
		o := Options{Light: weights&8 > 0, ThroughZero: weights&16 > 0, Sure: weights&32 > 0}
		if weights&64 > 0 {
			o.Shared = 0.01
		}
		if k := int(shape) % (len(response.All) + 1); k < len(response.All) {
			o.Shape = response.All[k].Name
		}
		o.Weights = []Weights{"", Equal, OverX, OverX2}[weights%4]
		d, err := Make(points, o, Conversion{Kind: Absorbance}, Scope{}, &knownwater.Need{Permitted: []knownwater.Permit{{At: 1, Error: 0.5}}})
		if err != nil {
			return
		}
		text, err := json.Marshal(d.JSON(codes))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Open(text); err != nil {
			t.Errorf("%v\n%s", err, text)
		}
		for _, y := range []float64{-3, 0, 0.1, 1, 5} {
			r := d.Curve.Read(Sample{Signals: []float64{y, y}, Dilution: 2, UDilution: 0.1})
			if r.Level < r.Low || r.Level > r.High || r.U < 0 {
				t.Errorf("%g: %+v", y, r)
			}
			if r.Outside != "" && !math.IsNaN(r.Level) {
				t.Errorf("extrapolated: %+v", r)
			}
		}
		_, _ = d.TwoPoint([]float64{0.1}, []Retest{{Level: 1, Signals: []float64{0.3}}}, 0.05)
		Compare(d.Curve, d.Curve, nil)
	})
}

// Whatever is in a curve's file, a curve or a fault comes back.
func FuzzOpen(f *testing.F) {
	for _, o := range []Options{{Light: true}, {Shape: Line, Weights: Equal, Shared: 0.01}, {Shape: Saturating, Weights: OverX}} {
		d, err := Make(bent(25), o, Conversion{Kind: Absorbance}, Scope{}, nil)
		if err != nil {
			f.Fatal(err)
		}
		d.Points = nil
		text, _ := json.Marshal(d.JSON(codes))
		f.Add(text, 0.4)
	}
	f.Fuzz(func(t *testing.T, data []byte, y float64) {
		d, err := Open(data)
		if err != nil {
			return
		}
		if _, fault := d.Read(Sample{Signals: []float64{y}}); fault != nil {
			return
		}
		if _, err := json.Marshal(d.JSON(codes)); err != nil {
			t.Error(err)
		}
	})
}
