package calibrations

import (
	"cmp"
	"context"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/report"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/render"
	"knownwater/wording"
)

// mostRemembered results say what was used last.
const mostRemembered = 60

// path is this page with one thing of it chosen otherwise. The lot and the reading are
// another method's, so a new method leaves them.
func (p readPage) path(name, value string) string {
	v := url.Values{}
	for _, keep := range []string{"tank", "role", "with", "reader"} {
		if x := p.Form.Text(keep); x != "" && keep != name {
			v.Set(keep, x)
		}
	}
	if name == "tank" {
		v.Del("role")
	}
	if name == "role" {
		v.Del("tank")
	}
	v.Set(name, value)
	return "/read?" + v.Encode()
}

// coded is the role, in an address, of a vial that only its code names.
const coded = "coded"

// chooseWater fills in what may be tested, the last tested first, and what was chosen.
func (s *Pages) chooseWater(ctx context.Context, p *readPage, last []calibrations.Result) error {
	all, err := s.Bench.Waters(ctx)
	if err != nil {
		return err
	}
	place := func(id int64) int {
		i := slices.IndexFunc(last, func(r calibrations.Result) bool { return r.Of.Water == id })
		if i < 0 {
			return len(last)
		}
		return i
	}
	slices.SortStableFunc(all, func(a, b knownwater.Water) int { return place(a.ID) - place(b.ID) })
	asked := form.ID(p.Form.Text("tank"))
	for i, w := range all {
		if w.Retired {
			continue
		}
		is := w.ID == asked
		if is {
			p.Water = &all[i]
		}
		p.Waters = append(p.Waters, choice{p.path("tank", render.ID(w.ID)), w.Spec.Name, is})
	}
	p.Check = p.Water == nil && p.Form.Text("role") == string(knownwater.Checked)
	p.Coded = p.Water == nil && p.Form.Text("role") == coded
	if len(p.Waters) > 0 || p.Check || p.Coded {
		p.Waters = append(p.Waters, choice{p.path("role", string(knownwater.Checked)), p.in.Say("a check"), p.Check})
	}
	if len(p.Waters) > 0 && s.Bench.HasBlind(ctx) || p.Coded {
		p.Waters = append(p.Waters, choice{p.path("role", coded), p.in.Say("a coded vial"), p.Coded})
	}
	return nil
}

// nitriteFresh is how long a nitrite that was found holds for another test of the same water: common practice, no
// source.
const nitriteFresh = 3 * 24 * time.Hour

// offerNitrite offers the nitrite that was found last in the water, where nobody states it.
func (s *Pages) offerNitrite(p *readPage, last []calibrations.Result) {
	if !p.AsksNitrite() || p.Water == nil || p.Form.Text("nitrite") != "" {
		return
	}
	plain := unit.Scale{Analyte: "nitrite", Unit: "mg/L", Basis: "NO2"}
	for _, r := range last {
		f, err := unit.Factor(r.Scale, plain, unit.StandardSea)
		if r.Of.Water != p.Water.ID || r.Scale.Analyte != "nitrite" || err != nil || math.IsNaN(r.Outcome.Level) || s.Now().Sub(r.TakenAt) > nitriteFresh {
			continue
		}
		short := func(v float64) string { return strconv.FormatFloat(f*v, 'g', 3, 64) }
		v := url.Values{"tank": {render.ID(p.Water.ID)}, "with": {p.Chosen.With}, "nitrite": {short(r.Outcome.Level)}, "u_nitrite": {short(r.Outcome.U)}}
		for _, keep := range []string{"reader", "lot", "dilution", "u_dilution", "reading"} {
			if x := p.Form.Text(keep); x != "" {
				v.Set(keep, x)
			}
		}
		p.Nitrite = nitriteFound{render.WithUnit(render.Value(f*r.Outcome.Level, f*r.Outcome.U), plain), "/read?" + v.Encode(), r.TakenAt}
		return
	}
}

// lastUsedFirst puts calibrations in the order of their last use: for this water, then for
// any.
func lastUsedFirst(all []knownwater.Calibration, last []calibrations.Result, water *knownwater.Water) []knownwater.Calibration {
	place := func(c knownwater.Calibration) int {
		made := func(r calibrations.Result) bool {
			return c.Kind == knownwater.ByRecord && r.Record == c.ID || c.Kind == knownwater.ByCurve && r.Curve == c.ID
		}
		if water != nil {
			if i := slices.IndexFunc(last, func(r calibrations.Result) bool { return r.Of.Water == water.ID && made(r) }); i >= 0 {
				return i
			}
		}
		if i := slices.IndexFunc(last, made); i >= 0 {
			return mostRemembered + i
		}
		return 2 * mostRemembered
	}
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b knownwater.Calibration) int { return place(a) - place(b) })
	return all
}

