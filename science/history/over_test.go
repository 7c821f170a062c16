package history_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// A water of 5 read by a meter that errs by 0.2 and has what it shows above 5 diluted eightfold: half of its readings are
// low ones, the other half say next to nothing by themselves. Half of a water of 3 is diluted by choice.
func TestDilutedAboveAReading(t *testing.T) {
	told := func(over, water float64) (level, held float64, n int) {
		meter := meter
		meter.DilutionOver, meter.DilutionFactor = over, 8
		p := recordAs(t, meter)
		rng := num.Source(3)
		var log []history.Entry
		for week := range 60 {
			e := history.Entry{Row: week + 2, At: time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "north tank", Method: "Meter", Lot: "L1", Reader: "Ines", Dilution: 1}
			y := water + 0.2*rng.NormFloat64()
			if y > 5.005 || water == 3 && week%2 == 0 {
				y, e.Dilution = water/8+0.2*rng.NormFloat64(), 8
			}
			e.Reading = fmt.Sprintf("%.2f", math.Max(0, y))
			log = append(log, e)
		}
		h := judged(t, log, p)
		want := map[float64]string{3: "diluted-by-choice", 5: "diluted-as-sheet"}[water]
		if said := slices.ContainsFunc(h.Notes, func(n note.Note) bool { return n.Code == want }); said != (over > 0) {
			t.Errorf("water of %v, diluted above %v: %v", water, over, h.Notes)
		}
		for _, l := range h.Levels {
			level += l.Level / float64(len(h.Levels))
			if l.Low <= water && water <= l.High {
				held++
			}
		}
		for _, c := range h.Changes {
			if !math.IsNaN(c.Before) && math.Abs(c.Before-water) > 0.35 {
				t.Errorf("a span of it stands at %.2f", c.Before)
			}
		}
		return level, held / float64(len(h.Levels)), len(h.Levels)
	}
	level, held, n := told(5, 5)
	if n != 60 || math.Abs(level-5) > 0.1 || held < 0.9 {
		t.Errorf("%d levels, mean %.3f, %.0f %% hold 5", n, level, 100*held)
	}
	if level, _, _ := told(0, 5); level > 4.9 { // where no sheet says so nothing is known of how it was
		t.Errorf("without the rule the mean is %.3f: the test tells nothing", level)
	}
	if level, held, n := told(5, 3); n != 60 || math.Abs(level-3) > 0.1 || held < 0.9 {
		t.Errorf("diluted by choice: %d levels, mean %.3f, %.0f %% hold 3", n, level, 100*held)
	}
}

// Checks of a known of 5 by a meter of which the sheet has what it shows above 5 diluted: what reads low is left undiluted. Those
// that were diluted had read more than 5, which is held against the others.
func TestChecksDilutedAboveAReading(t *testing.T) {
	meter := meter
	meter.Resolution, meter.DilutionOver, meter.DilutionFactor = 0.1, 5, 8
	p := recordAs(t, meter)
	checks := func(known float64) history.Checks {
		rng := num.Source(4)
		var log []history.Entry
		for week := range 60 {
			e := history.Entry{Row: week + 2, At: time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "check", Method: "Meter", Lot: "L1", Reader: "Ines", Dilution: 1, Check: true, Known: known, UKnown: 0.02}
			y := known + 0.2*rng.NormFloat64()
			if math.Round(10*y) > 50 || known == 3 && week%5 == 0 { // for another reason
				y, e.Dilution = known/8+0.2*rng.NormFloat64(), 8
			}
			e.Reading = fmt.Sprintf("%.1f", math.Max(0, y))
			log = append(log, e)
		}
		return judged(t, log, p).Checks[0]
	}
	if c := checks(4.98); len(c.Entries) != 60 || c.Chart.State == control.Moved || !(c.Low < 1 && 1 < c.High) || c.OtherwiseDiluted != 0 {
		t.Errorf("4.98: %d checks, %s, %.3f (%.3f to %.3f)", len(c.Entries), c.Chart.State, c.Ratio, c.Low, c.High)
	}
	if c := checks(3); len(c.Entries) != 48 || c.Chart.State == control.Moved || !(c.Low < 1 && 1 < c.High) || c.OtherwiseDiluted != 12 {
		t.Errorf("3: %d checks, %s, %.3f (%.3f to %.3f)", len(c.Entries), c.Chart.State, c.Ratio, c.Low, c.High)
	}
}

// A card of which the sheet has more than 4.6 diluted, in the midst of the colour between its swatches 4 and 5: of checks of 4.5 that
// look so those that are more were diluted, others not.
func TestChecksDilutedWithinAnAnswer(t *testing.T) {
	card := knownwater.Method{Name: "Meter", Kind: knownwater.Chart, AtShare: 0.25, DilutionOver: 4.6, DilutionFactor: 8}
	for k := range 17 {
		card.Swatches = append(card.Swatches, float64(k))
	}
	p := recordAs(t, card)
	rng := num.Source(6)
	var log []history.Entry
	for week := range 60 {
		e := history.Entry{Row: week + 2, At: time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "check", Method: "Meter", Lot: "L1", Reader: "Ines", Dilution: 1, Check: true, Known: 4.5, UKnown: 0.02}
		y := 4.5 + 0.2*rng.NormFloat64()
		if y > 4.6 {
			y, e.Dilution = 4.5/8+0.2*rng.NormFloat64(), 8
		}
		e.Reading = reading.Show(math.Max(0, y), card)
		log = append(log, e)
	}
	if c := judged(t, log, p).Checks[0]; len(c.Entries) != 60 || c.Chart.State == control.Moved || c.Low > 1 || c.High < 1 {
		t.Errorf("%d checks, %s, %.3f (%.3f to %.3f)", len(c.Entries), c.Chart.State, c.Ratio, c.Low, c.High)
	}
}
