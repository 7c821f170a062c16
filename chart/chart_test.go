package chart

import (
	"encoding/xml"
	"fmt"
	"go/parser"
	"go/token"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var nan, inf = math.NaN(), math.Inf(1)

// figures are one of each kind, with ends open, values missing and names hostile.
func figures() map[string]string {
	hostile := "</title><script>alert(1)</script> \x00\x1b \"'&\xff"
	s := ScaleFor(0, .5, 2, 40)
	rungs := []Rung{
		{Level: 40, U: .4, Unit: 8, Label: "40", Under: hostile, Readings: []Mark{{39, 41, 3, ""}, {60, 80, 2, hostile}, {41, inf, 1, ""}}, Bias: Bar{-1, 1, 0, Within}},
		{Level: .5, Unit: .5, Label: hostile, Readings: []Mark{{.4, .4, 2, "/x?a=1&b=2"}, {nan, 2, 1, ""}}, Bias: Bar{.4, .7, .5, Undecided}},
		{Level: 0, Outside: true, Label: "0", Readings: []Mark{{-inf, .25, 4, ""}}, Bias: Bar{nan, nan, nan, Plain}},
		{Level: 2, Unit: .5, Bias: Bar{3, 9, 5, Outside}},
	}
	return map[string]string{
		"ladder":     Ladder{ID: "l", Title: hostile, Desc: hostile, Scale: s, Judged: true, Half: 2, Rungs: rungs}.alone(),
		"plain":      Ladder{ID: "p", Title: "t", Scale: s, Half: 5, Rungs: rungs}.alone(),
		"no rungs":   Ladder{ID: "e", Title: "t", Scale: ScaleFor(), Half: 2}.alone(),
		"flat":       Flat{ID: "f", Title: hostile, Half: 2, Bar: Bar{-inf, .5, nan, Undecided}, Judged: true}.SVG(),
		"off":        Flat{ID: "o", Half: 2, Bar: Bar{5, 6, 5.5, Plain}}.SVG(),
		"ruler":      Ruler{ID: "r", Title: hostile, Scale: s, Start: .5, Ends: []float64{1, 3, 9}, Beyond: hostile}.SVG(),
		"ruler axis": RulerAxis(s),
		"row":        Row{ID: "w", Title: hostile, Low: -1, High: 2, Margin: .5, Bars: []Bar{{-.5, inf, 1, Known}}, Readings: []Mark{{-inf, .2, 1, ""}}}.SVG(),
		"set":        Row{ID: "s", Title: "t", Scale: &s, Bars: []Bar{{0, 1, nan, Plain}, {2, inf, nan, Plain}}}.SVG(),
		"row axis":   Row{Low: -1, High: 2}.Axis(true),
		"response":   Response{ID: "q", Title: hostile, Scale: s, At: []float64{0, 1, 2}, Mean: []float64{0, nan, 2}, Levels: []Point{{2, 1, 3, nan}, {40, 39, 41, 40}, {1, nan, 2, 1}}, Across: hostile, Up: hostile, Equal: hostile}.SVG(),
		"along":      Along{ID: "a", Title: hostile, At: []float64{1, 2, 3}, Permitted: []float64{1, 1, 2}, Raw: []float64{.5, nan, .7}, RawLow: []float64{.4, .4, nan}, RawHigh: []float64{.6, .7, .8}, Corrected: []float64{nan, nan, nan}, CorrectedLow: []float64{nan, nan, nan}, CorrHigh: []float64{nan, nan, nan}}.SVG(),
		"along none": Along{ID: "n", Title: "t"}.SVG(),
		"curve": Curve{ID: "c", Title: hostile, Desc: hostile, At: []float64{0, 1, 2, 3}, Signal: []float64{0, .1, nan, .3}, From: .5, To: 2, Signals: []Seen{{1, .1, Fitted, ""}, {2, .2, Held, ""}, {3, nan, Gone, ""}, {3, .25, Gone, ""}},
			Back: []Back{{1, -.1, .1, 0, Fitted}, {2, -.1, inf, 0, Held}, {2, -.1, .2, nan, Held}, {3, -5, -4, -4.5, Gone}}, Tags: []Tag{{2, .2, hostile, Held}, {3, nan, hostile, Gone}, {2, .2, "over it", Gone}}, Test: Band{[]float64{0, 1, 2, 3}, []float64{-.1, -.1, nan, -.2}, []float64{.1, .1, nan, .2}}, Permitted: []float64{.5, .5, .5, 1}, Across: hostile, Up: hostile, Error: hostile}.SVG(),
		"curve none": Curve{ID: "k", Title: "t", At: []float64{1}, Signal: []float64{nan}}.SVG(),
		"curve flat": Curve{ID: "m", Title: "t", At: []float64{0, 1}, Signal: []float64{nan, nan}, From: nan, To: nan}.SVG(),
		"specimen":   Specimen("x", hostile),
	}
}

func TestFiguresAreSoundXML(t *testing.T) {
	classes := regexp.MustCompile(`class="([^"]+)"([^>]*)>`)
	for name, svg := range figures() {
		dec := xml.NewDecoder(strings.NewReader(svg))
		for {
			_, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		for _, bad := range []string{"NaN", "Inf", "<script", "%!"} {
			if strings.Contains(svg, bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
		for _, m := range classes.FindAllStringSubmatch(svg, -1) {
			if strings.HasPrefix(m[1], "fig") || strings.HasPrefix(m[1], "row") {
				continue
			}
			if !strings.Contains(m[2], "fill=") && !strings.Contains(m[2], "stroke=") {
				t.Errorf("%s: class %q has nothing to fall back on", name, m[1])
			}
		}
	}
}

// attr reads one attribute of all elements of a class.
func attr(svg, class, name string) []float64 {
	var out []float64
	re := regexp.MustCompile(`<\w+ class="` + class + `"[^>]* ` + name + `="([-\d.]+)%?"`)
	for _, m := range re.FindAllStringSubmatch(svg, -1) {
		v, _ := strconv.ParseFloat(m[1], 64)
		out = append(out, v)
	}
	return out
}

// The frame goes from 19 to 76 % and stands for ±2 permitted errors, so a bias
// of half to once the permitted error lies between 61.75 and 76 − 14.25 %.
func TestLadderPlacesErrorsAsSharesOfThePermitted(t *testing.T) {
	l := Ladder{ID: "l", Title: "t", Scale: ScaleFor(1, 10), Judged: true, Half: 2, Rungs: []Rung{
		{Level: 1, Unit: .5, Bias: Bar{-.25, .25, 0, Within}},
		{Level: 10, Unit: 4, Bias: Bar{4.4, 6, 5, Outside}, Readings: []Mark{{12, 16, 1, ""}}},
	}}
	svg := l.alone()
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= .011) {
			t.Errorf("%s at %g %%, want %g", what, got, want)
		}
	}
	unit := 57.0 / 4
	near("within bar", attr(svg, "m-est within", "x")[0], 47.5-unit/2)
	near("within width", attr(svg, "m-est within", "width")[0], unit)
	near("outside bar", attr(svg, "m-est outside", "x")[0], 47.5+1.1*unit)
	for _, x := range attr(svg, "m-stile", "x1") {
		if !(math.Abs(math.Abs(x-47.5)-unit) <= .011) {
			t.Errorf("a stile stands at %g %%", x)
		}
	}
	near("reading", firstAfter(svg, `<g class="m-read"`, `x1="`), 47.5+.5*unit)
}

func firstAfter(svg, mark, name string) float64 {
	rest := svg[strings.Index(svg, mark):]
	rest = rest[strings.Index(rest, name)+len(name):]
	v, _ := strconv.ParseFloat(rest[:strings.Index(rest, "%")], 64)
	return v
}

func TestLaddersSideBySideShareHeights(t *testing.T) {
	mk := func(id string, n int, levels ...float64) Ladder {
		l := Ladder{ID: id, Title: id, Scale: ScaleFor(.5, 1, 10), Judged: true, Half: 2}
		for _, v := range levels {
			l.Rungs = append(l.Rungs, Rung{Level: v, Unit: 1, Label: fmt.Sprint(v), Readings: []Mark{{v, v + 1, n, ""}}})
		}
		return l
	}
	out := Ladders([]Ladder{mk("a", 12, .5, 1, 10), mk("b", 1, .5, 10)})
	a, b := attr(out[0], "m-rung", "y1"), attr(out[1], "m-rung", "y1")
	if len(a) != 3 || len(b) != 2 || a[0] != b[0] || a[2] != b[1] {
		t.Errorf("rungs at %v and %v", a, b)
	}
	if !(a[0] > a[1] && a[1] > a[2]) {
		t.Errorf("higher levels must stand higher: %v", a)
	}
}

// Every reading is in the figure: as a mark of its own or in a count.
func TestStackLosesNoReading(t *testing.T) {
	f := frame{19, 76, -2, 2}
	for _, c := range []struct {
		name  string
		marks []Mark
	}{
		{"few", []Mark{{-1, 0, 3, ""}, {0, 1, 4, ""}, {-inf, -1, 2, ""}}},
		{"many alike", []Mark{{-1, 0, 300, ""}, {0, 1, 4000, ""}, {1, inf, 17, ""}}},
		{"the same twice", []Mark{{-1, 0, 300, ""}, {-1, 0, 40, ""}, {0, 1, 2, ""}, {-1, 0.001, 5, ""}}},
		{"beyond", []Mark{{3, 4, 5, ""}, {-9, -8, 6, ""}, {0, .01, 2, ""}}},
	} {
		s := layOut(f, c.marks, -1)
		want, got := 0, 0
		for _, m := range c.marks {
			want += m.Count
		}
		for _, x := range s.cells {
			got += x.count
		}
		if got != want || s.rows == nil {
			t.Errorf("%s: %d readings drawn of %d (rows %v)", c.name, got, want, s.rows)
		}
	}
}

func TestThousandsOfReadingsStaySmall(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var r []Mark
	for range 20000 {
		v := rng.NormFloat64()
		r = append(r, Mark{10 + v, 10.0001 + v, 1 + rng.IntN(50), ""})
	}
	svg := Ladder{ID: "l", Title: "t", Scale: ScaleFor(10), Judged: true, Half: 2, Rungs: []Rung{{Level: 10, Unit: 1, Readings: r}}}.alone()
	if len(svg) > 12000 {
		t.Errorf("a level of 20,000 distinct readings makes %d bytes", len(svg))
	}
	if !strings.Contains(svg, "×") {
		t.Error("the count is not said")
	}
}

func TestBarsKeepInsideTheFrame(t *testing.T) {
	f := frame{10, 90, -1, 1}
	for _, b := range []Bar{{-9, 9, 0, Plain}, {5, 6, 5, Outside}, {-6, -5, -5, Within}, {-inf, inf, nan, Undecided}, {.3, .3, .3, Known}} {
		d := &drawing{id: "b"}
		d.bar(f, b, 0, 8)
		x, w := firstAfter(d.b.String(), "m-est", ` x="`), firstAfter(d.b.String(), "m-est", ` width="`)
		if x < 10-.01 || x+w > 90.01 || w < least-.01 {
			t.Errorf("%v is drawn from %g to %g", b, x, x+w)
		}
	}
}

func TestScale(t *testing.T) {
	s := ScaleFor(0, .6, 1.5, 40)
	if s.C0 != .6 || s.Top != 40 {
		t.Fatalf("scale %+v", s)
	}
	for _, c := range []float64{0, .01, .6, 7, 40} { // asinh turned round
		if got := s.C0 * math.Sinh(s.At(c)*math.Asinh(s.Top/s.C0)); !(math.Abs(got-c) <= 1e-9) {
			t.Errorf("%g comes back as %g", c, got)
		}
	}
	if s.At(0) != 0 || s.At(40) != 1 {
		t.Errorf("ends at %g and %g", s.At(0), s.At(40))
	}
	ticks := s.Ticks(.08)
	for i := 1; i < len(ticks); i++ {
		if s.At(ticks[i])-s.At(ticks[i-1]) < .08 {
			t.Errorf("ticks too close: %v", ticks)
		}
	}
	if got := tickText(math.Copysign(0, -1)); got != "0" {
		t.Errorf("0 is written %q", got)
	}
	for _, v := range evenTicks(-1, 1, 4) {
		if tickText(v) == "−0" {
			t.Error("a tick says −0")
		}
	}
}

// By hand: steps of 1 at 0 and 3 at 10, straight between: from 0 to 1, there a
// step of 1.2 to 2.2, there 1.44 to 3.64, there 1.728 to 5.368.
func TestStepEnds(t *testing.T) {
	got := StepEnds([]float64{0, 10}, []float64{1, 3}, 0, 6, 100)
	want := []float64{1, 2.2, 3.64, 5.368}
	if len(got) != len(want) {
		t.Fatalf("ends %v", got)
	}
	for i := range want {
		if !(math.Abs(got[i]-want[i]) <= 1e-12) {
			t.Errorf("ends %v, want %v", got, want)
		}
	}
	if got := StepEnds([]float64{0, 5, 10}, []float64{1, nan, nan}, 0, 10, 100); len(got) != 1 {
		t.Errorf("steps go on where none is known: %v", got)
	}
	if got := StepEnds([]float64{0}, []float64{1e-9}, 0, 10, 400); len(got) != 400 {
		t.Errorf("%d steps", len(got))
	}
}

// The package can be reviewed alone: it imports nothing of this module.
func TestImportsNothingOfTheModule(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if !strings.HasSuffix(file.Name(), ".go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file.Name(), nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, imp := range f.Imports {
			if strings.HasPrefix(imp.Path.Value, `"knownwater`) {
				t.Errorf("%s imports %s", file.Name(), imp.Path.Value)
			}
		}
	}
}

// alone is a ladder that stands beside no other.
func (l Ladder) alone() string { return Ladders([]Ladder{l})[0] }
