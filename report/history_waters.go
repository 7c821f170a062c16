package report

import (
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
)

type bridgeJSON struct {
	Analyte *string    `json:"analyte"`
	Kind    string     `json:"kind"`
	Method  string     `json:"method"`
	From    *string    `json:"from"`
	To      *string    `json:"to"`
	At      string     `json:"at"`
	Ratio   num.Number `json:"ratio"`
	Low     num.Number `json:"low"`
	High    num.Number `json:"high"`
	By      string     `json:"by"`
	Verdict string     `json:"verdict"`
	Pairs   int        `json:"pairs"`
	Checks  int        `json:"checks"`
	Level   num.Number `json:"level"` // about where the water was
	Wanted  int        `json:"pairs_wanted"`
}

type levelJSON struct {
	Analyte *string    `json:"analyte"`
	Water   string     `json:"water"`
	TakenAt string     `json:"taken_at"`
	Level   num.Number `json:"level"`
	Low     num.Number `json:"low"`
	High    num.Number `json:"high"`
}

type betweenJSON struct {
	Analyte *string    `json:"analyte"`
	Water   string     `json:"water"`
	At      string     `json:"at"`
	Level   num.Number `json:"level"`
	Low     num.Number `json:"low"`
	High    num.Number `json:"high"`
}

type trendJSON struct {
	levelJSON
	PerWeek num.Number `json:"per_week"`
	Least   num.Number `json:"per_week_low"`
	Most    num.Number `json:"per_week_high"`
}

type slopeJSON struct {
	Analyte *string    `json:"analyte"`
	Water   string     `json:"water"`
	From    string     `json:"from"`
	To      string     `json:"to"`
	N       int        `json:"n"`
	PerWeek num.Number `json:"per_week"`
	Low     num.Number `json:"low"`
	High    num.Number `json:"high"`
	Now     num.Number `json:"now_per_week"`
	NowLow  num.Number `json:"now_low"`
	NowHigh num.Number `json:"now_high"`
	RankP   num.Number `json:"rank_p"`
	Because *string    `json:"because"`
}

type changedJSON struct {
	Analyte      *string    `json:"analyte"`
	Water        string     `json:"water"`
	From         string     `json:"from"`
	To           string     `json:"to"`
	Until        string     `json:"until"` // last day of the earlier span
	Since        string     `json:"since"` // first day of the later one
	N            int        `json:"n"`
	M            int        `json:"m"`
	Across       *string    `json:"across"`
	Before       num.Number `json:"before"`
	After        num.Number `json:"after"`
	Difference   num.Number `json:"difference"`
	Low          num.Number `json:"low"`
	High         num.Number `json:"high"`
	PRise        num.Number `json:"p_rise"`
	PFall        num.Number `json:"p_fall"`
	PRiseMatters num.Number `json:"p_rise_matters"`
	PFallMatters num.Number `json:"p_fall_matters"`
	Smallest     num.Number `json:"smallest_seen"`
	Verdict      string     `json:"verdict"`
}

// waters are the parts of a history beyond single results and checks.
func (j *historyJSON) waters(h history.History, analyte *string) {
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	for _, b := range h.Bridges {
		j.Bridges = append(j.Bridges, bridgeJSON{analyte, string(b.Kind), b.Method, orNull(b.From), orNull(b.To), day(b.At), num.Number(b.Ratio), num.Number(b.Low), num.Number(b.High),
			string(b.By), string(b.Verdict), b.Pairs, b.Checks, num.Number(b.Level), b.Wanted})
	}
	for _, l := range h.Levels {
		j.Levels = append(j.Levels, levelJSON{analyte, l.Water, l.Entry.Typed, num.Number(l.Level), num.Number(l.Low), num.Number(l.High)})
	}
	for _, b := range h.Between {
		j.Between = append(j.Between, betweenJSON{analyte, b.Water, b.At.Format("2006-01-02T15:04"), num.Number(b.Level), num.Number(b.Low), num.Number(b.High)})
	}
	for _, x := range h.Trends {
		j.Trends = append(j.Trends, trendJSON{levelJSON{analyte, x.Water, x.Entry.Typed, num.Number(x.Level), num.Number(x.Low), num.Number(x.High)}, num.Number(x.PerWeek), num.Number(x.Least), num.Number(x.Most)})
	}
	for _, s := range h.Slopes {
		one := slopeJSON{analyte, s.Water, day(s.From), day(s.To), s.N, num.Number(s.PerWeek), num.Number(s.Low), num.Number(s.High), num.Number(s.Now), num.Number(s.NowLow), num.Number(s.NowHigh), num.Number(s.RankP), nil}
		if s.Why != nil {
			text := Say(*s.Why)
			one.Because = &text
		}
		j.Slopes = append(j.Slopes, one)
	}
	for _, x := range h.Holds {
		j.Holds = append(j.Holds, holdOf(x, analyte))
	}
	for _, c := range h.Changes {
		j.Changes = append(j.Changes, changedJSON{analyte, c.Water, day(c.From), day(c.To), day(c.Until), day(c.Since), c.N, c.M, orNull(c.Across), num.Number(c.Before), num.Number(c.After),
			num.Number(c.Difference), num.Number(c.Low), num.Number(c.High), num.Number(c.PRise), num.Number(c.PFall), num.Number(c.PRiseMatters), num.Number(c.PFallMatters),
			num.Number(c.Smallest), string(c.Verdict)})
	}
}
