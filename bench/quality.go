package bench

import (
	"context"
	"math"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/num"
)

// Quality is what a duplicate, a spike or a blank says of the test itself.
type Quality struct {
	Role    knownwater.SampleRole
	Result  calibrations.Result
	Against calibrations.Result // the sample as always, of the same day; of a blank none
	control.Pair
}

// besides is how far apart in time two tests of one sample may lie.
const besides = 24 * time.Hour

// QualityOf evaluates the duplicates, spikes and blanks among the results of a water. A
// duplicate or spike without a routine test within a day by the same record and lot is left
// out: there is nothing to hold it against.
func (b *Bench) QualityOf(ctx context.Context, list []calibrations.Result) (out []Quality, err error) {
	for _, r := range list {
		if r.Record == 0 || math.IsNaN(r.Outcome.Level) {
			continue
		}
		q := Quality{Role: r.Of.Role, Result: r}
		switch r.Of.Role {
		case knownwater.Blanked:
			q.Pair = control.Pair{Value: r.Outcome.Level, Low: r.Outcome.Low, High: r.Outcome.High, Fine: r.Outcome.Low <= 0 || r.Outcome.Open == "below"}
			out = append(out, q)
			continue
		case knownwater.Duplicate, knownwater.Spiked:
		default:
			continue
		}
		plain := beside(r, list)
		if plain == nil {
			continue
		}
		q.Against = *plain
		by, err := b.recordNow(ctx, r.Record)
		if err != nil || by == nil {
			return nil, err
		}
		p, err := b.Performance(ctx, *by)
		if err != nil {
			continue // its own page says why
		}
		first, second := ownScatter(p, *plain), ownScatter(p, r)
		if math.IsNaN(first) || math.IsNaN(second) {
			continue
		}
		if r.Of.Role == knownwater.Duplicate {
			q.Pair = control.Duplicates(plain.Outcome.Level, first, r.Outcome.Level, second)
		} else if r.Of.Spike == nil || !(*r.Of.Spike > 0) {
			continue
		} else {
			q.Pair = control.Recovery(plain.Outcome.Level, first, r.Outcome.Level, second, sharedApart(p, *plain, r), *r.Of.Spike)
		}
		out = append(out, q)
	}
	return out, nil
}

// beside is the routine test of the same water, record and lot that lies nearest.
func beside(r calibrations.Result, list []calibrations.Result) (best *calibrations.Result) {
	away := func(x calibrations.Result) time.Duration { return x.TakenAt.Sub(r.TakenAt).Abs() }
	for i, x := range list {
		if x.ID == r.ID || x.Record != r.Record || x.Lot != r.Lot || x.Of.Role != knownwater.Routine && x.Of.Role != "" || math.IsNaN(x.Outcome.Level) || away(x) > besides {
			continue
		}
		if best == nil || away(x) < away(*best) {
			best = &list[i]
		}
	}
	return best
}

// ownScatter is the standard deviation of a result that another one of the same record does
// not share, as a concentration: repeatability, vial and session, and the width of what was
// seen. NaN where the response is flat or was not tried.
func ownScatter(p *assess.Performance, r calibrations.Result) float64 {
	e, ok := p.Expect(r.Outcome.Level, 0, r.Reader, "", r.Sample.Dilution)
	if !ok || !(e.Slope > 0) {
		return math.NaN()
	}
	var square num.Sum
	for _, d := range e.Draws {
		square.Add(d.SD * d.SD / float64(len(e.Draws)))
	}
	step := p.Source("", r.Sample.Dilution).Step(e.Draws[0].Mean)
	if e.Tiles == nil {
		step = 0 // of a display it is in the scatter already
	}
	return math.Sqrt(square.Value()+step*step/12) / e.Slope
}

// sharedApart is the standard deviation of what the record's own errors leave in the difference of two results.
func sharedApart(p *assess.Performance, first, second calibrations.Result) float64 {
	errors := make([]float64, assess.WayDraws)
	for _, r := range []struct {
		calibrations.Result
		sign float64
	}{{first, -1}, {second, 1}} {
		p.Way(r.Reader, "", r.Sample.Dilution).Shared(r.Outcome.Level, r.sign, errors)
	}
	_, sd := num.MeanSD(errors)
	return sd
}
