package history

import (
	"math"
	"slices"
	"time"

	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/series"
)

// Range is what a water is to be held in.
type Range struct {
	Need      string
	Low, High float64
	Sure      float64 // how sure somebody wants to be that it is inside; 0: 0.95
}

func (r Range) interval() interval.Interval { return interval.Interval{Low: r.Low, High: r.High} }

func (r Range) sure() float64 {
	if r.Sure > 0 {
		return r.Sure
	}
	return 0.95
}

// Hold is how a water kept to a range over results that are linked with one another and with
// known water, and how long it may go untested. NaN is what cannot be said.
type Hold struct {
	Water string
	Range Range // Sure is filled in
	From  time.Time
	To    time.Time
	N     int
	// Share of the time from the first result to the last that it was inside: the middle one of all
	// that the results leave open, and 95 %.
	Share, Low, High float64
	Last             bool    // the newest result is among these: what follows is said
	Now              float64 // the chance that it was inside on the last day
	// Next is the next day of testing, if the water is tested as often as it was lately; the
	// chances on that day.
	Next                 time.Time
	Below, Inside, Above float64
	// TestBy is the last day on which the chance of being inside is still Sure: the last day of
	// testing, where it was not even then. Beyond: it lies further away than is said.
	TestBy time.Time
	Beyond bool
	Why    *note.Note // why nothing is said, or no share
}

const (
	fewestForHold = 6       // results
	shortestHold  = 14.0    // days
	furthestHold  = 182     // days that a forecast goes ahead at most, nor more than there are results for
	narrowest     = num.Z95 // standard deviations of what is open of the level's mean: less is no range to tell a share of
	latelyTests   = 9       // days of testing say how often a water is tested
)

// holdsOf say how a water kept to its ranges: for every stretch of linked results. stretch is one
// of them as the series knows it; points are all of its results that are used.
func (l *links) holdsOf(water string, points, stretch []point, r row, w series.Wanders, past series.Goings, shared [][]float64) (out []Hold) {
	if len(l.Hold) == 0 {
		return nil
	}
	n := len(stretch)
	nan := math.NaN()
	blank := Hold{Water: water, From: stretch[0].At, To: stretch[n-1].At, N: n, Share: nan, Low: nan, High: nan, Now: nan, Below: nan, Inside: nan, Above: nan}
	blank.Last = stretch[n-1].at == points[len(points)-1].at
	blank.Why = l.holdRefused(water, stretch)
	ranges := make([]interval.Interval, len(l.Hold))
	for i, x := range l.Hold {
		ranges[i] = x.interval()
		x.Sure = x.sure()
		blank.Range = x
		out = append(out, blank)
	}
	if blank.Why != nil {
		return out
	}
	inDraw := func(d int, into []float64) {
		for i := range into {
			into[i] = shared[i][d]
		}
	}
	spread := r.spread()
	held := series.GoingsOf(r.days, r.seen, spread).Held(r.days, r.seen, draws, inDraw, ranges)
	went := past.Held(r.days, r.seen, draws, inDraw, ranges)
	var ends series.Ends
	if blank.Last {
		ends = w.Ends(r.days, r.seen, spread, inDraw)
	}
	usual := usualGap(points)
	for i := range out {
		h := &out[i]
		if width := h.Range.High - h.Range.Low; width < narrowest*held.Doubt {
			why := note.New("hold-narrow").Number("wide", width).Number("doubt", num.Z95*held.Doubt)
			h.Why = &why
		} else {
			h.Share, h.Low, h.High = series.ShareOf(held.Shares[i], went.Shares[i], held.Stays[i])
		}
		if h.Last {
			h.ahead(ends, usual)
		}
	}
	return out
}

// holdRefused is why nothing is said of a range.
func (l *links) holdRefused(water string, stretch []point) *note.Note {
	n := len(stretch)
	open, days := 0, stretch[n-1].day-stretch[0].day
	for _, p := range stretch {
		if p.open {
			open++
		}
	}
	var why note.Note
	switch {
	case !l.true_[l.group[stretch[0].set]]:
		why = note.New("hold-not-tied").Name("water", water).Name("method", stretch[0].Method)
	case n < fewestForHold || days < shortestHold:
		why = note.New("hold-too-few").Name("water", water).Number("results", float64(n)).Number("days", math.Floor(days)).Number("wanted", fewestForHold).Number("over", shortestHold)
	case 2*open > n:
		why = note.New("hold-beyond").Name("water", water).Number("open", float64(open)).Number("results", float64(n))
	default:
		return nil
	}
	return &why
}

// ahead says what becomes of the water if it wanders on as it did.
func (h *Hold) ahead(ends series.Ends, usual int) {
	r := h.Range.interval()
	_, h.Now, _ = ends.Chances(r, 0)
	last := dayOf(h.To)
	h.Next = last.AddDate(0, 0, usual)
	h.Below, h.Inside, h.Above = ends.Chances(r, float64(usual))
	h.TestBy = last
	most := min(furthestHold, int(h.To.Sub(h.From).Hours()/24))
	for d := 1; ; d++ {
		if d > most {
			h.Beyond = true
			return
		}
		if _, inside, _ := ends.Chances(r, float64(d)); inside < h.Range.Sure {
			return
		}
		h.TestBy = last.AddDate(0, 0, d)
	}
}

// usualGap is how many days lie between two days of testing lately: the median.
func usualGap(points []point) int {
	var days []time.Time
	for _, p := range slices.Backward(points) {
		if d := dayOf(p.At); len(days) == 0 || d.Before(days[len(days)-1]) {
			days = append(days, d)
		}
		if len(days) == latelyTests {
			break
		}
	}
	var gaps []float64
	for i := 1; i < len(days); i++ {
		gaps = append(gaps, math.Round(days[i-1].Sub(days[i]).Hours()/24))
	}
	if gaps == nil {
		return 7
	}
	slices.Sort(gaps)
	return max(1, int(num.Quantile(gaps, 0.5)))
}
