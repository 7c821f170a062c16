package curve

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/response"
)

// mostLevels bounds the covariance of knowns.
const mostLevels = 1000

// Faults says what keeps points from carrying a curve, every fault with its row:
// what cannot be, and what looks like a slip (the last not for somebody who is Sure).
func Faults(points []Point, o Options) knownwater.Faults {
	faults := append(Impossible(points), repeated(points)...)
	if len(faults) > 0 {
		return faults
	}
	lv := reduce(points)
	if lv.count() == 0 {
		return fault("no point is there to fit: every role is check", "points of role fit")
	}
	if lv.count() == 1 {
		return fault("all %d points of the fit are at one level, %.4g",
			"knowns at two levels or more; five, a blank among them, show the shape too", lv.points, lv.c[0])
	}
	if lv.count() > mostLevels {
		return fault("%d different levels", "at most %d", lv.count(), mostLevels)
	}
	if flat(lv) {
		return fault("the signal is the same at every level: it says nothing about the level",
			"signals that change with the level; look whether the columns or the wavelength are the right ones")
	}
	if o.Sure {
		return nil
	}
	return append(exchanged(points), transmittance(lv)...)
}

func fault(found, want string, values ...any) knownwater.Faults {
	return knownwater.Faults{knownwater.Fault{Found: found, Want: want}.Of(values...)}
}

// Impossible are numbers that no measurement gives.
func Impossible(points []Point) (faults knownwater.Faults) {
	for _, p := range points {
		bad := func(column string, v float64, want string) {
			faults = append(faults, knownwater.Fault{Row: p.Row, Column: column, Found: fmt.Sprint(v), Want: want})
		}
		switch finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }; {
		case !finite(p.Level) || p.Level < 0:
			bad("level", p.Level, "a concentration, 0 or more")
		case !finite(p.Signal) || math.Abs(p.Signal) > 1e100:
			bad("signal", p.Signal, "a number")
		case !finite(p.ULevel) || p.ULevel < 0:
			bad("u_level", p.ULevel, "a standard uncertainty, 0 or more")
		case !finite(p.UBackground) || p.UBackground < 0:
			bad("u_background", p.UBackground, "a standard uncertainty, 0 or more")
		case p.UBackground > p.ULevel*(1+1e-9):
			bad("u_background", p.UBackground, "no more than u_level, of which it is a part")
		case !finite(p.Dilution) || p.Dilution <= 0:
			bad("dilution", p.Dilution, "a factor above 0; 1 where undiluted")
		}
	}
	return faults
}

func flat(lv levels) bool {
	for _, m := range lv.mean {
		if m != lv.mean[0] {
			return false
		}
	}
	return true
}

// repeated finds points that stand twice: one replicate of one session twice,
// a check that is a copy of a point of the fit, or a file that holds its
// points two times over.
func repeated(points []Point) (faults knownwater.Faults) {
	type labelled struct {
		level, dilution    float64
		session, replicate string
	}
	first := map[labelled]Point{}
	for _, p := range points {
		if p.Replicate == "" {
			continue
		}
		key := labelled{p.Level, p.Dilution, p.Session, p.Replicate}
		old, ok := first[key]
		if !ok {
			first[key] = p
			continue
		}
		f := knownwater.Fault{Row: p.Row, Column: "replicate", Found: "replicate %s of level %.6g stands in row %d already", Want: "each replicate once; another label if it was another test"}.Of(p.Replicate, p.Level, old.Row)
		if old.Check != p.Check {
			f.Want = "a point either is fitted or is a check: a check that was fitted proves nothing"
		}
		faults = append(faults, f)
	}
	if n := len(points); faults == nil && n >= 8 && n%2 == 0 && sameHalves(points) {
		half := n / 2
		faults = fault("rows from %d on repeat the rows from %d on, point by point",
			"each point once: copies make a curve look surer than it is", points[half].Row, points[0].Row)
	}
	return faults
}

func sameHalves(points []Point) bool {
	half := len(points) / 2
	distinct := map[float64]bool{}
	for i, p := range points[:half] {
		q := points[half+i]
		if p.Level != q.Level || p.Signal != q.Signal || p.Check != q.Check || p.Session != q.Session || p.Dilution != q.Dilution {
			return false
		}
		distinct[p.Signal] = true
	}
	return len(distinct) >= 4
}

// exchanged asks whether level and signal stand in each other's column: many
// different levels, few different signals that return again and again; or
// levels written with three decimals more than the signals.
func exchanged(points []Point) knownwater.Faults {
	level, signal := map[float64]int{}, map[float64]int{}
	for _, p := range points {
		level[p.Level]++
		signal[p.Signal]++
	}
	again := true
	for _, n := range signal {
		again = again && n >= 2
	}
	n := len(points)
	returns := n >= 6 && again && 10*len(level) >= 8*n
	rounder := n >= 3 && finest(points, func(p Point) float64 { return p.Level }) >= 3 &&
		finest(points, func(p Point) float64 { return p.Signal }) <= 1 && len(signal) >= 3 &&
		highest(points, func(p Point) float64 { return p.Level }) <= 4 && highest(points, func(p Point) float64 { return p.Signal }) > 4
	if returns || rounder {
		return fault("are the columns level and signal exchanged? The signals look like concentrations that were made up, the levels like what was measured",
			"exchange the columns; if they are right, say --sure")
	}
	return nil
}

func finest(points []Point, of func(Point) float64) int {
	most := 0
	for _, p := range points {
		s := strconv.FormatFloat(of(p), 'f', -1, 64)
		if i := strings.IndexByte(s, '.'); i >= 0 {
			most = max(most, len(s)-i-1)
		}
	}
	return most
}

func highest(points []Point, of func(Point) float64) float64 {
	top := math.Inf(-1)
	for _, p := range points {
		top = math.Max(top, of(p))
	}
	return top
}

// transmittance asks about signals that fall from near 100 (or near 1) and stay
// above 0, as transmittance does and absorbance does not.
func transmittance(lv levels) knownwater.Faults {
	last := lv.count() - 1
	least, most := math.Inf(1), math.Inf(-1)
	for _, m := range lv.mean {
		least, most = math.Min(least, m), math.Max(most, m)
	}
	if lv.mean[last] >= lv.mean[0] || least <= 0 {
		return nil
	}
	ask := func(what, word string) knownwater.Faults {
		return fault("is the signal %s? It falls from %.4g to %.4g as the level rises, where absorbance would rise",
			"say --signal %s to turn it into absorbance, or --signal other to fit it as it stands", what, lv.mean[0], lv.mean[last], word)
	}
	switch {
	case most > 30 && most <= 110:
		return ask("transmittance in percent", "percent")
	case most > 0.3 && most <= 1.1:
		return ask("transmittance", "transmittance")
	}
	return nil
}

// tooFew refuses more coefficients than the levels carry.
func (pr problem) tooFew(o Options) knownwater.Faults {
	f := response.Of(o.Shape)
	if o.Shape == "" {
		f = response.Of(Line)
	}
	if f == nil {
		return fault("%q is no shape", "line, quadratic, cubic, saturating, stray light or dead zone", o.Shape)
	}
	carry := pr.count()
	if pr.zero && pr.c[0] == 0 {
		carry-- // a forced zero has no use for the blank
	}
	if need := pr.free(f); need > carry {
		return fault("%s has %d coefficients, %d levels carry at most %d",
			"a shape with fewer, or knowns at %d levels or more, one to spare to judge it by", f.Called, need, pr.count(), carry, need+1)
	}
	return nil
}
