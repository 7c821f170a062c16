package calibrations

import (
	"context"
	"fmt"
	"math"
	"strconv"
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

func decisionsOf(as render.Reader, o result.Outcome) (out []decision) {
	for i, v := range o.Verdicts {
		out = append(out, decisionOf(as, o, o.Needs[i], v))
	}
	return out
}

func decisionOf(as render.Reader, o result.Outcome, n knownwater.Need, v result.Verdict) decision {
	sure := n.Sure
	if sure == 0 {
		sure = result.DefaultSure
	}
	d := decide.On(decide.Result{Chances: decide.Chances(v.Chances), OpenBelow: o.Result.Open == inverse.Below, OpenAbove: o.Result.Open == inverse.Above}, n.Low, sure)
	asked := fmt.Sprintf("%.0f", 100*sure)
	leave := way{Name: as.Language.Say("Leave it"), Framed: d.Advice == decide.Leave}
	act := way{Name: as.Language.Say("Act on it"), Framed: d.Advice == decide.Act}
	again := way{Name: as.Language.Say("Test again"), Framed: d.Advice == decide.Again}
	leave.Says = as.Language.Say("It is inside with {1} in 100; you asked for {2}.", report.InHundred(as.Language, v.Inside), asked)
	if leave.Framed {
		leave.Says = as.Language.Say("It is inside with {1} in 100. Leaving it is wrong {2} in 100.", report.InHundred(as.Language, v.Inside), times(as, d.Risk))
	} else if band := decide.GuardBand(n.Low, n.High, o.Result.U, sure); !math.IsNaN(band) {
		leave.Says += " " + as.Language.Say("Numbers of this kind would leave it from {1} to {2}.", say(n.Low+band, o.Result.U), say(n.High-band, o.Result.U))
	} else if o.Result.U > 0 {
		leave.Says += " " + as.Language.Say("One such number never can: it is too wide for what you want.")
	}
	side, chance := as.Language.Say("above"), v.Above
	switch {
	case v.Inside > v.Above && v.Inside > v.Below:
		side, chance = as.Language.Say("outside"), 1-v.Inside
	case v.Below > v.Above:
		side, chance = as.Language.Say("below"), v.Below
	}
	act.Says = as.Language.Say("It is {1} with {2} in 100; you asked for {3}.", side, report.InHundred(as.Language, chance), asked)
	if act.Framed {
		act.Says = as.Language.Say("It is {1} with {2} in 100. Acting is wrong {3} in 100. In small steps, as the product’s label says, and test again before the next.", side, report.InHundred(as.Language, chance), times(as, d.Risk))
	}
	again.Says = againSays(as, o, d, v)
	if !again.Framed {
		again.Says = as.Language.Say("It is settled.")
	}
	return decision{[]way{leave, again, act}}
}

// elsewhere adds to “test again” how another method on the bench would settle it.
func (s *Pages) elsewhere(ctx context.Context, as render.Reader, p *readPage, o result.Outcome) error {
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
		again.Says += " " + elsewhereSays(as, w)
		again.Path, again.Link = p.path("with", withOf(w.By)), as.Language.Say("Read by {1}", w.By.Name)
	}
	return nil
}

func elsewhereSays(as render.Reader, w bench.Way) string {
	by := as.Language.Say("{1} by {2}", capitalised(as.Count(w.Readings, "test")), w.By.Name)
	var costs []string
	if w.Minutes > 0 {
		costs = append(costs, as.Count(int(math.Ceil(w.Minutes)), "minute"))
	}
	if w.Price > 0 {
		costs = append(costs, as.Language.Say("{1} in reagents", fmt.Sprintf("%.2f", w.Price)))
	}
	if len(costs) > 0 {
		by += " (" + strings.Join(costs, ", ") + ")"
	}
	return as.Language.Say("{1} would settle it, too.", by)
}

// times is how often in a hundred.
func times(as render.Reader, p float64) string {
	switch {
	case p > 0 && p < 0.005:
		return as.Language.Say("less than once")
	case p >= 0.005 && p < 0.015:
		return as.Language.Say("once")
	}
	return as.Language.Say("{1} times", report.InHundred(as.Language, p))
}

func say(v, u float64) string { return strings.TrimSpace(unit.TrueMinus(unit.Round(v, u/2))) }

// againSays names the cheapest way that would settle it.
func againSays(as render.Reader, o result.Outcome, d decide.Decision, v result.Verdict) string {
	switch {
	case d.Open && o.Result.Open == inverse.Above:
		return as.Language.Say("It goes on above all that was tried, and nobody knows how far: dilute the water, read it once more, and act on that.")
	case d.Open:
		return as.Language.Say("It goes down to nothing, since nothing lower was tried or nothing lower shows: read it undiluted, or by another method.")
	case len(v.Settle) == 0:
		return as.Language.Say("This method cannot tell: {1} more readings would hardly settle it. Take another one.", strconv.Itoa(result.MostReadings))
	}
	best := v.Settle[0]
	by := as.Language.Say("by anybody")
	if best.Reader != "" {
		by = as.Language.Say("by {1}", best.Reader)
	}
	things := as.Language.Say("{1} more readings", strconv.Itoa(best.Count))
	if best.Count == 1 {
		things = as.Language.Say("one more reading")
	}
	return as.Language.Say("{1} {2} would settle it in 4 of 5 cases.", capitalised(things), by)
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
