package calibrations

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/reading"
)

// CurveFromTrial are the readings of one method of a finished trial as points: a
// signal a vial, with the level of its known. A vial that was read more than once
// gives the mean, since its readings share whatever is wrong with the vial. What
// the knowns' uncertainties share becomes the stock's part, and what comes of their water's background stays with each point. skipped counts
// readings that are no plain number, and those left out of the findings. Owner.
func (b *Operations) CurveFromTrial(ctx context.Context, by knownwater.Who, trial, method int64) (s CurveSpec, skipped int, err error) {
	if err := by.MustOwn(); err != nil {
		return s, 0, err
	}
	err = b.read(ctx, func(t tx) error {
		r, err := t.from.Trial(t.Tx, trial, method)
		if err != nil {
			return err
		}
		s = CurveSpec{Name: r.Method, Method: r.Method, Scale: r.Scale, Source: "trial “" + r.Trial + "”", Matrix: matrixOf(r.Knowns)}
		s.Choices.UStock = sharedOf(r.Knowns)
		s.Conversion.Kind = curve.Signal(reading.Of(r.Kind).Curve)
		skipped = s.take(r.Readings)
		for i, p := range s.Points {
			s.Points[i].UWater = backgroundOf(r.Knowns, p.Level, p.ULevel)
		}
		return nil
	})
	return s, skipped, err
}

// take makes points of readings, one a vial and dilution.
func (s *CurveSpec) take(list []knownwater.VialReading) (skipped int) {
	type vial struct {
		id       int64
		dilution float64
	}
	at, times, lots := map[vial]int{}, map[vial]float64{}, map[string]bool{}
	again := 0
	for _, x := range list {
		v, _, err := reading.Number(strings.Replace(strings.TrimSpace(x.Text), ",", ".", 1))
		if err != nil || x.LeftOut {
			skipped++
			continue
		}
		lots[x.Lot] = true
		k := vial{x.Vial, x.Dilution}
		if times[k]++; times[k] > 1 {
			p := &s.Points[at[k]]
			p.Signal += (v - p.Signal) / times[k]
			again++
			continue
		}
		at[k] = len(s.Points)
		s.Points = append(s.Points, CurvePoint{Level: x.Level, ULevel: x.ULevel, Signal: v, Session: strconv.Itoa(x.Session), Replicate: x.Code, Dilution: x.Dilution})
		s.Lot = x.Lot
	}
	if len(lots) > 1 {
		s.Lot = ""
		s.note("The trial used several lots.")
	}
	if again > 0 {
		s.note(fmt.Sprintf("Vials that were read more than once stand with their mean: %d readings went into those of others.", again))
		for i := range s.Points { // a mean needs no more digits than three beyond its readings'
			s.Points[i].Signal, _ = strconv.ParseFloat(strconv.FormatFloat(s.Points[i].Signal, 'g', 12, 64), 64)
		}
	}
	return skipped
}

func (s *CurveSpec) note(text string) { s.Note = strings.TrimSpace(s.Note + " " + text) }

// matrixOf is what the knowns were made in, where all that say so agree.
func matrixOf(knowns []knownwater.LevelTried) (matrix string) {
	for _, k := range knowns {
		switch {
		case k.Matrix == "" || k.Matrix == matrix:
		case matrix != "":
			return ""
		default:
			matrix = k.Matrix
		}
	}
	return matrix
}

// backgroundOf is the part of a known's uncertainty that comes from its water's background.
func backgroundOf(knowns []knownwater.LevelTried, level, u float64) float64 {
	for _, k := range knowns {
		if k.Level == level && k.U == u {
			return math.Min(k.UBackground, u)
		}
	}
	return 0
}

// sharedOf is the relative standard uncertainty that the knowns share, their
// stock's: the middle of theirs, to three digits; 0 where none is said.
func sharedOf(knowns []knownwater.LevelTried) float64 {
	var shares []float64
	for _, k := range knowns {
		if k.Level > 0 {
			shares = append(shares, math.Abs(k.UShared)/k.Level)
		}
	}
	if len(shares) == 0 {
		return 0
	}
	slices.Sort(shares)
	v, _ := strconv.ParseFloat(strconv.FormatFloat(shares[len(shares)/2], 'g', 3, 64), 64)
	return min(v, 0.499)
}
