package knownwater

import (
	"time"

	"knownwater/science/note"
	"knownwater/science/unit"
)

// Standards are a prepared set of standards in one version, as a trial takes its
// levels from it.
type Standards struct {
	ID, VersionID int64
	Version       int
	Latest        bool
	Name          string
	Scale         unit.Scale // of the levels
	Water         unit.Water // that they were made up with
	Matrix        string     // its name
	UseBy         string     // day after which they should not be used
	LastMade      time.Time  // the day on which the last one was made; zero: none was
	Standards     []Standard
	Stocks        []StockUsed
	Doubts        []note.Note // what one should know before using them, on the day
	Late          []note.Note // of those, the ones about dates and bottles: they tell no level
}

// Standard is water of known concentration with the way it came from its stock.
type Standard struct {
	Name, Code  string // the code stands on the label, the value does not
	Level, U    float64
	UShared     float64 // the part of U that all share …
	UBackground float64 // … and that of the background of their water
	Blank       bool
	Made        bool        // written down as made
	MadeAt      string      // as typed
	Chain       []note.Note // the way from its stock
	Largest     note.Note   // the largest part of its uncertainty
	Shares      []PartShare
}

// PartShare is one line of an uncertainty's budget.
type PartShare struct {
	Kind  string
	U     float64
	Share float64 // of the variance
}

// StockUsed is a stock that standards come from.
type StockUsed struct {
	Name    string
	Words   string // with value and dates, as on its label
	Expires string // a day; empty: not known
}

// Find is a standard by its code or name.
func (s Standards) Find(name string) (Standard, bool) {
	for _, st := range s.Standards {
		if name != "" && (st.Code == name || st.Name == name) {
			return st, true
		}
	}
	return Standard{}, false
}

// To is what the numbers must be multiplied by on another scale.
func (s Standards) To(scale unit.Scale) (float64, error) {
	if s.Scale == scale {
		return 1, nil
	}
	return unit.Factor(s.Scale, scale, s.Water)
}
