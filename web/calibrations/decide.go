package calibrations

import (
	"context"
	"fmt"
	"math"
	"strings"

	"knownwater"
	"knownwater/bench"
	"knownwater/report"
	"knownwater/science/decide"
	"knownwater/science/inverse"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// decision is what to do for one need: leave, test again, act, one of which is framed; each
// of the others says what it lacks.
type decision struct{ Ways []way }

type way struct {
	Name, Says string
	Framed     bool
	Path, Link string // where else it is read; empty: nowhere
}

func decisionsOf(o result.Outcome) (out []decision) {
	for i, v := range o.Verdicts {
		out = append(out, decisionOf(o, o.Needs[i], v))
	}
	return out
}

func decisionOf(o result.Outcome, n knownwater.Need, v result.Verdict) decision {
	sure := n.Sure
	if sure == 0 {
		sure = result.DefaultSure
	}
	d := decide.On(decide.Result{Chances: decide.Chances(v.Chances), OpenBelow: o.Result.Open == inverse.Below, OpenAbove: o.Result.Open == inverse.Above}, n.Low, sure)
	asked := fmt.Sprintf("%.0f", 100*sure)
	leave := way{Name: "Leave it", Framed: d.Advice == decide.Leave}
	act := way{Name: "Act on it", Framed: d.Advice == decide.Act}
	again := way{Name: "Test again", Framed: d.Advice == decide.Again}
	leave.Says = "It is inside with " + report.InHundred(v.Inside) + " in 100; you asked for " + asked + "."
	if leave.Framed {
		leave.Says = "It is inside with " + report.InHundred(v.Inside) + " in 100. Leaving it is wrong " + times(d.Risk) + " in 100."
	} else if band := decide.GuardBand(n.Low, n.High, o.Result.U, sure); !math.IsNaN(band) {
		leave.Says += fmt.Sprintf(" Numbers of this kind would leave it from %s to %s.", say(n.Low+band, o.Result.U), say(n.High-band, o.Result.U))
	} else if o.Result.U > 0 {
		leave.Says += " One such number never can: it is too wide for what you want."
	}
	side, chance := "above", v.Above
	if v.Inside > v.Above && v.Inside > v.Below {
		side, chance = "outside", 1-v.Inside
	}
	if v.Below > v.Above && side != "outside" {
		side, chance = "below", v.Below
	}
	act.Says = "It is " + side + " with " + report.InHundred(chance) + " in 100; you asked for " + asked + "."
	if act.Framed {
		act.Says = "It is " + side + " with " + report.InHundred(chance) + " in 100. Acting is wrong " + times(d.Risk) + " in 100. In small steps, as the product’s label says, and test again before the next."
	}
	again.Says = againSays(o, d, v)
	if !again.Framed {
		again.Says = "It is settled."
	}
	return decision{[]way{leave, again, act}}
}

// elsewhere adds to “test again” how another method on the bench would settle it.
func (s *Pages) elsewhere(ctx context.Context, p *readPage, o result.Outcome) error {
	if p.Check || p.Chosen.Record == 0 {
		return nil
	}
	for i := range o.Verdicts {
		ways, err := s.Bench.Elsewhere(ctx, p.Chosen.Record, o, i)
		if err != nil {
			return err
		}
		if len(ways) == 0 {
			continue
		}
		w := ways[0]
		again := &p.Answer.Decisions[i].Ways[2]
		again.Says += " " + elsewhereSays(w)
		again.Path, again.Link = p.path("with", withOf(w.By)), "Read by "+w.By.Name
	}
	return nil
}

func elsewhereSays(w bench.Way) string {
	s := capitalised(render.Count(w.Readings, "test")) + " by " + w.By.Name
	var costs []string
	if w.Minutes > 0 {
		costs = append(costs, render.Count(int(math.Ceil(w.Minutes)), "minute"))
	}
	if w.Price > 0 {
		costs = append(costs, fmt.Sprintf("%.2f in reagents", w.Price))
	}
	if len(costs) > 0 {
		s += " (" + strings.Join(costs, ", ") + ")"
	}
	return s + " would settle it, too."
}

// times is how often in a hundred.
func times(p float64) string {
	if s := report.InHundred(p); s == "1" {
		return "once"
	} else if s == "less than 1" {
		return "less than once"
	} else {
		return s + " times"
	}
}

func say(v, u float64) string { return strings.TrimSpace(unit.TrueMinus(unit.Round(v, u/2))) }

// againSays names the cheapest way that would settle it.
func againSays(o result.Outcome, d decide.Decision, v result.Verdict) string {
	switch {
	case d.Open && o.Result.Open == inverse.Above:
		return "It goes on above all that was tried, and nobody knows how far: dilute the water, read it once more, and act on that."
	case d.Open:
		return "It goes down to nothing, since nothing lower was tried or nothing lower shows: read it undiluted, or by another method."
	case len(v.Settle) == 0:
		return fmt.Sprintf("This method cannot tell: %d more readings would hardly settle it. Take another one.", result.MostReadings)
	}
	best := v.Settle[0]
	by := "by anybody"
	if best.Reader != "" {
		by = "by " + best.Reader
	}
	things := fmt.Sprintf("%d more readings", best.Count)
	if best.Count == 1 {
		things = "one more reading"
	}
	return capitalised(things) + " " + by + " would settle it in 4 of 5 cases."
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
