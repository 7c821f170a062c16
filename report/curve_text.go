package report

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"knownwater/science/curve"
	"knownwater/science/unit"
)

// roundedTo writes a number with the digits that its uncertainty leaves; a dash where there is none.
func roundedTo(v, u float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if !(u > 0) {
		return trueMinus(fmt.Sprintf("%.4g", v))
	}
	digits := max(0, 1-int(math.Floor(math.Log10(u))))
	return trueMinus(fmt.Sprintf("%.*f", min(digits, 12), v))
}

func trueMinus(s string) string { return strings.Replace(s, "-", "−", 1) }

// limitsOf is an interval, its open ends in words.
func limitsOf(low, high, u float64) string {
	switch {
	case math.IsNaN(low) && math.IsNaN(high):
		return "–"
	case math.IsNaN(low):
		return english.Say("at most {1}", roundedTo(high, u))
	case math.IsNaN(high):
		return english.Say("at least {1}", roundedTo(low, u))
	}
	return english.Say("{1} to {2}", roundedTo(low, u), roundedTo(high, u))
}

// CurveJSON is a curve as its file and the command's JSON hold it.
func CurveJSON(d curve.Document) any { return d.JSON(WordsAll) }

// CurveText tells a fit to a person.
func CurveText(w io.Writer, d curve.Document, out string) error {
	fmt.Fprintln(w, curveHead(d))
	fmt.Fprintln(w, Say(d.Standing()))
	fmt.Fprintln(w, Say(d.Why))
	fmt.Fprintln(w)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "curve\tsignal = %s\n", d.Formula())
	for j, b := range d.Coef {
		fmt.Fprintf(t, "b%d\t%s\t± %s\n", j, roundedTo(b, d.SE(j)), roundedTo(d.SE(j), d.SE(j)))
	}
	fmt.Fprintf(t, "scatter\t%s\n", scatterWords(d.Curve))
	l := d.Limits(1)
	fmt.Fprintf(t, "critical level\t%s\tabove it one reading is no blank's, 5 %% false alarms\n", roundedTo(l.Critical, l.Critical/10))
	fmt.Fprintf(t, "detection limit\t%s\ta level that one reading misses 1 time in 20\n", roundedTo(l.Detection, l.Detection/10))
	fmt.Fprintf(t, "quantification\t%s\tfrom here up u of one reading is at most 10 %%\n", roundedTo(l.Quantification, l.Quantification/10))
	fmt.Fprintf(t, "R²\t%.6f\tproves nothing\n", d.R2)
	if err := t.Flush(); err != nil {
		return err
	}
	judgedText(w, d)
	for _, j := range d.Joins {
		fmt.Fprintln(w, "\n"+Say(j.Says))
	}
	NotesText(w, WordsAll(d.Notes))
	if out != "" {
		out = filepath.Base(out)
		fmt.Fprintf(w, "\nThe curve is in %s: knownwater curve read %s --signal …\n", out, out)
	}
	return nil
}

func curveHead(d curve.Document) string {
	return english.Say("{1} reads from {2} to {3}{4}, fitted to {5} levels, {6} vials.", capital(shapeCalled(d.Shape)), roundedTo(d.Range.LevelLow, 0), roundedTo(d.Range.LevelHigh, 0), scaleBehind(d.Scale), strconv.Itoa(d.Levels), strconv.Itoa(d.Curve.Points))
}

func scatterWords(c curve.Curve) string {
	switch c.Weights {
	case curve.BySpread:
		return english.Say("SD {1} near nothing, growing by {2} of the net signal", fmt.Sprintf("%.3g", c.Sigma0), fmt.Sprintf("%.3g", c.Kappa))
	case curve.OverX, curve.OverX2:
		return english.Say("SD {1} at level 1, weights {2}", fmt.Sprintf("%.3g", c.ResidualSD), string(c.Weights))
	}
	return english.Say("SD {1} of one signal, the same everywhere", fmt.Sprintf("%.3g", c.ResidualSD))
}

func judgedText(w io.Writer, d curve.Document) {
	list := d.Checks
	if len(list) == 0 {
		list = d.LeftOut
	}
	if len(list) == 0 {
		return
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\nknown\tread back\t95 %\terror, 95 %\tpermitted\tverdict")
	for _, j := range list {
		permitted := "–"
		if j.Permitted > 0 {
			permitted = "± " + roundedTo(j.Permitted, 0)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", roundedTo(j.Level, 0), roundedTo(j.Back.Level, j.Back.U), limitsOf(j.Back.Low, j.Back.High, j.Back.U),
			limitsOf(j.Low, j.High, j.Back.U), permitted, j.Verdict)
	}
	t.Flush()
}

func NotesText(w io.Writer, notes []string) {
	if len(notes) > 0 {
		fmt.Fprintln(w)
	}
	for _, n := range notes {
		fmt.Fprintln(w, "Note:", n)
	}
}

// SignalText tells what a signal says.
func SignalText(w io.Writer, s unit.Scale, r curve.Result) error {
	scale := scaleBehind(s)
	switch {
	case r.Outside == curve.Above:
		fmt.Fprintf(w, "Above %s%s.\n", roundedTo(r.Low, 0), scale)
	case r.Outside == curve.Below && r.High == 0:
		fmt.Fprintln(w, "Less than nothing: no level gives this signal.")
	case r.Outside == curve.Below:
		fmt.Fprintf(w, "Below %s%s.\n", roundedTo(r.High, 0), scale)
	case math.IsNaN(r.Level) && math.IsNaN(r.Low) && math.IsNaN(r.High):
		fmt.Fprintln(w, "No level can be said.")
	case math.IsNaN(r.Level):
		fmt.Fprintf(w, "95 %%: %s%s\n", limitsOf(r.Low, r.High, math.Max(r.High-r.Low, 0)/10), scale)
	case math.IsNaN(r.U):
		fmt.Fprintf(w, "%s%s\n", roundedTo(r.Level, 0), scale)
	default:
		fmt.Fprintf(w, "%s%s (95 %%: %s; u = %s, %s)\n", roundedTo(r.Level, r.U), scale, limitsOf(r.Low, r.High, r.U), roundedTo(r.U, r.U), readingsOf(r.N))
		for _, p := range r.Parts {
			fmt.Fprintf(w, "  %-18s %s\n", p.Name, roundedTo(p.U, p.U))
		}
	}
	NotesText(w, WordsAll(r.Notes))
	return nil
}

func readingsOf(n int) string {
	if n == 1 {
		return english.Say("one reading")
	}
	return english.Say("{1} readings", strconv.Itoa(n))
}

// scaleBehind is the unit behind a number, nothing where nobody stated it.
func scaleBehind(s unit.Scale) string {
	if s.Unit == "" {
		return ""
	}
	return " " + clean(s.String())
}
