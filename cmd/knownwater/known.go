package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// knownCmd makes and evaluates water of known concentration. File formats:
// docs/formats-knowns.md.
type knownCmd struct {
	Plan       knownPlanCmd       `cmd:"" help:"Find the dilutions with the smallest uncertainty that the shelf allows."`
	Value      knownValueCmd      `cmd:"" help:"Give every prepared standard its value, its uncertainty and its parts."`
	Sheet      knownSheetCmd      `cmd:"" help:"Print the sheet to make the standards by."`
	Background knownBackgroundCmd `cmd:"" help:"Estimate what the salt matrix holds, from readings after known additions."`
	Compare    knownCompareCmd    `cmd:"" help:"Say whether two stocks agree, from readings of a standard of each."`
}

// today is the day that dates on the shelf are held against; tests set it.
var today = time.Now

// knownPlanCmd plans the dilutions.
type knownPlanCmd struct {
	Shelf  string   `arg:"" help:"shelf.toml: stocks, glassware, scales, salt matrix, limits." type:"file"`
	Levels []string `arg:"" sep:"none" help:"Levels to make, on the shelf's scale; 0 is the matrix itself."`
	Out    string   `help:"Write the plan to this file, to fill in what was really taken." type:"file"`
	Next   bool     `help:"Show the next best plan, and what buying one device would gain."`
	Seed   uint64   `help:"Seed of the codes on the labels." default:"1"`
	JSON   bool     `name:"json" help:"Print one JSON object."`
	replacing
}

func (c *knownPlanCmd) Run(e *env) error {
	prepared := c.output(e, c.Out, c.Shelf)
	if err := prepared.check(); err != nil {
		return err
	}
	shelf, notes, err := openShelf(e, c.Shelf, today())
	if err != nil {
		return err
	}
	levels, err := parseLevels(c.Levels)
	if err != nil {
		return err
	}
	plan, faults := known.Search(shelf, levels)
	out := report.KnownPlan{Shelf: shelf, Levels: levels, Plan: plan, Notes: notes, Version: version}
	if faults != nil {
		return c.explain(e, out, faults)
	}
	out.Plan.Preparation = plan.Preparation.Coded(rand.New(rand.NewPCG(c.Seed, 0)))
	out.Plan.Set = known.Evaluate(shelf, out.Plan.Preparation)
	if c.Next {
		out.Next = known.NextBest(shelf, levels, plan)
		out.Buying = known.Buying(shelf, levels, plan)
	}
	if err := prepared.write(func(w io.Writer) error { return intake.WritePrepared(w, out.Plan.Preparation) }); err != nil {
		return err
	}
	if prepared.toStdout() {
		return nil
	}
	if c.JSON {
		return out.JSON(e.out)
	}
	return out.Text(e.out, c.Shelf, c.Out)
}

// explain refuses a plan that cannot be made, with what would make it possible.
func (c *knownPlanCmd) explain(e *env, v report.KnownPlan, faults knownwater.Faults) error {
	if c.Next {
		for _, b := range known.Buying(v.Shelf, v.Levels, known.Plan{}) {
			faults = append(faults, knownwater.Fault{Found: "%s it can be done", Want: "u would be %.2g %% of the levels on average"}.Of(b.What, 100*b.Ratio))
		}
	}
	return inFile(c.Shelf, faults)
}

// knownValueCmd evaluates what was prepared.
type knownValueCmd struct {
	Shelf    string `arg:"" help:"shelf.toml" type:"file"`
	Prepared string `arg:"" help:"prepared.toml: what was really taken and filled up to." type:"file"`
	Draws    int    `help:"Monte Carlo draws to lay beside the budget; 0 for none." default:"20000"`
	Seed     uint64 `help:"Seed of the draws." default:"1"`
	CSV      string `name:"csv" help:"Write level, u_level, u_shared and u_background of each code to this file, for readings.csv." type:"file"`
	JSON     bool   `name:"json" help:"Print one JSON object."`
	replacing
}

// mostDraws keeps a slip of the hand from filling the memory.
const mostDraws = 1_000_000

