package intake

import (
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// PointsFile is points.csv.
type PointsFile struct {
	Points []curve.Point
	Scale  Stated // of the levels, as the file states it
	Notes  []note.Note
}

// Stated is the scale of levels in somebody's own words; any part may be empty.
type Stated struct{ Analyte, Unit, Basis string }

// With is the scale when somebody says more, or the same again.
func (s Stated) With(said Stated) (unit.Scale, error) {
	for _, part := range []struct {
		flag       string
		file, said *string
	}{{"--analyte", &s.Analyte, &said.Analyte}, {"--unit", &s.Unit, &said.Unit}, {"--basis", &s.Basis, &said.Basis}} {
		switch {
		case *part.said == "":
		case *part.file == "" || strings.EqualFold(*part.file, *part.said):
			*part.file = *part.said
		default:
			return unit.Scale{}, knownwater.Fault{Column: part.flag, Found: "%s, the file says %s", Want: "one of them"}.Of(reading.Quote(*part.said), reading.Quote(*part.file))
		}
	}
	scale, err := unit.Stated(s.Analyte, s.Unit, s.Basis)
	if err != nil {
		found, want, _ := strings.Cut(err.Error(), ": ")
		return scale, knownwater.Fault{Column: "unit", Found: found, Want: or(want, "such as mg/L NO3")}
	}
	return scale, nil
}

// The roles of points.
const (
	RoleFit   = "fit"
	RoleCheck = "check"
)

// mostPoints bounds a file for a curve; points are not counted together.
const mostPoints = 1_000_000

var pointsLayout = layout{
	wanted: []string{"level", "signal"},
	known:  []string{"u_level", "u_background", "role", "session", "replicate", "dilution", "note", "analyte", "unit", "basis"},
}

// pointText is a row of points.csv before the decimal mark is known.
type pointText struct {
	row                                                                    int
	level, signal, uLevel, uBackground, role, session, replicate, dilution string
	stated                                                                 Stated
}

// Points reads points.csv or a workbook of the same columns. The error holds
// knownwater.Faults.
func Points(src Source) (PointsFile, error) {
	sh, faults := src.open(pointsLayout, Options{})
	if faults != nil {
		return PointsFile{}, faults
	}
	texts, faults := pointTexts(sh)
	if len(texts) == 0 && faults == nil {
		return PointsFile{}, src.refuse(sh.headerRow, "", "a header and no points", "a row for each point")
	}
	m := pointsMark(texts)
	out := PointsFile{Scale: Stated{Unit: sh.levelUnit()}}
	noU := 0
	for _, t := range texts {
		p, fs := t.point(src, m)
		faults = append(faults, append(fs, out.Scale.add(src, t)...)...)
		out.Points = append(out.Points, p)
		if t.uLevel == "" {
			noU++
		}
	}
	if len(faults) > 0 {
		sort.SliceStable(faults, func(a, b int) bool { return faults[a].Row < faults[b].Row })
		return PointsFile{}, faults
	}
	out.Notes = slices.Concat(sh.noteUnknown(), sh.noteComma(m), withoutU(noU, len(texts)))
	return out, nil
}

func pointTexts(sh *sheet) ([]pointText, knownwater.Faults) {
	return rowTexts(sh, append(pointsLayout.wanted[:2:2], pointsLayout.known...), mostPoints, "a point", func(row int, cell func(string) string, _ [][]byte) pointText {
		return pointText{row, cell("level"), cell("signal"), cell("u_level"), cell("u_background"), cell("role"),
			cell("session"), cell("replicate"), cell("dilution"), Stated{cell("analyte"), cell("unit"), cell("basis")}}
	})
}

// add takes what a row states; all rows of a file are on one scale.
func (s *Stated) add(src Source, t pointText) (fs knownwater.Faults) {
	for _, part := range []struct {
		column string
		has    *string
		in     string
	}{{"analyte", &s.Analyte, t.stated.Analyte}, {"unit", &s.Unit, t.stated.Unit}, {"basis", &s.Basis, t.stated.Basis}} {
		switch {
		case part.in == "" || strings.EqualFold(part.in, *part.has):
		case *part.has == "":
			*part.has = part.in
		default:
			fs = append(fs, src.fault(t.row, part.column, "%s beside %s", "all levels of a curve on one scale", reading.Quote(part.in), reading.Quote(*part.has)))
		}
	}
	return fs
}

func pointsMark(texts []pointText) mark {
	seen := map[string]bool{}
	var all []string
	for _, t := range texts {
		for _, s := range []string{t.level, t.signal, t.uLevel, t.uBackground, t.dilution} {
			if !seen[s] {
				seen[s] = true
				all = append(all, s)
			}
		}
	}
	return markOf(all)
}

func (t pointText) point(src Source, m mark) (curve.Point, knownwater.Faults) {
	var fs knownwater.Faults
	value := func(column string, n number) float64 {
		if f := n.fault(); f.Found != "" {
			fs = append(fs, src.at(t.row, column, f))
		}
		return n.value
	}
	p := curve.Point{Row: t.row, Session: t.session, Replicate: t.replicate}
	p.Level = value("level", m.number(t.level, demand{want: wantLevel, required: true}))
	p.Signal = value("signal", m.signed(t.signal, "the signal, a number"))
	p.ULevel = value("u_level", m.number(t.uLevel, demand{want: wantU}))
	p.UBackground = value("u_background", m.number(t.uBackground, demand{want: wantU}))
	p.Dilution = value("dilution", m.number(t.dilution, demand{want: wantDilution, over: true, empty: 1}))
	switch strings.ToLower(t.role) {
	case "", RoleFit:
	case RoleCheck:
		p.Check = true
	default:
		fs = append(fs, src.fault(t.row, "role", reading.Quote(t.role), "fit or check"))
	}
	return p, fs
}
