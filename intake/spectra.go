package intake

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/scan"
)

// SpectraFile is a table of absorbances: wavelength × vial.
type SpectraFile struct {
	Wavelength []float64 // nm, rising
	Vials      []Spectrum
	Notes      []note.Note
}

// Spectrum is one column: of a known where the header is a level (or "blank"),
// else of what the header names, an interferent.
type Spectrum struct {
	Name       string
	Level      float64
	Known      bool
	Absorbance []float64
}

// Spectra are the vials as curves take them: what is no known disturbs.
func (f SpectraFile) Spectra() scan.Spectra {
	s := scan.Spectra{Wavelength: f.Wavelength}
	for _, v := range f.Vials {
		s.Vials = append(s.Vials, scan.Vial{Name: v.Name, Level: v.Level, Interferent: !v.Known, Absorbance: v.Absorbance})
	}
	return s
}

var spectraLayout = layout{wanted: []string{"wavelength"}, synonyms: map[string]string{"wavelength (nm)": "wavelength", "wavelength [nm]": "wavelength", "wavelength, nm": "wavelength", "nm": "wavelength"}}

const (
	wantWavelength = "a wavelength in nm, above 0"
	wantAbsorbance = "an absorbance, a number"
	wantVials      = "a column for every vial, headed by its level (0 for a blank) or by an interferent's name"
)

// Spectra reads spectra.csv or a workbook of the same columns: `wavelength`, then
// one column a vial. Columns with the same header are replicates. The error
// holds knownwater.Faults.
func Spectra(src Source) (SpectraFile, error) {
	sh, faults := src.open(spectraLayout, Options{})
	if faults != nil {
		return SpectraFile{}, faults
	}
	at := sh.column("wavelength")
	rows, texts, faults := spectraTexts(sh)
	switch {
	case faults != nil:
		return SpectraFile{}, faults
	case len(sh.headings) < 2:
		return SpectraFile{}, src.refuse(sh.headerRow, "", "no vial beside the wavelength", wantVials)
	case len(rows) == 0:
		return SpectraFile{}, src.refuse(sh.headerRow, "", "a header and no rows", "a row for each wavelength")
	}
	out := SpectraFile{Notes: sh.notes}
	columns, faults := out.vials(sh, at)
	m := spectraMark(texts)
	for r, cells := range texts {
		nm := m.number(cells[at], demand{want: wantWavelength, required: true, over: true})
		if f := nm.fault(); f.Found != "" {
			faults = append(faults, src.at(rows[r], "wavelength", f))
		}
		out.Wavelength = append(out.Wavelength, nm.value)
		for k, i := range columns {
			v := number{value: math.NaN()} // an empty cell: not measured there
			if cells[i] != "" {
				v = m.signed(cells[i], wantAbsorbance)
			}
			if f := v.fault(); f.Found != "" {
				faults = append(faults, src.at(rows[r], columnName(sh.header(), i), f))
			}
			out.Vials[k].Absorbance = append(out.Vials[k].Absorbance, v.value)
		}
	}
	if faults == nil {
		faults = out.inOrder(src, rows)
	}
	if faults != nil {
		return SpectraFile{}, faults
	}
	out.Notes = append(out.Notes, sh.noteComma(m)...)
	return out, nil
}

// columnName is a column's header, with its place where replicates share it.
func columnName(header []string, i int) string {
	for k, h := range header {
		if k != i && h == header[i] {
			return fmt.Sprintf("%s (column %d)", h, i+1)
		}
	}
	return header[i]
}

// spectraTexts copies the cells of every row, short rows filled up with nothing.
func spectraTexts(sh *sheet) (rows []int, texts [][]string, faults knownwater.Faults) {
	faults = sh.each(func(row int, cells [][]byte, _ int) bool {
		t := make([]string, len(sh.headings))
		for i := range t {
			if i < len(cells) && len(cells[i]) <= mostInCell {
				t[i] = string(unmark(trim(cells[i])))
			}
		}
		rows, texts = append(rows, row), append(texts, t)
		return len(rows) < mostWavelengths
	})
	return rows, texts, faults
}

const mostWavelengths = 20_000

// vials understands the headers: which columns are whose.
func (f *SpectraFile) vials(sh *sheet, wavelength int) (columns []int, faults knownwater.Faults) {
	for i, h := range sh.header() {
		if i == wavelength {
			continue
		}
		v := Spectrum{Name: h}
		text := strings.Replace(h, ",", ".", 1)
		level, err := strconv.ParseFloat(text, 64)
		switch {
		case h == "":
			faults = append(faults, sh.src.fault(sh.headerRow, fmt.Sprintf("column %d", i+1), "no header", wantVials))
		case strings.EqualFold(h, "blank"):
			v.Known = true
		case err == nil && (level < 0 || math.IsNaN(level) || math.IsInf(level, 0)):
			faults = append(faults, sh.src.fault(sh.headerRow, h, "no level", wantVials))
		case err == nil:
			v.Known, v.Level = true, level
		}
		f.Vials = append(f.Vials, v)
		columns = append(columns, i)
	}
	return columns, faults
}

func spectraMark(texts [][]string) mark {
	seen := map[string]bool{}
	var all []string
	for _, row := range texts {
		for _, s := range row {
			if !seen[s] {
				seen[s] = true
				all = append(all, s)
			}
		}
	}
	return markOf(all)
}

// inOrder puts wavelengths in rising order; each may stand once.
func (f *SpectraFile) inOrder(src Source, rows []int) (faults knownwater.Faults) {
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return f.Wavelength[order[a]] < f.Wavelength[order[b]] })
	for i := 1; i < len(order); i++ {
		if f.Wavelength[order[i]] == f.Wavelength[order[i-1]] {
			faults = append(faults, src.fault(rows[order[i]], "wavelength", "%g nm stands in row %d already", "each wavelength once", f.Wavelength[order[i]], rows[order[i-1]]))
		}
	}
	permute := func(v []float64) []float64 {
		out := make([]float64, len(v))
		for i, k := range order {
			out[i] = v[k]
		}
		return out
	}
	f.Wavelength = permute(f.Wavelength)
	for k := range f.Vials {
		f.Vials[k].Absorbance = permute(f.Vials[k].Absorbance)
	}
	return faults
}
