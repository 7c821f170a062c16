package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// The forty weeks after the trial: three tanks tested once a week by Ines, first with Birch,
// from week switchWeek on with Alder, whose second lot reads secondLot of what it should.
// A known of checkAdded is tested in two vials every other week once Alder is used; in the weeks about the change eight
// samples are tested with both.
const (
	weeks      = 40
	switchWeek = 18
	lotWeek    = 30
	secondLot  = 0.80
	checkAdded = 12.0
	reader     = 0 // Ines
)

// Began is the first day of the log.
var Began = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

// RoutineChoices withhold a part of the forty weeks, to see what is said without it.
type RoutineChoices struct {
	NoBridge bool
	SameLot  bool      // the second lot reads as the first
	Start    time.Time // zero: Began
}

// tank is how a water truly goes.
type tank struct {
	name    string
	sd      float64
	level   func(week float64) float64
	nitrite func(week int) float64
}

func tanks() []tank {
	ramp := func(from, to, low, high, at float64) float64 {
		return low + (high-low)*math.Min(1, math.Max(0, (at-from)/(to-from)))
	}
	none := func(int) float64 { return 0 }
	return []tank{
		{"Marram", 0.4, func(float64) float64 { return 14 }, none},
		{"Kelpie", 0.4, func(w float64) float64 { return ramp(12, 16, 4, 9, w) }, func(w int) float64 {
			if w < 12 || w > 20 {
				return 0
			}
			return 0.06
		}},
		{"Samphire", 0.15, func(w float64) float64 { return ramp(20, 28, 1, 4, w) - 0.05*math.Max(0, w-28) }, none},
	}
}

// Routine is the shed's log of forty weeks after Trial(seed).
func Routine(seed uint64, c RoutineChoices) []history.Entry {
	rng := num.Source(seed, 2)
	start := c.Start
	if start.IsZero() {
		start = Began
	}
	var log []history.Entry
	add := func(week, hour int, e history.Entry) {
		e.At = start.AddDate(0, 0, 7*(week-1)).Add(time.Duration(hour) * time.Hour)
		e.Typed = e.At.Format("2006-01-02T15:04")
		e.Reader = readerNames[reader]
		log = append(log, e)
	}
	all := tanks()
	wander := make([]float64, len(all))
	for i, t := range all {
		wander[i] = t.sd * rng.NormFloat64()
	}
	const back = 0.8 // of last week's departure is left
	for week := 1; week <= weeks; week++ {
		level := make([]float64, len(all))
		for i, t := range all {
			wander[i] = back*wander[i] + t.sd*math.Sqrt(1-back*back)*rng.NormFloat64()
			level[i] = math.Max(0, t.level(float64(week))+wander[i])
		}
		for i, t := range all {
			nitrite := math.Max(0, t.nitrite(week)*(1+0.5*rng.NormFloat64()))
			e := Once("Birch", level[i]+20*nitrite, week, rng, c)
			if week >= switchWeek {
				e = Once("Alder", level[i]+7*nitrite, week, rng, c)
			}
			e.Water = t.name
			add(week, 19, e)
		}
		if week == switchWeek-1 || week == switchWeek { // eight samples with both
			for k := range 4 {
				pair := fmt.Sprintf("pair %d", 4*(week-switchWeek+1)+k+1)
				x := []float64{level[0], level[1], 0.5 * level[0], 2 * level[2]}[k]
				for _, method := range []string{"Birch", "Alder"} {
					e := Once(method, x, switchWeek, rng, c)
					e.Water, e.Pair = "mixed for comparison", pair
					if !c.NoBridge {
						add(week, 20, e)
					}
				}
			}
		}
		if week >= switchWeek && week%2 == 0 {
			for range 2 {
				e := Once("Alder", trueLevel(checkAdded), week, rng, c)
				e.Water, e.Check, e.Known, e.UKnown = "known", true, stated(checkAdded), uShared(checkAdded)
				add(week, 18, e)
			}
		}
	}
	slices.SortStableFunc(log, func(a, b history.Entry) int { return a.At.Compare(b.At) })
	for i := range log {
		log[i].Row = i + 2
	}
	return log
}

// Once is one test of a sample of c in a week, by a method of the shed and with the lot of that
// week, diluted where its sheet says so.
func Once(method string, c float64, week int, rng *rand.Rand, choices RoutineChoices) history.Entry {
	yield, lot := 1.0, "B1"
	if method == "Alder" {
		if lot = "A1"; week >= lotWeek {
			lot = "A2"
			if !choices.SameLot {
				yield = secondLot
			}
		}
	}
	var e history.Entry
	for _, a := range actList {
		if a.method.Name != method || e.Reading != "" && a.dilution == 1 {
			continue
		}
		y := a.scatter.read(a.response(c*yield)+a.session*rng.NormFloat64(), rng.NormFloat64(), a.readers[reader], 1, rng)
		text := reading.Show(y, a.method)
		seen, err := reading.Understand(text, a.method)
		if err != nil {
			panic(fmt.Sprintf("the demo wrote a reading that it cannot read: %v", err)) // our own mistake
		}
		e = history.Entry{Method: method, Lot: lot, Reading: text, Dilution: a.dilution, Technique: techniques[0].name, Known: math.NaN()}
		if a.method.DilutionOver == 0 || seen.Mid() <= a.method.DilutionOver && !seen.OpenAbove() {
			break
		}
	}
	return e
}
