package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// sheet is a table of findings for people who go on with a spreadsheet: full
// precision, one fact a column, empty where nothing can be computed.
type sheet struct {
	name string
	rows [][]any // texts and numbers; the first row is the header
}

// sheetsOf are the findings as tables: the verdicts, the levels, what every
// reading says, and the notes.
func sheetsOf(f assess.Findings) []sheet {
	verdicts := sheet{"verdicts", [][]any{{"need", "method", "dilution", "matrix", "verdict", "as_read_worst_at", "as_read_error_95", "as_read_low", "as_read_high",
		"corrected_worst_at", "corrected_error_95", "corrected_low", "corrected_high", "permitted", "more_tests", "why"}}}
	levels := sheet{"levels", [][]any{{"method", "dilution", "matrix", "technique", "level", "u_level", "n", "mean", "mean_low", "mean_high", "sd", "sd_low", "sd_high",
		"bias", "bias_low", "bias_high", "recovery", "recovery_low", "recovery_high", "single_u", "midpoint_mean"}}}
	backs := sheet{"read back", [][]any{{"method", "dilution", "matrix", "reading", "level", "low", "high", "open"}}}
	notes := sheet{"notes", [][]any{{"method", "dilution", "matrix", "note"}}}
	for _, q := range f.Questions {
		notes.rows = append(notes.rows, []any{q.Method, nil, nil, Say(q.Says)})
	}
	for _, n := range f.Notes {
		notes.rows = append(notes.rows, []any{nil, nil, nil, Say(n)})
	}
	for _, m := range f.Methods {
		of := []any{m.Method, m.Dilution, m.Matrix}
		row := func(cells ...any) []any { return append(append([]any{}, of...), cells...) }
		for _, n := range m.Needs {
			verdicts.rows = append(verdicts.rows, append([]any{n.Need}, row(n.Verdict, n.Raw.WorstAt, n.Raw.Error95, n.Raw.Low, n.Raw.High,
				n.Corrected.WorstAt, n.Corrected.Error95, n.Corrected.Low, n.Corrected.High, n.Raw.Permitted, n.MoreTests, sayTogether(n.Why))...))
		}
		for _, l := range m.Levels {
			levels.rows = append(levels.rows, row(m.Technique, l.Level, l.ULevel, l.N, l.Mean, l.MeanLow, l.MeanHigh, l.SD, l.SDLow, l.SDHigh,
				l.Bias, l.BiasLow, l.BiasHigh, l.Recovery, l.RecoveryLow, l.RecoveryHigh, l.SingleU, l.MidpointMean))
		}
		for _, r := range m.ReadBack {
			open := ""
			if r.Open != nil {
				open = *r.Open
			}
			backs.rows = append(backs.rows, row(r.Reading, r.Level, r.Low, r.High, open))
		}
		for _, n := range m.Notes {
			notes.rows = append(notes.rows, row(Say(n)))
		}
	}
	return []sheet{verdicts, levels, backs, notes}
}

// CSV writes the findings level by level, a row a known; unit and basis stand
// in columns of their own.
func CSV(w io.Writer, f assess.Findings) error {
	out := csv.NewWriter(w)
	for i, row := range sheetsOf(f)[1].rows {
		cells := make([]string, len(row), len(row)+2)
		for j, c := range row {
			cells[j] = cellText(c)
		}
		if i == 0 {
			cells = append(cells, "unit", "basis")
		} else {
			cells = append(cells, cellText(f.Unit), cellText(f.Basis))
		}
		out.Write(cells) // csv.Writer keeps its first error for Flush
	}
	if out.Flush(); out.Error() != nil {
		return fmt.Errorf("writing findings: %w", out.Error())
	}
	return nil
}

// XLSX writes the findings as a workbook, a sheet for each kind of fact, with
// the answer in words on the first.
func XLSX(w io.Writer, f assess.Findings, t knownwater.Trial) error {
	book := excelize.NewFile()
	defer book.Close()
	v := newView(english, f, t, asTheyAre)
	answer := sheet{"answer", [][]any{{strings.Join(v.Answer.Head, " ")}, {v.Answer.From}, {}, {"need", "what to use", "besides"}}}
	for _, r := range v.Answer.Rows {
		answer.rows = append(answer.rows, []any{r.Need, r.Use, r.More})
	}
	for i, s := range append([]sheet{answer}, sheetsOf(f)...) {
		if i == 0 {
			if err := book.SetSheetName("Sheet1", s.name); err != nil {
				return fmt.Errorf("writing findings: %w", err)
			}
		} else if _, err := book.NewSheet(s.name); err != nil {
			return fmt.Errorf("writing findings: %w", err)
		}
		if err := fill(book, s); err != nil {
			return fmt.Errorf("writing findings: %w", err)
		}
	}
	if err := book.Write(w); err != nil {
		return fmt.Errorf("writing findings: %w", err)
	}
	return nil
}

func fill(book *excelize.File, s sheet) error {
	out, err := book.NewStreamWriter(s.name)
	if err != nil {
		return err
	}
	for i, row := range s.rows {
		cells := make([]any, len(row))
		for j, c := range row {
			cells[j] = cellValue(c)
		}
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, cells); err != nil {
			return err
		}
	}
	return out.Flush()
}

// cellValue is a cell of a workbook: a number, a text that is never a formula,
// or nothing.
func cellValue(c any) any {
	switch x := c.(type) {
	case num.Number:
		if !x.OK() {
			return nil
		}
		return float64(x)
	case string:
		return clean(x)
	}
	return c
}

// cellText is a cell of a CSV file.
func cellText(c any) string {
	switch x := c.(type) {
	case nil:
		return ""
	case num.Number:
		if !x.OK() {
			return ""
		}
		return exact(float64(x))
	case float64:
		return exact(x)
	case int:
		return strconv.Itoa(x)
	}
	return knownwater.SafeCell(clean(fmt.Sprint(c)))
}

func exact(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
