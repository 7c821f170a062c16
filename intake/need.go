package intake

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/science/reading"
)

type needsTOML struct {
	Need []needTOML `toml:"need"`
}

type needTOML struct {
	Name          string       `toml:"name"`
	Analyte       string       `toml:"analyte,omitempty"`
	Low           float64      `toml:"low"`
	High          float64      `toml:"high"`
	Permitted     []permitTOML `toml:"permitted,inline"`
	TestsAMonth   float64      `toml:"tests_a_month,omitempty"`
	MinutesAtMost float64      `toml:"minutes_at_most,omitempty"`
	MoneyAYear    float64      `toml:"money_a_year,omitempty"`
	Sure          float64      `toml:"sure,omitempty"`
	Change        float64      `toml:"change,omitempty"`
	Held          *bool        `toml:"held,omitempty"`

	Readers      int       `toml:"readers,omitempty"`
	ReadsColours *bool     `toml:"reads_colours,omitempty"`
	WasteMLAYear float64   `toml:"waste_ml_a_year,omitempty"`
	Hazards      *[]string `toml:"hazards_accepted,omitempty"`
	WrongBelow   float64   `toml:"wrong_below,omitempty"`
	WrongAbove   float64   `toml:"wrong_above,omitempty"`
	FalseAlarm   float64   `toml:"false_alarm,omitempty"`
	Usual        []float64 `toml:"usual,omitempty"`

	// In a person's words, in the place of low, high and permitted. They are read, never written.
	Hold     []float64    `toml:"hold,omitempty"`
	Rise     *riseTOML    `toml:"rise,omitempty"`
	ZeroFrom *float64     `toml:"zero_from,omitempty"`
	MoreThan *float64     `toml:"more_than,omitempty"`
	Compare  *compareTOML `toml:"compare,omitempty"`
}

type riseTOML struct {
	Of float64 `toml:"of"`
	At float64 `toml:"at"`
}

type compareTOML struct {
	Difference float64 `toml:"difference"`
	At         float64 `toml:"at"`
	Weeks      float64 `toml:"weeks"`
}

type permitTOML struct {
	At    float64 `toml:"at"`
	Error float64 `toml:"error"`
}

// Needs reads need.toml. The error holds knownwater.Faults.
func Needs(src Source) ([]knownwater.Need, error) {
	needs, faults := readNeeds(src)
	if len(faults) > 0 {
		return nil, faults
	}
	return needs, nil
}

func readNeeds(src Source) ([]knownwater.Need, knownwater.Faults) {
	var in needsTOML
	at, faults := src.decode(&in, trialsPage)
	if faults != nil {
		return nil, faults
	}
	if len(in.Need) == 0 {
		return nil, src.refuse(0, "need", "no need", "a [[need]] with name, low, high and permitted")
	}
	var needs []knownwater.Need
	names := map[string]bool{}
	for i, n := range in.Need {
		need, fs := n.need()
		if fs == nil {
			fs = CheckNeed(need)
		}
		if names[need.Name] && need.Name != "" {
			fs = append(fs, knownwater.Fault{Column: "name", Found: "a second need %s", Want: "each name once"}.Of(reading.Quote(need.Name)))
		}
		names[need.Name] = true
		for _, f := range fs {
			faults = append(faults, src.at(at.row(fmt.Sprintf("need.%d", i), f.Column), f.Column, f))
		}
		needs = append(needs, need)
	}
	return needs, faults
}

// need is what is needed, out of numbers or of words; the faults are those of the words.
func (n needTOML) need() (knownwater.Need, knownwater.Faults) {
	out, said, fs := n.words()
	if said == "" {
		out = knownwater.Need{Low: n.Low, High: n.High}
	} else if n.Low != 0 || n.High != 0 {
		fs = append(fs, knownwater.Fault{Column: said, Found: "both %s and low or high", Want: "one of them: %s says what range is meant"}.Of(said, said))
	}
	out.Name, out.Analyte = strings.TrimSpace(n.Name), strings.TrimSpace(n.Analyte)
	out.TestsAMonth, out.MinutesAtMost, out.MoneyAYear, out.Sure, out.Change = n.TestsAMonth, n.MinutesAtMost, n.MoneyAYear, n.Sure, n.Change
	if n.Held != nil {
		out.NotHeld = !*n.Held
	}
	out.Readers, out.NoColours, out.WasteMLAYear = n.Readers, n.ReadsColours != nil && !*n.ReadsColours, n.WasteMLAYear
	if n.Hazards != nil {
		out.OnlyHazards, out.Hazards = true, *n.Hazards
	}
	out.WrongBelow, out.WrongAbove, out.FalseAlarm = n.WrongBelow, n.WrongAbove, n.FalseAlarm
	switch len(n.Usual) {
	case 0:
	case 2:
		out.Usual = [2]float64{n.Usual[0], n.Usual[1]}
	default:
		fs = append(fs, knownwater.Fault{Column: "usual", Found: "%d numbers", Want: "two: from where to where the water lies as a rule"}.Of(len(n.Usual)))
	}
	if len(n.Permitted) > 0 { // stated beside words, it counts
		out.Permitted = nil
	}
	for _, p := range n.Permitted {
		out.Permitted = append(out.Permitted, knownwater.Permit(p))
	}
	return out, fs
}