// watch presets the lot that was used last, and says what its checks say.
func (s *Pages) watch(ctx context.Context, as render.Reader, p *readPage, c knownwater.Calibration, last []calibrations.Result) error {
	if c.Kind != knownwater.ByRecord {
		return nil
	}
	lots, err := s.Bench.Lots(ctx, c.Method)
	if err != nil {
		return err
	}
	for _, l := range lots {
		if !l.Retired && !slices.Contains(p.Chosen.Lots, l.Code) {
			p.Chosen.Lots = append(p.Chosen.Lots, l.Code)
		}
	}
	for _, r := range last {
		if r.Record == c.ID && r.Lot != "" && !slices.Contains(p.Chosen.Lots, r.Lot) {
			p.Chosen.Lots = append(p.Chosen.Lots, r.Lot)
		}
	}
	asBefore(p, c, last)
	lot := p.Form.Text("lot")
	if lot != "" && !slices.Contains(p.Chosen.Lots, lot) { // nobody wrote it down yet
		p.Chosen.Lots = append(p.Chosen.Lots, lot)
	}
	for _, l := range lots {
		if l.Code == lot && render.IsPast(l.ExpiresOn, s.Now()) {
			p.Alerts = append(p.Alerts, as.Language.Say("Lot {1} of {2} expired on {3}. Test a known with it before you rely on it.", l.Code, c.Name, l.ExpiresOn))
		}
	}
	watched, err := s.Bench.Watch(ctx)
	if err != nil {
		return err
	}
	for _, w := range watched {
		if w.Record == c.ID && w.Lot == lot && w.ReadBy(p.Form.Text("reader")) && w.Now().Onset != nil {
			p.Alerts = append(p.Alerts, as.Language.Say("{1} What is read now waits.", report.ChecksAlert(as.Language, w.Checks)))
		}
	}
	return s.lotAlerts(ctx, as, p, c, lots, lot, last, watched)
}

// lotAlerts says what a lot reads beside the one before it, or asks for side-by-side vials:
// of a new lot while the one before it lasts, of the lot in use before it is empty.
func (s *Pages) lotAlerts(ctx context.Context, as render.Reader, p *readPage, c knownwater.Calibration, lots []knownwater.Lot, code string, last []calibrations.Result, watched []bench.Watched) error {
	if code == "" {
		return nil
	}
	uses := lotsInOrder(c.ID, code, lots, last, watched)
	i := slices.IndexFunc(uses, func(l knownwater.Lot) bool { return l.Code == code })
	before, next := knownwater.Lot{}, i+1 < len(uses)
	if i > 0 {
		before = uses[i-1]
	}
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return err
	}
	if p.Water != nil && len(p.Water.Spec.Needs) > 0 {
		needs = slices.DeleteFunc(needs, func(n knownwater.NeedEntry) bool { return !slices.Contains(p.Water.Spec.Needs, n.ID) })
	}
	l, err := s.Bench.LotBeside(ctx, c.ID, uses[i], before, mostExacting(needs, c.Scale))
	if err != nil {
		return err
	}
	p.Lots = report.LotsSay(as.Language, l, next)
	return nil
}

// lotsInOrder are the lots of a record that were used, in the order of their first use as far
// as checks and the last results tell it, and last the one that is used now for the first time.
func lotsInOrder(record int64, now string, lots []knownwater.Lot, last []calibrations.Result, watched []bench.Watched) (out []knownwater.Lot) {
	first := map[string]time.Time{}
	used := func(code string, at time.Time) {
		if was, there := first[code]; code != "" && (!there || at.Before(was)) {
			first[code] = at
		}
	}
	for _, r := range last {
		if r.Record == record {
			used(r.Lot, r.TakenAt)
		}
	}
	for _, w := range watched {
		if w.Record == record {
			used(w.Lot, w.Entries[0].At)
		}
	}
	for _, l := range lots {
		at, there := first[l.Code]
		if opened, err := time.Parse(time.DateOnly, l.OpenedOn); err == nil && (!there || opened.Before(at)) {
			used(l.Code, opened)
			there = true
		}
		if there {
			out = append(out, l)
		}
	}
	for code := range first {
		if !slices.ContainsFunc(out, func(l knownwater.Lot) bool { return l.Code == code }) {
			out = append(out, knownwater.Lot{Code: code})
		}
	}
	slices.SortFunc(out, func(a, b knownwater.Lot) int {
		return cmp.Or(first[a.Code].Compare(first[b.Code]), cmp.Compare(a.Code, b.Code))
	})
	if _, there := first[now]; !there {
		l := knownwater.Lot{Code: now}
		if i := slices.IndexFunc(lots, func(l knownwater.Lot) bool { return l.Code == now }); i >= 0 {
			l = lots[i]
		}
		out = append(out, l)
	}
	return out
}

