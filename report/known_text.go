package report

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// KnownPlan is a plan of dilutions, to be told.
type KnownPlan struct {
	Shelf  known.Shelf
	Levels []float64
	Plan   known.Plan
	Next   *known.Alternative
	Buying []known.Alternative
	Notes  []note.Note

	Version string
}

// Text tells it; shelf is the name of the file it was made from, written that
// of the file that the plan is in, if any.
func (v KnownPlan) Text(out io.Writer, shelf, written string) error {
	var b strings.Builder
	p := v.Plan
	fmt.Fprintf(&b, "%s of %s in %s, from stock %s.\n", things(len(v.Levels), "level"), v.Shelf.Scale.Analyte, v.Shelf.Scale, p.Stock)
	fmt.Fprintf(&b, "On average u is %s of the level; %s; %.0f mL of salt water; %.0f mL left over.\n", perCent(p.RelativeU), things(p.Steps, "measurement"), p.Set.MatrixUsed, p.Waste)
	if bound := known.BackgroundBound(p); bound > 0.5 {
		fmt.Fprintf(&b, "%.0f %% of the doubt is the salt water's own %s: measuring it better helps more than better glass.\n", 100*bound, v.Shelf.Scale.Analyte)
	}
	b.WriteString("\n")
	rows := append(append([]known.Standard(nil), p.Set.Intermediates...), p.Set.Standards...)
	underHeading(&b, "name\tlevel\tvalue ± u\tsalinity\ttake\tfill up\tlargest part", func(row func(...any)) {
		for _, st := range rows {
			asked := "–"
			if st.Solution.Standard {
				asked = unit.Round(st.Solution.Asked, 0)
			}
			take, whole := MadeOf(st), none
			if last := lastStep(st); last.Code == "made-up" {
				take, whole = takenOf(told{last, english}), wholeOf(told{last, english})
			}
			row(st.Solution.Name, asked, unit.Format(st.Value.Value, st.U), fmt.Sprintf("%.2f", st.Salinity), take, whole, Words(st.Largest))
		}
	})
	v.alternatives(&b)
	knownNotes(&b, append(append(SayAll(v.Notes), standardNotes(rows)...), SayAll(p.Set.Notes)...))
	if written != "" {
		fmt.Fprintf(&b, "\nThe plan is in %[2]s. Print the sheet: knownwater known sheet %[1]s %[2]s --html sheet.html\nThen write what was really taken into %[2]s and run: knownwater known value %[1]s %[2]s\n", filepath.Base(shelf), filepath.Base(written))
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// lastStep is how a solution is made from what stands above it.
func lastStep(st known.Standard) note.Note { return st.Chain[len(st.Chain)-1] }

// MadeOf says how a solution is made from what stands above it.
func MadeOf(st known.Standard) string {
	last := lastStep(st)
	if last.Code != "made-up" {
		return Words(last)
	}
	return english.Say("{1}, filled up to {2}", takenOf(told{last, english}), wholeOf(told{last, english}))
}

func (v KnownPlan) alternatives(b *strings.Builder) {
	if v.Next != nil {
		fmt.Fprintf(b, "\nNext best, %s: u on average %s of the level (%s).\n", v.Next.What, perCent(v.Next.Plan.RelativeU), change(v.Next.Ratio))
	}
	if v.Next != nil && len(v.Buying) == 0 {
		b.WriteString("No single device that is commonly sold would lower u by 1 % or more.\n")
	}
	for i, x := range v.Buying {
		if i == 0 {
			b.WriteString("What one more device would gain:\n")
		}
		fmt.Fprintf(b, "  %s: u on average %s (%s)\n", x.What, perCent(x.Plan.RelativeU), change(x.Ratio))
	}
}

func change(ratio float64) string {
	if ratio < 1 {
		return english.Say("{1} % less", fmt.Sprintf("%.0f", 100*(1-ratio)))
	}
	return english.Say("{1} % more", fmt.Sprintf("%.0f", 100*(ratio-1)))
}

// perCent is a share with two digits.
func perCent(share float64) string { return brief(100*share) + " %" }

// KnownValues are prepared standards with their values, to be told.
type KnownValues struct {
	Shelf   known.Shelf
	Set     known.Set
	Planned map[string]float64
	Notes   []note.Note
	Version string
}

// Text tells them.
func (v KnownValues) Text(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "Standards of %s in %s.\n\n", v.Shelf.Scale.Analyte, v.Shelf.Scale)
	underHeading(&b, "name\tcode\tvalue ± u\t95 % interval\tMonte Carlo\tshared\tbackground\tsalinity\tlargest part", func(row func(...any)) {
		for _, st := range v.Set.Standards {
			row(st.Solution.Name, st.Solution.Code, unit.Format(st.Value.Value, st.U), span(st.Low, st.High, st.U), monte(st),
				unit.Round(st.UShared, st.U), unit.Round(st.UBackground, st.U), fmt.Sprintf("%.2f", st.Salinity), Words(st.Largest))
		}
	})
	b.WriteString("\nHow each was made:\n")
	for _, st := range append(append([]known.Standard(nil), v.Set.Intermediates...), v.Set.Standards...) {
		fmt.Fprintf(&b, "  %s: %s\n", st.Solution.Name, MadeOf(st))
	}
	if moved := v.moved(); len(moved) > 0 {
		b.WriteString("\nPlanned against taken:\n")
		for _, m := range moved {
			fmt.Fprintf(&b, "  %s\n", m)
		}
	}
	b.WriteString("\nFor readings.csv:\n")
	if err := v.CSV(&b); err != nil {
		return err
	}
	knownNotes(&b, append(SayAll(v.Notes), standardNotes(v.Set.Standards)...))
	_, err := io.WriteString(out, b.String())
	return err
}

func (v KnownValues) moved() []string {
	var out []string
	for _, st := range append(append([]known.Standard(nil), v.Set.Intermediates...), v.Set.Standards...) {
		x := st.Solution
		if planned, found := v.Planned[x.Name]; found && planned != x.Take.Amount {
			out = append(out, english.Say("{1}: planned {2}, taken {3}: {4} %", x.Name, unit.Round(planned, 0), unit.Round(x.Take.Amount, 0), fmt.Sprintf("%+.1f", 100*(x.Take.Amount/planned-1))))
		}
	}
	return out
}

// CSV writes the lines that readings.csv needs of each standard.
func (v KnownValues) CSV(w io.Writer) error {
	var b strings.Builder
	b.WriteString("code,level,u_level,u_shared,u_background,unit,basis\n")
	for _, st := range v.Set.Standards {
		fmt.Fprintf(&b, "%s,%s,%s,%s,%s,%s,%s\n", codeOf(st), machine(st.Value.Value), machine(st.U), machine(st.UShared), machine(st.UBackground), v.Shelf.Scale.Unit, v.Shelf.Scale.Basis)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func codeOf(st known.Standard) string {
	if st.Solution.Code != "" {
		return st.Solution.Code
	}
	return st.Solution.Name
}

// machine is a number for machines: 8 digits, more than any standard is worth.
func machine(v float64) string { return strconv.FormatFloat(v, 'g', 8, 64) }

func span(low, high, u float64) string {
	return english.Say("{1} to {2}", unit.TrueMinus(unit.Round(low, u)), unit.TrueMinus(unit.Round(high, u)))
}

func monte(st known.Standard) string {
	if st.Monte == nil {
		return "–"
	}
	return span(st.Monte.Low, st.Monte.High, st.U)
}

// underHeading lays out rows under a heading.
func underHeading(out io.Writer, heading string, fill func(row func(...any))) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, heading)
	fill(func(cells ...any) {
		for i, c := range cells {
			if i > 0 {
				fmt.Fprint(w, "\t")
			}
			fmt.Fprint(w, c)
		}
		fmt.Fprintln(w)
	})
	return w.Flush()
}

// standardNotes are the notes of standards, each with its name.
func standardNotes(standards []known.Standard) []string {
	var out []string
	for _, st := range standards {
		for _, n := range st.Notes {
			out = append(out, st.Solution.Name+": "+Say(n))
		}
	}
	return out
}

func knownNotes(b *strings.Builder, all []string) {
	for i, n := range all {
		if i == 0 {
			b.WriteString("\nNotes\n")
		}
		fmt.Fprintf(b, "  %s\n", n)
	}
}

// KnownBackground is what standard additions say, to be told.
type KnownBackground struct {
	Background known.Background
	Scale      unit.Scale
}

// Text tells it.
func (v KnownBackground) Text(out io.Writer) error {
	var b strings.Builder
	x := v.Background
	if math.IsNaN(x.Value) {
		fmt.Fprintf(&b, "The background cannot be told from %s.\n", these(x.N))
	} else {
		fmt.Fprintf(&b, "Background, if the method answers in a straight line: %s %s, 95 %% interval %s, from %d readings.\n", unit.Format(x.Value, x.U), v.Scale, span(x.Low, x.High, x.U), x.N)
		fmt.Fprintf(&b, "The method shows %s per unit added.\n\nFor shelf.toml:\n[matrix]\nbackground = %s\nu = %s\nhow = \"standard addition\"\n",
			unit.Format(x.Slope, x.USlope), machine(math.Max(0, x.Value)), machine(x.U))
	}
	knownNotes(&b, SayAll(x.Notes))
	_, err := io.WriteString(out, b.String())
	return err
}

// StockComparison is one stock against another, to be told.
type StockComparison struct {
	First, Second string // names of the standards
	Comparison    known.Comparison
}

// Text tells it.
func (v StockComparison) Text(out io.Writer) error {
	_, err := fmt.Fprintf(out, "The stocks behind %s and %s: %s. %s\n", v.First, v.Second, v.Comparison.Verdict, Say(v.Comparison.Why))
	return err
}

func these(n int) string {
	if n == 1 {
		return english.Say("this one reading")
	}
	return english.Say("these {1}", things(n, "reading"))
}