func (c *knownValueCmd) Run(e *env) error {
	rows := c.output(e, c.CSV, c.Shelf, c.Prepared)
	if err := rows.check(); err != nil {
		return err
	}
	if c.Draws != 0 && (c.Draws < 1000 || c.Draws > mostDraws) {
		return knownwater.Fault{Column: "--draws", Found: "%v", Want: "0 for none, or 1000 to %d"}.Of(c.Draws, mostDraws)
	}
	shelf, notes, err := openShelf(e, c.Shelf, today())
	if err != nil {
		return err
	}
	prepared, err := openPrepared(e, c.Prepared, shelf)
	if err != nil {
		return err
	}
	set := known.Evaluate(shelf, prepared.Solutions)
	if c.Draws > 0 {
		known.Simulate(shelf, prepared.Solutions, &set, c.Draws, rand.New(rand.NewPCG(c.Seed, 0)))
	}
	v := report.KnownValues{Shelf: shelf, Set: set, Planned: prepared.Planned, Notes: append(notes, set.Notes...), Version: version}
	if err := rows.write(v.CSV); err != nil || rows.toStdout() {
		return err
	}
	if c.JSON {
		return v.JSON(e.out)
	}
	return v.Text(e.out)
}

// knownSheetCmd prints the preparation sheet.
type knownSheetCmd struct {
	Shelf    string `arg:"" help:"shelf.toml" type:"file"`
	Prepared string `arg:"" help:"prepared.toml, as the plan wrote it." type:"file"`
	HTML     string `name:"html" help:"Write a page for the printer to this file." type:"file"`
	replacing
}

func (c *knownSheetCmd) Run(e *env) error {
	page := c.output(e, c.HTML, c.Shelf, c.Prepared)
	if err := page.check(); err != nil {
		return err
	}
	shelf, notes, err := openShelf(e, c.Shelf, today())
	if err != nil {
		return err
	}
	prepared, err := openPrepared(e, c.Prepared, shelf)
	if err != nil {
		return err
	}
	sheet := known.MakeSheet(shelf, prepared.Solutions)
	sheet.Before = append(sheet.Before, notes...)
	if c.HTML == "" {
		return report.SheetText(e.out, sheet)
	}
	if err := page.write(func(w io.Writer) error { return report.SheetPage(w, sheet) }); err != nil {
		return err
	}
	return page.told(e, "The sheet is in", filepath.Base(c.HTML))
}

// knownBackgroundCmd estimates the background.
type knownBackgroundCmd struct {
	Readings string  `arg:"" help:"readings.csv, its level column saying what was ADDED to the matrix (0: nothing)." type:"file"`
	Methods  string  `help:"methods.toml, for charts and drops." type:"file"`
	Method   string  `help:"The method to use, where the file holds several."`
	Zero     float64 `help:"What the method reads in pure water without the analyte."`
	UZero    float64 `name:"u-zero" help:"Its standard uncertainty; 0: not known."`
	JSON     bool    `name:"json" help:"Print one JSON object."`
}

func (c *knownBackgroundCmd) Run(e *env) error {
	source, err := e.source(c.Readings)
	if err != nil {
		return err
	}
	var methods intake.Source
	if c.Methods != "" {
		if methods, err = e.source(c.Methods); err != nil {
			return err
		}
	}
	trial, err := intake.Trial(source, methods, intake.Source{})
	if err != nil {
		return err
	}
	additions, err := c.additions(trial)
	if err != nil {
		return err
	}
	b := known.Additions(additions, c.Zero, c.UZero)
	v := report.KnownBackground{Background: b, Scale: trial.Scale}
	if c.JSON {
		return v.JSON(e.out)
	}
	return v.Text(e.out)
}

// additions are the readings of the one method that is asked for.
func (c *knownBackgroundCmd) additions(t knownwater.Trial) ([]known.Addition, error) {
	name := c.Method
	if name == "" && len(t.Methods) == 1 {
		name = t.Methods[0].Name
	}
	var names []string
	found := false
	for _, m := range t.Methods {
		names = append(names, m.Name)
		found = found || m.Name == name
	}
	if !found {
		return nil, knownwater.Fault{Column: "--method", Found: "%q", Want: "one of %s"}.Of(name, strings.Join(names, ", "))
	}
	var out []known.Addition
	for _, o := range t.Observations {
		for range o.Count {
			if o.Method == name {
				out = append(out, known.Addition{Added: o.Level, Reading: o.On()})
			}
		}
	}
	return out, nil
}

