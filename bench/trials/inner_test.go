package trials

import (
	"context"
	"fmt"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/interval"
	"knownwater/science/plan"
)

// ExecAsWriter runs a statement on the connection that writes.
func (b *Operations) ExecAsWriter(ctx context.Context, statement string) error {
	return b.write(ctx, func(t tx) error { return t.Exec(statement) })
}

// Lay lays out a plan by its seed.
func (b *Operations) Lay(ctx context.Context, p Plan) (vials []plan.Vial, err error) {
	err = b.read(ctx, func(t tx) error {
		whole, err := t.named(p)
		if err != nil {
			return err
		}
		vials, err = plan.Lay(whole.design(), whole.Seed)
		return err
	})
	return vials, err
}

// Fill takes all the readings of a trial in one transaction.
func (b *Operations) Fill(ctx context.Context, trial int64) error {
	return b.write(ctx, func(t tx) error {
		type place struct{ vial, reader, version int64 }
		places, err := store.All(t.Tx, "select w.vial_id, w.reader_id, v.version_id from vial_reader w join vial v on v.id = w.vial_id where w.trial_id = ?",
			func(scan func(...any) error) (p place, err error) { return p, scan(&p.vial, &p.reader, &p.version) }, trial)
		if err != nil {
			return err
		}
		for i, p := range places {
			text := []string{"0", "1", "1..2.5", "2.5", "2.5..5", "5"}[i%6]
			if p.version != 1 {
				text = fmt.Sprintf("%.1f", float64(i%50)/10)
			}
			u, err := t.understand(knownwater.Who{Name: "Olive", Role: knownwater.Owner, Device: "this computer"}, NewReading{Key: fmt.Sprintf("big-%016d-%d", p.vial, p.reader), Vial: p.vial, Reader: p.reader, Text: text, Replicate: 1})
			if err != nil {
				return err
			}
			if i%50 == 0 {
				u.Flags = []Flag{Late}
			}
			if _, err := t.put(knownwater.Who{Name: "Olive", Role: knownwater.Owner, Device: "this computer"}, u); err != nil {
				return err
			}
		}
		return nil
	})
}

// TestReadingWindow: due 420 s after the start, to be read within 120 s.
func TestReadingWindow(t *testing.T) {
	steps := []knownwater.Step{{Name: "fill", Seconds: 60, HandsOn: true}, {Name: "shake", Seconds: 60, HandsOn: true}, {Name: "stand", Seconds: 300}, {Name: "read", Seconds: 20, Within: 120}}
	start := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct{ took, want float64 }{
		{419, -1}, {420, 0}, {540, 0}, {541, 1}, {1200, 660}, {0, -420}, {-5, 0},
	} {
		if got := secondsOff(steps, start, start.Add(seconds(c.took))); got != c.want {
			t.Errorf("read after %g s: off by %g, want %g", c.took, got, c.want)
		}
	}
	if got := secondsOff(steps, time.Time{}, start); got != 0 {
		t.Errorf("without a start: %g", got)
	}
	if got := secondsOff(nil, start, start.Add(time.Hour)); got != 0 {
		t.Errorf("without steps: %g", got)
	}
}

// A forecast is remembered by what it is made of, and not by where that stands.
func TestForecastKey(t *testing.T) {
	of := func(top float64, permitted float64) string {
		return forecastKey(plan.SimTrial{Methods: []knownwater.Method{{Name: "M", Range: &interval.Interval{High: top}}},
			Needs: []knownwater.Need{{Name: "N", Permitted: []knownwater.Permit{{At: 1, Error: permitted}}}}}, 100, 1)
	}
	if first, again := of(30, 0.5), of(30, 0.5); first != again {
		t.Error("the same plan is simulated again")
	}
	if of(30, 0.5) == of(20, 0.5) || of(30, 0.5) == of(30, 1) {
		t.Error("another plan has the forecast of this one")
	}
}

// Further vials are of the water that is open: the same level was made in two, each known as well as it is.
func TestFurtherVialsInTheirWater(t *testing.T) {
	d := knownwater.Trial{Observations: []knownwater.Observation{{Method: "Card", Matrix: "fresh", Level: 2, ULevel: 0.1}, {Method: "Card", Matrix: "salt", Level: 2, ULevel: 0.3}}}
	for water, u := range map[string]float64{"fresh": 0.1, "salt": 0.3} {
		got, err := knownsAt(d, FurtherVials{Method: "Card", Matrix: water, Levels: []float64{2}, Each: 4})
		if err != nil || len(got) != 1 || got[0].Matrix != water || got[0].U != u || got[0].Vials != 4 {
			t.Errorf("%s: %+v, %v", water, got, err)
		}
	}
	if got, err := knownsAt(d, FurtherVials{Method: "Card", Levels: []float64{2}, Each: 4}); err == nil {
		t.Errorf("of no water: %+v", got)
	}
}