// mostExacting is the need on a scale that permits the least; nil: there is none.
func mostExacting(needs []knownwater.NeedEntry, scale unit.Scale) (least *knownwater.Need) {
	for i, n := range needs {
		if n.Retired || n.Scale != scale || len(n.Need.Permitted) == 0 {
			continue
		}
		if middle := (n.Need.Low + n.Need.High) / 2; least == nil || n.Need.PermittedAt(middle) < least.PermittedAt(middle) {
			least = &needs[i].Need
		}
	}
	return least
}

// asBefore presets what was so the last time with this method: the lot, of this water the
// dilution, and who read where nobody signed in says it.
func asBefore(p *readPage, c knownwater.Calibration, last []calibrations.Result) {
	preset := func(name, value string) {
		if !p.Form.Values.Has(name) && value != "" {
			p.Form.Set(name, value)
		}
	}
	for _, r := range last {
		if r.Record != c.ID {
			continue
		}
		preset("lot", r.Lot)
		preset("reader", calibrations.Readers(r.Reader)[0])
		if p.Water != nil && r.Of.Water == p.Water.ID {
			if r.Sample.Dilution != 1 {
				preset("dilution", form.Shown(r.Sample.Dilution))
			} else if !p.Form.Values.Has("dilution") {
				p.Form.Set("dilution", "")
			}
		}
	}
}

// sample is what the result is kept as.
func (p *readPage) sample(f *form.Form, k *kept) {
	switch {
	case p.Check:
		k.Of = &knownwater.Sample{Role: knownwater.Checked, Known: f.Number("known", "what the known holds, such as 12"), UKnown: f.Number("u_known", form.WantNumber)}
		if f.Text("known") == "" {
			f.Reject("known", "nothing", "what the known holds")
		}
		k.Water = "known " + f.Text("known")
	case p.Coded:
		code := strings.ToUpper(f.Text("vial"))
		if code == "" {
			f.Reject("vial", "nothing", "the code on the vial")
		}
		k.Of, k.Water = &knownwater.Sample{SampleSpec: knownwater.SampleSpec{Vial: code}}, "vial "+code
		return
	case p.Water != nil:
		k.Of = &knownwater.Sample{Water: p.Water.ID, Role: knownwater.Routine}
		k.Water = p.Water.Spec.Name
	default:
		return
	}
	if role := knownwater.SampleRole(f.Text("as")); role != "" && !p.Check {
		k.Of.Role = role
	}
	number := func(name string) *float64 {
		if f.Text(name) == "" {
			return nil
		}
		v := f.Number(name, form.WantNumber)
		return &v
	}
	k.Of.Filtered, k.Of.Salinity, k.Of.Temperature, k.Of.HoursKept, k.Of.Spike = f.Text("filtered"), number("salinity"), number("temperature"), number("hours_kept"), number("spike")
	if at := f.LocalTime("sampled_at"); !at.IsZero() {
		k.Of.SampledAt = &at
	}
}

// hints are holding times and interferences that the trade knows: common practice, no source.
var hints = map[string][]string{
	"nitrate":    {wording.Key("Nitrite reads as nitrate, in many tests several times over."), wording.Key("Test within a few hours, or keep the sample cold and dark.")},
	"nitrite":    {wording.Key("Test within a few hours: it changes while it stands.")},
	"phosphate":  {wording.Key("Test within an hour or filter first: algae and glass take it up."), wording.Key("Use a tube that never held detergent.")},
	"ammonia":    {wording.Key("Test at once: it escapes and changes while it stands.")},
	"alkalinity": {wording.Key("Fill the bottle to the top: carbon dioxide moves the pH, seldom the alkalinity.")},
}
