package report

import (
	"fmt"
	"io"
	"text/tabwriter"

	"knownwater/science/curve"
	"knownwater/science/handover"
	"knownwater/science/matrix"
	"knownwater/science/num"
	"knownwater/science/scan"
)

type bandOut struct {
	Wavelength  float64    `json:"wavelength"`
	Width       float64    `json:"width"`
	Slope       num.Number `json:"slope"`
	Noise       num.Number `json:"noise"`
	Sharpness   num.Number `json:"slope_against_noise"`
	Bend        num.Number `json:"bend"`
	BendLow     num.Number `json:"bend_low"`
	BendHigh    num.Number `json:"bend_high"`
	Straight    num.Number `json:"lack_of_fit_p"`
	Interferent string     `json:"interferent"`
	Interfering num.Number `json:"interfering"`
	Disturbs    bool       `json:"disturbs"`
}

func bandOf(b scan.Band) bandOut {
	n := func(v float64) num.Number { return num.Number(v) }
	return bandOut{b.Wavelength, b.Width, n(b.Slope), n(b.Noise), n(b.Sharpness), n(b.Bend), n(b.BendLow), n(b.BendHigh), n(b.Straight), b.Interferent, n(b.Interfering), b.Disturbs()}
}

func bandsOf(list []scan.Band) []bandOut {
	out := []bandOut{}
	for _, b := range list {
		out = append(out, bandOf(b))
	}
	return out
}

func ScanJSON(s scan.Choice) any {
	return struct {
		Best    bandOut   `json:"best"`
		Wide    []bandOut `json:"wide"`
		Bands   []bandOut `json:"bands"`
		Verdict string    `json:"verdict"`
		Notes   []string  `json:"notes"`
	}{bandOf(s.Best), bandsOf(s.Wide), bandsOf(s.Bands), ScanWords(s), WordsAll(s.Notes)}
}

func ScanText(w io.Writer, s scan.Choice) error {
	fmt.Fprintln(w, ScanWords(s))
	fmt.Fprintln(w)
	err := underHeading(w, "nm\twidth\tslope\tscatter\tslope/scatter\tbend\tinterferent\ttaken for", func(row func(...any)) {
		n := fmt.Sprintf
		for _, b := range append([]scan.Band{s.Best}, s.Wide...) {
			row(n("%.4g", b.Wavelength), n("%.3g", b.Width), n("%.4g", b.Slope), roundedTo(b.Noise, b.Noise), roundedTo(b.Sharpness, 0),
				n("%.1f %%", 100*b.Bend), b.Interferent, n("%.3g", b.Interfering))
		}
	})
	NotesText(w, WordsAll(s.Notes))
	return err
}

type pairOut struct {
	Level  float64 `json:"level"`
	Signal float64 `json:"signal"`
}

func pairsOf(list []handover.Pair) []pairOut {
	out := []pairOut{}
	for _, p := range list {
		out = append(out, pairOut{p.Level, p.Signal})
	}
	return out
}

func TableJSON(d curve.Document, t handover.Table) any {
	at := handover.CheckLevel(d)
	low, high := handover.Show(d.Curve, at, t)
	return struct {
		Pairs        []pairOut  `json:"pairs"`
		Coefficients []float64  `json:"coefficients"`
		Worst        num.Number `json:"adds_at_most"`
		WorstAt      num.Number `json:"adds_most_at"`
		Unrounded    num.Number `json:"adds_at_most_unrounded"`
		Expected     []pairOut  `json:"check_sheet"`
		Known        float64    `json:"then_test_known"`
		ShowLow      num.Number `json:"should_show_low"`
		ShowHigh     num.Number `json:"should_show_high"`
		Notes        []string   `json:"notes"`
	}{pairsOf(t.Pairs), append([]float64{}, t.Coefficients...), num.Number(t.Worst), num.Number(t.WorstAt), num.Number(t.Unrounded),
		pairsOf(t.Expected), at, num.Number(low), num.Number(high), WordsAll(t.Notes)}
}

func TableText(w io.Writer, d curve.Document, t handover.Table, digits handover.Digits) error {
	if t.Coefficients != nil {
		fmt.Fprintf(w, "level = k0 + k1·signal + …, between the signals %.*f and %.*f only\n\n", digits.Signal, d.Range.SignalLow, digits.Signal, d.Range.SignalHigh)
		for j, k := range t.Coefficients {
			fmt.Fprintf(w, "  [ ] k%d  %s\n", j, trueMinus(fmt.Sprintf("%.*g", digits.Coefficient, k)))
		}
	} else {
		tw := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
		fmt.Fprintln(tw, "typed\tpair\tlevel\tsignal")
		for i, p := range t.Pairs {
			fmt.Fprintf(tw, "[ ]\t%d\t%.*f\t%s\n", i+1, digits.Level, p.Level, trueMinus(fmt.Sprintf("%.*f", digits.Signal, p.Signal)))
		}
		tw.Flush()
	}
	fmt.Fprintf(w, "\nThis adds at most %.2g to the error of the curve, at %.3g; with every digit typed it would be %.2g.\n", t.Worst, t.WorstAt, t.Unrounded)
	fmt.Fprintln(w, "\nCheck sheet. Wherever the instrument can be given a signal, or shows one, it should show:")
	for _, p := range t.Expected {
		fmt.Fprintf(w, "  signal %.*f   level %s\n", digits.Signal, p.Signal, trueMinus(fmt.Sprintf("%.*f", digits.Level, p.Level)))
	}
	at := handover.CheckLevel(d)
	low, high := handover.Show(d.Curve, at, t)
	fmt.Fprintf(w, "\nThen test the known of %.4g with the instrument alone. It should show %s. If it does not, one of them is mistyped.\n", at, limitsOf(low, high, (high-low)/2))
	NotesText(w, WordsAll(t.Notes))
	return nil
}

