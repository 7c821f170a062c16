package logged

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/report"
	"knownwater/science/history"
)

// Experiment is what is asked of a log, as it was typed: days as 2026-03-23.
type Experiment struct {
	Treated, Control   []string
	From, Since, Until string
	Settle             int
}

// Say puts an experiment among what is said of a log.
func (x Experiment) Say(said map[string]string) error {
	list := func(names []string) (string, error) {
		text, err := json.Marshal(names)
		return string(text), err
	}
	for key, names := range map[string][]string{report.SaidTreated: x.Treated, "control": x.Control} {
		text, err := list(names)
		if err != nil {
			return err
		}
		said[key] = text
	}
	for key, text := range map[string]string{"from": x.From, "since": x.Since, "until": x.Until} {
		if text != "" {
			said[key] = text
		}
	}
	if x.Settle != 0 {
		said["settle"] = fmt.Sprint(x.Settle)
	}
	return nil
}

// experiment is what Say put there.
func (from Files) experiment() (x Experiment, err error) {
	x.From, x.Since, x.Until = from.Said["from"], from.Said["since"], from.Said["until"]
	for key, to := range map[string]*[]string{report.SaidTreated: &x.Treated, "control": &x.Control} {
		if err := json.Unmarshal([]byte(from.Said[key]), to); err != nil {
			return x, knownwater.Fault{Column: "--" + key, Found: fmt.Sprintf("%.40q", from.Said[key]), Want: "names of waters"}
		}
	}
	if text := from.Said["settle"]; text != "" {
		if _, err := fmt.Sscan(text, &x.Settle); err != nil {
			return x, knownwater.Fault{Column: "--settle", Found: fmt.Sprintf("%.40q", text), Want: "days"}
		}
	}
	return x, nil
}

// days are those of an experiment, in the zone of the log.
func (x Experiment) days(zone *time.Location) (out history.Experiment, err error) {
	if zone == nil {
		zone = time.Local
	}
	out = history.Experiment{Treated: x.Treated, Control: x.Control, Settle: x.Settle}
	var faults knownwater.Faults
	for _, d := range []struct {
		flag, text string
		to         *time.Time
	}{{"--from", x.From, &out.From}, {"--since", x.Since, &out.Since}, {"--until", x.Until, &out.Until}} {
		if d.text == "" && d.flag != "--from" {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, d.text, zone)
		if err != nil {
			faults = append(faults, knownwater.Fault{Column: d.flag, Found: fmt.Sprintf("%.20q", d.text), Want: "a day such as 2026-03-23"})
		}
		*d.to = day
	}
	if faults != nil {
		return out, faults
	}
	return out, nil
}

// Effect is the experiment that was said of the log, judged, without its inputs.
func (from Files) Effect() (p report.EffectPage, err error) {
	asked, err := from.experiment()
	if err != nil {
		return p, err
	}
	x, err := asked.days(from.Zone)
	if err != nil {
		return p, err
	}
	h, parts, err := from.parts()
	if err != nil {
		return p, err
	}
	if len(parts) > 1 {
		return p, knownwater.Fault{Column: "--analyte", Found: "a log of several analytes: " + strings.Join(analytesOf(parts), ", "), Want: "which of them the experiment is judged by"}
	}
	p.Version, p.Needs = h.Version, h.Needs
	if p.Effect, err = history.EffectOf(parts[0].Entries, parts[0].Methods, x); err != nil {
		return p, flagged(inLog(from.Log.Name, err))
	}
	p.Effect.Notes = slices.Concat(h.Notes, p.Effect.Notes)
	return p, nil
}

// analytesOf names what a log is of, with the unit where one analyte stands in several.
func analytesOf(parts []history.Part) (names []string) {
	for _, p := range parts {
		name := p.Scale.Analyte
		for _, other := range parts {
			if other.Scale != p.Scale && other.Scale.Analyte == name {
				name += " " + p.Scale.String()
				break
			}
		}
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// flagged are faults of an experiment with the flags to blame for them; those of rows stay as they are.
func flagged(err error) error {
	fs, ok := err.(knownwater.Faults)
	if !ok {
		return err
	}
	return Flagged(fs)
}

// Flagged names the flags in faults that are to blame on no row.
func Flagged(fs knownwater.Faults) knownwater.Faults {
	out := slices.Clone(fs)
	for i, f := range out {
		if f.Row == 0 {
			out[i].File, out[i].Column = "", "--"+f.Column
		}
	}
	return out
}
