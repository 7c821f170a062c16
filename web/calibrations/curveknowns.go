package calibrations

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"

	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/render"
	"knownwater/wording"
)

// backRow is a known read back.
type backRow struct {
	curve.Judged
	Use      chart.Use
	Signal   float64 // mean
	Dilution float64
	in       *wording.Language
}

// Used is what the known was for, in words.
func (b backRow) Used() string {
	return b.in.Say(map[chart.Use]string{chart.Fitted: wording.Key("fitted"), chart.Held: wording.Key("held out"), chart.Gone: wording.Key("left out")}[b.Use])
}

// Class colours the verdict of a held-out known.
func (b backRow) Class() string { return verdictClassOf(b.Verdict) }

// Sign is its error between the permitted ones.
func (b backRow) Sign() template.HTML {
	v, judged := map[string]chart.Verdict{curve.Within: chart.Within, curve.Undecided: chart.Undecided, curve.OutsideIt: chart.Outside}[b.Verdict]
	if !judged || !(b.Permitted > 0) || math.IsNaN(b.Low) || math.IsNaN(b.High) {
		return ""
	}
	flat := chart.Flat{ID: "held-" + strconv.FormatFloat(b.Level, 'g', -1, 64), Half: 1.75, Judged: true,
		Bar: chart.Bar{Low: b.Low / b.Permitted, High: b.High / b.Permitted, Notch: math.NaN(), Verdict: v}} // too small for a notch
	return template.HTML(flat.SVG())
}

// Most is the permitted error.
func (b backRow) Most() string { return unit.TrueMinus(strconv.FormatFloat(b.Permitted, 'g', 3, 64)) }

// Est and Span are what it gave, in words: the level, and its interval.
func (b backRow) Est() string {
	est, _ := resultParts(b.in, b.Back)
	return est
}

// Span: see Est.
func (b backRow) Span() string {
	_, span := resultParts(b.in, b.Back)
	return span
}

// Off is the error with its limits.
func (b backRow) Off() string { return render.SignedLimits(b.Low, b.High) }

// pointRow is one point as it was seen.
type pointRow struct {
	calibrations.CurvePoint
	N        int
	Residual string
	Beyond   bool // saturated, so that the fit left it out
}

// readBack reads every known of a segment back, as if it were held out.
func (p *curvePage) readBack(seg curve.Segment, gone []curve.Point) (rows []backRow, seen []chart.Seen) {
	groups := map[chart.Use][]curve.Point{}
	add := func(pt curve.Point, use chart.Use) {
		if pt.Dilution != seg.Dilution {
			return
		}
		pt.Check = true
		groups[use] = append(groups[use], pt)
		at := chart.Seen{Level: pt.Level / pt.Dilution, Signal: pt.Signal, Use: use}
		if p.Curve.Latest && !p.Curve.Retired && pt.Row > 0 {
			at.Href = fmt.Sprintf("/curves/%d?version=%d&point=%d#points", p.Curve.ID, p.Curve.VersionID, pt.Row)
		}
		seen = append(seen, at)
	}
	for _, pt := range p.Curve.Doc.Points {
		switch {
		case pt.Check:
			add(pt.Point, chart.Held)
		case pt.Level/pt.Dilution > seg.Top: // saturated, so that the fit left it out
			add(pt.Point, chart.Gone)
		default:
			add(pt.Point, chart.Fitted)
		}
	}
	for _, pt := range gone {
		add(pt, chart.Gone)
	}
	for _, use := range []chart.Use{chart.Fitted, chart.Held, chart.Gone} {
		for _, j := range seg.Checks(groups[use], p.Curve.Spec.Need) {
			sum := 0.0
			for _, pt := range groups[use] {
				if pt.Level == j.Level {
					sum += pt.Signal
				}
			}
			rows = append(rows, backRow{j, use, sum / float64(j.N), seg.Dilution, p.in})
		}
	}
	slices.SortStableFunc(rows, func(a, b backRow) int {
		switch {
		case a.Level < b.Level:
			return -1
		case a.Level > b.Level:
			return 1
		}
		return int(a.Use - b.Use)
	})
	return rows, seen
}

func (p *curvePage) points() {
	back := map[int]curve.PointBack{}
	for _, pt := range p.Curve.Doc.Points {
		back[pt.Row] = pt
	}
	for i, pt := range p.Curve.Spec.Points {
		row := pointRow{CurvePoint: pt, N: i + 1, Residual: "–"}
		if b, ok := back[i+1]; ok {
			row.Residual = unit.Signed(b.Residual, p.Curve.Doc.ResidualSD)
			row.Beyond = math.IsNaN(b.Residual)
		}
		p.Points = append(p.Points, row)
	}
}