// words turns a need in a person's words into numbers; said is the key, empty where there
// is none.
func (n needTOML) words() (out knownwater.Need, said string, fs knownwater.Faults) {
	wrong := func(found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: said, Found: found, Want: want}.Of(values...))
	}
	above := func(what string, v float64) {
		if !finite(v) || v <= 0 {
			wrong(what+" "+show(v), "a number above 0")
		}
	}
	first := func(key string) bool {
		if said != "" {
			fs = append(fs, knownwater.Fault{Column: key, Found: "both %s and %s", Want: "one [[need]] for each"}.Of(said, key))
			return false
		}
		said = key
		return true
	}
	if n.Hold != nil && first("hold") {
		if len(n.Hold) != 2 {
			wrong("%d numbers", "two: hold = [2, 6]", len(n.Hold))
			return out, said, fs
		}
		out = knownwater.Hold(n.Hold[0], n.Hold[1])
	}
	if r := n.Rise; r != nil && first("rise") {
		above("of", r.Of)
		out = knownwater.SeeRise(r.Of, r.At)
	}
	if n.ZeroFrom != nil && first("zero_from") {
		above("from", *n.ZeroFrom)
		out = knownwater.TellZero(*n.ZeroFrom)
	}
	if n.MoreThan != nil && first("more_than") {
		above("more than", *n.MoreThan)
		out = knownwater.SpotMore(*n.MoreThan)
	}
	if c := n.Compare; c != nil && first("compare") {
		above("difference", c.Difference)
		above("weeks", c.Weeks)
		if !finite(n.TestsAMonth) || n.TestsAMonth <= 0 {
			wrong("no tests_a_month", "how many tests a month each water gets: the more, the less each of them has to do")
		}
		out = knownwater.Compare(c.Difference, c.At, c.Weeks, n.TestsAMonth)
	}
	return out, said, fs
}

// CheckNeed says what is wrong with a need, with the key of need.toml that is
// to blame as the column of each fault; nil if nothing is.
func CheckNeed(n knownwater.Need) knownwater.Faults {
	var fs knownwater.Faults
	wrong := func(key, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: key, Found: found, Want: want}.Of(values...))
	}
	if n.Name == "" {
		wrong("name", "a need without a name", "a name")
	}
	if !finite(n.Low) || n.Low < 0 {
		wrong("low", show(n.Low), "a concentration from 0 up")
	}
	if !finite(n.High) || !(n.High > n.Low) {
		wrong("high", "%s", "a concentration above low, %s", show(n.High), show(n.Low))
	}
	if len(n.Permitted) == 0 {
		wrong("permitted", "no permitted error", "at least one, such as { at = 0.5, error = 0.5 }")
	}
	for i, p := range n.Permitted {
		switch {
		case !finite(p.At) || p.At < 0:
			wrong("permitted", "at = "+show(p.At), "a concentration from 0 up")
		case !finite(p.Error) || p.Error <= 0:
			wrong("permitted", "error = %s", "an error above 0", show(p.Error))
		case i > 0 && !(n.Permitted[i-1].At < p.At):
			wrong("permitted", "at = %s after at = %s", "concentrations, rising", show(p.At), show(n.Permitted[i-1].At))
		}
	}
	for _, a := range []struct {
		key string
		v   float64
	}{{"tests_a_month", n.TestsAMonth}, {"minutes_at_most", n.MinutesAtMost}, {"money_a_year", n.MoneyAYear}, {"readers", float64(n.Readers)}, {"waste_ml_a_year", n.WasteMLAYear},
		{"wrong_below", n.WrongBelow}, {"wrong_above", n.WrongAbove}, {"false_alarm", n.FalseAlarm}, {"change", n.Change}} {
		if !finite(a.v) || a.v < 0 {
			wrong(a.key, show(a.v), "0 or more")
		}
	}
	if what := knownwater.NoHazard(n.Hazards); what != "" {
		wrong("hazards_accepted", reading.Quote(what), knownwater.HazardNames())
	}
	if u := n.Usual; u != [2]float64{} && !(finite(u[0]) && finite(u[1]) && u[0] >= 0 && u[0] < u[1]) {
		wrong("usual", fmt.Sprintf("%s to %s", show(u[0]), show(u[1])), "two concentrations from 0 up, the second above the first")
	}
	if s := n.Sure; s != 0 && !(s > 0.5 && s < 1) {
		wrong("sure", show(s), "above 0.5 and below 1, such as 0.95")
	}
	return fs
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func show(v float64) string { return fmt.Sprintf("%g", v) }

// WriteNeeds writes a need.toml that Needs reads back as it was.
func WriteNeeds(w io.Writer, needs []knownwater.Need) error {
	var out needsTOML
	for _, n := range needs {
		t := needTOML{Name: n.Name, Analyte: n.Analyte, Low: n.Low, High: n.High,
			TestsAMonth: n.TestsAMonth, MinutesAtMost: n.MinutesAtMost, MoneyAYear: n.MoneyAYear, Sure: n.Sure, Change: n.Change,
			Readers: n.Readers, WasteMLAYear: n.WasteMLAYear, WrongBelow: n.WrongBelow, WrongAbove: n.WrongAbove, FalseAlarm: n.FalseAlarm}
		if n.NoColours {
			t.ReadsColours = new(bool)
		}
		if n.NotHeld {
			t.Held = new(bool)
		}
		if n.OnlyHazards {
			list := append([]string{}, n.Hazards...)
			t.Hazards = &list
		}
		if n.Usual != [2]float64{} {
			t.Usual = n.Usual[:]
		}
		for _, p := range n.Permitted {
			t.Permitted = append(t.Permitted, permitTOML(p))
		}
		out.Need = append(out.Need, t)
	}
	if err := toml.NewEncoder(w).Encode(out); err != nil {
		return fmt.Errorf("writing needs: %w", err)
	}
	return nil
}
