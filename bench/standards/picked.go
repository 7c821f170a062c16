package standards

import (
	"fmt"
	"time"

	"knownwater"
	"knownwater/science/unit"
)

// Standards are the set as a trial takes its levels from it, with what is
// doubtful on the day that it was loaded.
func (s PreparedSet) Standards() knownwater.Standards {
	out := knownwater.Standards{ID: s.ID, VersionID: s.VersionID, Version: s.Version, Latest: s.Latest, Name: s.Spec.Name,
		Scale: s.Spec.Shelf.Scale, Water: unit.Water{Temperature: s.Spec.Shelf.Temperature}, Matrix: s.Spec.Shelf.Water.Spec.Name,
		UseBy: s.Spec.UseBy, LastMade: s.Spec.lastMade(), Doubts: s.Doubts, Late: s.late}
	if w := s.Spec.Shelf.Water.Spec.Water; w != nil {
		out.Water.Salinity = w.Salinity
	}
	for _, x := range s.Spec.used() {
		out.Stocks = append(out.Stocks, knownwater.StockUsed{Name: x.Spec.Name, Words: x.Spec.Stock.words(), Expires: x.Spec.Stock.Expires})
	}
	for _, x := range s.Spec.standards() {
		st, ok := s.Standard(x.Name)
		if !ok {
			continue
		}
		n := knownwater.Standard{Name: x.Name, Code: x.Code, Level: st.Value.Value, U: st.U, UShared: st.UShared, UBackground: st.UBackground, Blank: x.From == "",
			Made: x.IsMade(), MadeAt: x.MadeAt, Chain: st.Chain, Largest: st.Largest}
		for _, share := range st.Value.Parts.ByKind() {
			n.Shares = append(n.Shares, knownwater.PartShare{Kind: share.Kind, U: share.U, Share: share.Share})
		}
		out.Standards = append(out.Standards, n)
	}
	return out
}

// StockWords are the stocks that a set comes from, as their labels say.
func (s SetSpec) StockWords() (out []string) {
	for _, x := range s.used() {
		out = append(out, x.Spec.Name+": "+x.Spec.Stock.words())
	}
	return out
}

// words are a stock's particulars as they stand on its label.
func (s StockSpec) words() string {
	out := ""
	switch {
	case s.Salt != nil:
		out = fmt.Sprintf("%g g of %s, purity %g, filled up in %s", s.Salt.Mass, s.Salt.Salt, s.Salt.Purity, s.Salt.Flask)
	case s.Expanded > 0:
		out = fmt.Sprintf("%g %s, U = %g (k = %g)", s.Value, s.Scale, s.Expanded, s.K)
	default:
		out = fmt.Sprintf("%g %s, u = %g", s.Value, s.Scale, s.U)
	}
	if s.Loss > 0 {
		out += fmt.Sprintf(", raised by %.2g g of water lost from %g mL", s.Loss, s.LossFrom)
	}
	if s.Made != "" {
		out += ", made " + s.Made
	}
	if s.Expires != "" {
		out += ", expires " + s.Expires
	}
	return out
}

// lastMade is the day on which the last solution was made.
func (s SetSpec) lastMade() (day time.Time) {
	for _, x := range s.Solutions {
		if len(x.MadeAt) < len(time.DateOnly) {
			continue
		}
		if d := dayOf(x.MadeAt[:len(time.DateOnly)]); d.After(day) {
			day = d
		}
	}
	return day
}
