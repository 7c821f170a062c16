package intake

import (
	"fmt"
	"io"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"knownwater/science/known"
)

// The file prepared.toml, as docs/formats-knowns.md describes it.

type preparedFile struct {
	Person   string         `toml:"person"`
	Day      toml.LocalDate `toml:"day"`
	Note     string         `toml:"note"`
	Solution []struct {
		Name  string      `toml:"name"`
		Code  string      `toml:"code"`
		Level *float64    `toml:"level"`
		From  string      `toml:"from"`
		Take  measureFile `toml:"take"`
		Make  measureFile `toml:"make"`
		In    string      `toml:"in"`
		Note  string      `toml:"note"`
	} `toml:"solution"`
}

type measureFile struct {
	Device  string  `toml:"device"`
	Amount  float64 `toml:"amount"`
	Times   *int    `toml:"times"`
	Planned float64 `toml:"planned"`
}

// Prepared is a preparation with what had been planned, by name of solution.
type Prepared struct {
	Solutions known.Preparation
	Planned   map[string]float64
}

// ReadPrepared reads prepared.toml, made from a shelf. The error holds knownwater.Faults.
func ReadPrepared(src Source, shelf known.Shelf) (Prepared, error) {
	var f preparedFile
	if _, faults := src.decode(&f, knownsPage); faults != nil {
		return Prepared{}, faults
	}
	out := Prepared{Planned: map[string]float64{}}
	for _, x := range f.Solution {
		s := known.Solution{
			Name: x.Name, Code: x.Code, From: x.From, In: known.Diluent(x.In),
			Take: x.Take.measure(), Make: x.Make.measure(),
		}
		if s.In == "" {
			s.In = known.InMatrix
		}
		if x.Level != nil {
			s.Standard, s.Asked = true, *x.Level
		}
		if x.Take.Planned > 0 {
			out.Planned[x.Name] = x.Take.Planned
		}
		out.Solutions = append(out.Solutions, s)
	}
	if faults := out.Solutions.Faults(shelf); faults != nil {
		return Prepared{}, src.placed(faults)
	}
	return out, nil
}

func (m measureFile) measure() known.Measure {
	out := known.Measure{Device: m.Device, Amount: m.Amount, Times: 1}
	set(&out.Times, m.Times)
	return out
}

// WritePrepared writes a plan to be filled in.
func WritePrepared(w io.Writer, p known.Preparation) error {
	var b strings.Builder
	b.WriteString("# The plan. Put what you really took or weighed into amount; planned stays as it is.\n")
	b.WriteString("# person = \"\"\n# day = 2026-01-31\n")
	for _, x := range p {
		fmt.Fprintf(&b, "\n[[solution]]\nname = %q\n", x.Name)
		if x.Standard {
			fmt.Fprintf(&b, "code = %q\nlevel = %v\n", x.Code, x.Asked)
		}
		if x.From != "" {
			fmt.Fprintf(&b, "from = %q\ntake = { device = %q, amount = %v, times = %d, planned = %v }\n", x.From, x.Take.Device, x.Take.Amount, x.Take.Times, x.Take.Amount)
			fmt.Fprintf(&b, "make = { device = %q, amount = %v }\n", x.Make.Device, x.Make.Amount)
		}
		fmt.Fprintf(&b, "in = %q\n", x.In)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