func MatrixJSON(m matrix.Effect) any {
	n := func(v float64) num.Number { return num.Number(v) }
	return struct {
		Slope      num.Number `json:"slope_ratio"`
		SlopeLow   num.Number `json:"slope_ratio_low"`
		SlopeHigh  num.Number `json:"slope_ratio_high"`
		Offset     num.Number `json:"offset"`
		OffsetLow  num.Number `json:"offset_low"`
		OffsetHigh num.Number `json:"offset_high"`
		Margin     float64    `json:"margin"`
		Verdict    string     `json:"slope_verdict"`
		Words      string     `json:"verdict"`
		Notes      []string   `json:"notes"`
	}{n(m.Slope), n(m.SlopeLow), n(m.SlopeHigh), n(m.Offset), n(m.OffsetLow), n(m.OffsetHigh), m.Margin, m.Verdict, MatrixWords(m), WordsAll(m.Notes)}
}

func AdditionsJSON(a matrix.Added) any {
	n := func(v float64) num.Number { return num.Number(v) }
	return struct {
		Level     num.Number `json:"level"`
		U         num.Number `json:"u"`
		Low       num.Number `json:"low"`
		High      num.Number `json:"high"`
		Slope     num.Number `json:"slope"`
		USlope    num.Number `json:"u_slope"`
		Ratio     num.Number `json:"slope_ratio"`
		RatioLow  num.Number `json:"slope_ratio_low"`
		RatioHigh num.Number `json:"slope_ratio_high"`
		LackOfFit num.Number `json:"lack_of_fit_p"`
		Straight  bool       `json:"straight"`
		N         int        `json:"n"`
		Words     string     `json:"verdict"`
		Notes     []string   `json:"notes"`
	}{n(a.Value), n(a.U), n(a.Low), n(a.High), n(a.Slope), n(a.USlope), n(a.SlopeRatio), n(a.SlopeRatioLow), n(a.SlopeRatioHigh), n(a.BentP), a.Straight, a.N, AdditionsWords(a), SayAll(a.Notes)}
}

type shiftOut struct {
	Level     num.Number `json:"level"`
	New       num.Number `json:"new"`
	Low       num.Number `json:"difference_low"`
	High      num.Number `json:"difference_high"`
	Permitted num.Number `json:"permitted"`
}

func VersionsJSON(k curve.Comparison) any {
	out := struct {
		From    num.Number `json:"from"`
		To      num.Number `json:"to"`
		Shifts  []shiftOut `json:"shifts"`
		Verdict string     `json:"verdict"`
		Words   string     `json:"words"`
	}{num.Number(k.From), num.Number(k.To), []shiftOut{}, k.Verdict, ComparedWords(nil, k)}
	for _, s := range k.Shifts {
		permitted := num.Number(s.Permitted)
		if s.Permitted == 0 {
			permitted = num.None
		}
		out.Shifts = append(out.Shifts, shiftOut{num.Number(s.Level), num.Number(s.New), num.Number(s.Low), num.Number(s.High), permitted})
	}
	return out
}

func VersionsText(w io.Writer, k curve.Comparison) error {
	fmt.Fprintln(w, ComparedWords(nil, k))
	if len(k.Shifts) == 0 {
		return nil
	}
	fmt.Fprintln(w)
	return underHeading(w, "old reads\tnew reads\tdifference, 95 %\tpermitted", func(row func(...any)) {
		for _, s := range k.Shifts {
			permitted := none
			if s.Permitted > 0 {
				permitted = "± " + roundedTo(s.Permitted, 0)
			}
			u := (s.High - s.Low) / 4
			row(roundedTo(s.Level, u), roundedTo(s.New, u), limitsOf(s.Low, s.High, u), permitted)
		}
	})
}

func CurveRecheckJSON(r curve.Recheck) any {
	n := func(v float64) num.Number { return num.Number(v) }
	return struct {
		Blank     num.Number `json:"blank_shift"`
		BlankLow  num.Number `json:"blank_shift_low"`
		BlankHigh num.Number `json:"blank_shift_high"`
		Slope     num.Number `json:"slope"`
		SlopeLow  num.Number `json:"slope_low"`
		SlopeHigh num.Number `json:"slope_high"`
		U         num.Number `json:"u_slope"`
		Verdict   string     `json:"verdict"`
		Words     string     `json:"words"`
	}{n(r.Blank), n(r.BlankLow), n(r.BlankHigh), n(r.Slope), n(r.SlopeLow), n(r.SlopeHigh), n(r.USlope), r.Verdict, RecheckWords(r)}
}
