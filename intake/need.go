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
	Low           float64      `toml:"low"`
	High          float64      `toml:"high"`
	Permitted     []permitTOML `toml:"permitted,inline"`
	TestsAMonth   float64      `toml:"tests_a_month,omitempty"`
	MinutesAtMost float64      `toml:"minutes_at_most,omitempty"`
	MoneyAYear    float64      `toml:"money_a_year,omitempty"`
	Sure          float64      `toml:"sure,omitempty"`
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
	at, faults := src.decode(&in)
	if faults != nil {
		return nil, faults
	}
	if len(in.Need) == 0 {
		return nil, src.refuse(0, "need", "no need", "a [[need]] with name, low, high and permitted")
	}
	var needs []knownwater.Need
	names := map[string]bool{}
	for i, n := range in.Need {
		need := knownwater.Need{Name: strings.TrimSpace(n.Name), Low: n.Low, High: n.High,
			TestsAMonth: n.TestsAMonth, MinutesAtMost: n.MinutesAtMost, MoneyAYear: n.MoneyAYear, Sure: n.Sure}
		for _, p := range n.Permitted {
			need.Permitted = append(need.Permitted, knownwater.Permit(p))
		}
		fs := CheckNeed(need)
		if names[need.Name] && need.Name != "" {
			fs = append(fs, knownwater.Fault{Column: "name", Found: "a second need " + reading.Quote(need.Name), Want: "each name once"})
		}
		names[need.Name] = true
		for _, f := range fs {
			faults = append(faults, src.fault(at.row(fmt.Sprintf("need.%d", i), f.Column), f.Column, f.Found, f.Want))
		}
		needs = append(needs, need)
	}
	return needs, faults
}

// CheckNeed says what is wrong with a need, with the key of need.toml that is
// to blame as the column of each fault; nil if nothing is.
func CheckNeed(n knownwater.Need) knownwater.Faults {
	var fs knownwater.Faults
	wrong := func(key, found, want string) {
		fs = append(fs, knownwater.Fault{Column: key, Found: found, Want: want})
	}
	if n.Name == "" {
		wrong("name", "a need without a name", "a name")
	}
	if !finite(n.Low) || n.Low < 0 {
		wrong("low", show(n.Low), "a concentration from 0 up")
	}
	if !finite(n.High) || !(n.High > n.Low) {
		wrong("high", show(n.High), "a concentration above low, "+show(n.Low))
	}
	if len(n.Permitted) == 0 {
		wrong("permitted", "no permitted error", "at least one, such as { at = 0.5, error = 0.5 }")
	}
	for i, p := range n.Permitted {
		switch {
		case !finite(p.At) || p.At < 0:
			wrong("permitted", "at = "+show(p.At), "a concentration from 0 up")
		case !finite(p.Error) || p.Error <= 0:
			wrong("permitted", "error = "+show(p.Error), "an error above 0")
		case i > 0 && !(n.Permitted[i-1].At < p.At):
			wrong("permitted", fmt.Sprintf("at = %s after at = %s", show(p.At), show(n.Permitted[i-1].At)), "concentrations, rising")
		}
	}
	for _, a := range []struct {
		key string
		v   float64
	}{{"tests_a_month", n.TestsAMonth}, {"minutes_at_most", n.MinutesAtMost}, {"money_a_year", n.MoneyAYear}} {
		if !finite(a.v) || a.v < 0 {
			wrong(a.key, show(a.v), "0 or more")
		}
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
		t := needTOML{Name: n.Name, Low: n.Low, High: n.High,
			TestsAMonth: n.TestsAMonth, MinutesAtMost: n.MinutesAtMost, MoneyAYear: n.MoneyAYear, Sure: n.Sure}
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