// knownCompareCmd compares two stocks by readings of one method.
type knownCompareCmd struct {
	Shelf     string  `arg:"" help:"shelf.toml" type:"file"`
	Prepared  string  `arg:"" help:"prepared.toml with a standard from each stock." type:"file"`
	First     string  `arg:"" help:"Name of the standard from the first stock."`
	Second    string  `arg:"" help:"Name of the standard from the second stock."`
	ReadFirst string  `required:"" placeholder:"MEAN,U,N" sep:"none" help:"Mean reading of the first, its standard uncertainty and of how many readings, such as 9.42,0.05,3; without N the uncertainty is taken as known."`
	ReadOther string  `name:"read-second" required:"" placeholder:"MEAN,U,N" sep:"none" help:"The same of the second."`
	Permitted float64 `help:"Largest difference that does not matter, as a share." default:"0.02"`
	JSON      bool    `name:"json" help:"Print one JSON object."`
}

func (c *knownCompareCmd) Run(e *env) error {
	shelf, _, err := openShelf(e, c.Shelf, today())
	if err != nil {
		return err
	}
	prepared, err := openPrepared(e, c.Prepared, shelf)
	if err != nil {
		return err
	}
	set := known.Evaluate(shelf, prepared.Solutions)
	a, err := find(set, c.First)
	if err != nil {
		return err
	}
	b, err := find(set, c.Second)
	if err != nil {
		return err
	}
	first, err := meanAndU("--read-first", c.ReadFirst)
	if err != nil {
		return err
	}
	second, err := meanAndU("--read-second", c.ReadOther)
	if err != nil {
		return err
	}
	v := report.StockComparison{First: c.First, Second: c.Second, Comparison: known.CompareStocks(a.Value, b.Value, first, second, c.Permitted)}
	if c.JSON {
		return v.JSON(e.out)
	}
	return v.Text(e.out)
}

func find(set known.Set, name string) (known.Standard, error) {
	var names []string
	for _, st := range set.Standards {
		if st.Solution.Name == name {
			return st, nil
		}
		names = append(names, st.Solution.Name)
	}
	return known.Standard{}, knownwater.Fault{Column: "standard", Found: "%q", Want: "one of %s"}.Of(name, strings.Join(names, ", "))
}

// meanAndU reads "9.42,0.05,3".
func meanAndU(flag, text string) (known.MeanRead, error) {
	parts := append(strings.Split(text, ","), "", "")
	number := func(i int) float64 {
		v, _, err := reading.Number(strings.TrimSpace(parts[i]))
		if err != nil {
			return math.NaN()
		}
		return v
	}
	m := known.MeanRead{Mean: number(0), U: number(1)}
	n := number(2)
	if parts[2] == "" {
		n = 0
	}
	if m.N = int(n); len(parts) > 5 || !(m.Mean > 0) || !(m.U > 0) || float64(m.N) != n || n < 0 || n == 1 || n > 1e9 {
		return known.MeanRead{}, knownwater.Fault{Column: flag, Found: fmt.Sprintf("%q", text), Want: "a mean above 0 and its standard uncertainty, such as 9.42,0.05, and of how many readings, two or more: 9.42,0.05,3"}
	}
	return m, nil
}

// parseLevels reads levels; a decimal comma is fine.
func parseLevels(texts []string) ([]float64, error) {
	var out []float64
	var faults knownwater.Faults
	for _, t := range texts {
		v, _, err := reading.Number(reading.Point(strings.TrimSpace(t)))
		if err != nil {
			faults = append(faults, knownwater.Fault{Column: "level", Found: fmt.Sprintf("%q", t), Want: "a concentration such as 3 or 0.6; levels are parted by spaces"})
			continue
		}
		out = append(out, v)
	}
	if faults != nil {
		return nil, faults
	}
	return out, nil
}

// openPrepared reads and checks prepared.toml.
func openPrepared(e *env, path string, shelf known.Shelf) (intake.Prepared, error) {
	file, err := e.source(path)
	if err != nil {
		return intake.Prepared{}, err
	}
	return intake.ReadPrepared(file, shelf)
}

// openShelf reads and checks shelf.toml.
func openShelf(e *env, path string, day time.Time) (known.Shelf, []note.Note, error) {
	file, err := e.source(path)
	if err != nil {
		return known.Shelf{}, nil, err
	}
	return intake.Shelf(file, day)
}

// inFile puts the file's name into faults.
func inFile(path string, faults knownwater.Faults) knownwater.Faults {
	for i := range faults {
		if faults[i].File == "" {
			faults[i].File = path
		}
	}
	return faults
}
