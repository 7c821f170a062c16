package calibrations

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/form"
)

// curveFields are the fields of the form that show their own faults.
var curveFields = []string{"name", "note", "unit", "points", "file", "signal", "dark", "blank", "path", "shape", "weights", "u_stock", "need", "lot", "method", "matrix", "valid_until", "why"}

// readCurve reads a curve from its form. rows are the lines of its points, to
// say where a fault is.
func (s *Pages) readCurve(r *http.Request, f *form.Form, old calibrations.CurveSpec) (spec calibrations.CurveSpec, rows []int, notes []string, err error) {
	spec = calibrations.CurveSpec{Name: f.Text("name"), Note: f.Get("note"), Scale: f.Scale(), Source: f.Text("source"), Method: f.Text("method"), Lot: f.Text("lot"), Matrix: f.Text("matrix"), ValidUntil: f.Text("valid_until"), Program: s.Options.Version,
		Conversion: curve.Conversion{Kind: curve.Signal(f.Text("signal")), DarkCounts: f.Number("dark", form.WantNumber), BlankCounts: f.Number("blank", form.WantNumber), Path: f.Number("path", form.WantNumber)},
		Choices:    calibrations.CurveChoices{Shape: f.Text("shape"), Weights: f.Text("weights"), ThroughZero: f.Ticked("through_zero"), UStock: f.Number("u_stock", form.WantNumber) / 100, Sure: f.Ticked("sure")}}
	if spec.Need, err = s.needFor(r, f, spec.Scale, old.Need); err != nil {
		return spec, nil, nil, err
	}
	list, notes, err := readPoints(f, r, "points")
	if err != nil || list == nil {
		return spec, nil, nil, err
	}
	for _, p := range list {
		spec.Points = append(spec.Points, calibrations.CurvePoint{Level: p.Level, ULevel: p.ULevel, UWater: p.UBackground, Signal: p.Signal, Check: p.Check, Session: p.Session, Replicate: p.Replicate, Dilution: p.Dilution})
		rows = append(rows, p.Row)
	}
	if f.Text("points") == "" {
		f.Set("points", pointsText(spec.Points))
	}
	keepOut(spec.Points, old.Points)
	if spec.SameFit(old) {
		spec.Slopes = old.Slopes
	} else if len(old.Slopes) > 0 {
		notes = append(notes, "it is a fit of its own, without the slope update of the version before")
	}
	return spec, rows, notes, nil
}

// keepOut leaves out what was left out before, where it stands there unchanged.
func keepOut(points, old []calibrations.CurvePoint) {
	used := map[int]bool{}
	for _, o := range old {
		if o.Out == "" {
			continue
		}
		bare := o
		bare.Out, bare.OutBy = "", ""
		for i := range points {
			if !used[i] && points[i] == bare {
				points[i], used[i] = o, true
				break
			}
		}
	}
}

// needFor is the need that was chosen: none, the one kept in the curve, or one
// of the bench of the same scale.
func (s *Pages) needFor(r *http.Request, f *form.Form, scale unit.Scale, old *knownwater.Need) (*knownwater.Need, error) {
	switch f.Text("need") {
	case "":
		return nil, nil
	case "kept":
		return old, nil
	}
	n, err := s.Bench.Need(r.Context(), form.ID(f.Text("need")))
	if err != nil {
		return nil, err
	}
	if n.Scale != scale {
		f.Reject("need", "“%s” is in %s of %s", "a need in the scale of the levels", n.Need.Name, strings.TrimSpace(n.Scale.String()), n.Scale.Analyte)
		return nil, nil
	}
	return &n.Need, nil
}

// readPoints are the points of a file or of a field; Row is the line where each stands
// there. Their faults are put beside the field.
func readPoints(f *form.Form, r *http.Request, field string) ([]curve.Point, []string, error) {
	src, before, err := pointsSource(f, r, field)
	if err != nil || src.Name == "" {
		return nil, nil, err
	}
	file, err := intake.Points(src)
	if faults := form.FaultsOf(err); faults != nil {
		for _, x := range faults {
			if x.Row > before {
				x.Row -= before
			}
			f.AddFault(inField(field, x))
		}
		return nil, nil, nil
	}
	for i := range file.Points {
		file.Points[i].Row -= before
	}
	return file.Points, report.WordsAll(file.Notes), err
}

// pointsSource is the uploaded file, or what was typed; before is how many lines
// were put before what was typed.
func pointsSource(f *form.Form, r *http.Request, field string) (src intake.Source, before int, err error) {
	src, typed, err := fileOrText(f, r, field)
	if err != nil || !typed || src.Name == "" {
		return src, 0, err
	}
	text, before := withHeader(string(src.Data))
	src.Data = []byte(text)
	return src, before, nil
}

// fileOrText is the uploaded file, or what was typed into a field. A file's text is put
// into the field, so that a refused one can be mended where it stands.
func fileOrText(f *form.Form, r *http.Request, field string) (src intake.Source, typed bool, err error) {
	if src, err = form.Uploaded(r, "file"); err != nil {
		return src, false, err
	}
	if src.Name != "" {
		f.Set(field, "")
		if text := string(src.Data); utf8.ValidString(text) && !strings.Contains(text, "\x00") {
			f.Set(field, text)
		}
		return src, false, nil
	}
	text := strings.ReplaceAll(f.Get(field), "\r\n", "\n")
	if strings.TrimSpace(text) == "" {
		return src, true, nil
	}
	return intake.Source{Name: field, Data: []byte(text)}, true, nil
}

// inField puts a fault of a file's column beside a field of the form; what was typed
// there is no file.
func inField(field string, x knownwater.Fault) knownwater.Fault {
	if x.File == field {
		x.File = ""
	}
	if x.Column != "" && x.Column != field {
		x.Found = x.Column + ": " + x.Found
	}
	x.Column = field
	return x
}

// withHeader lets rows be typed bare and with spaces between: "4 0.273".
func withHeader(text string) (string, int) {
	first := ""
	for _, l := range strings.Split(text, "\n") {
		if first = strings.TrimSpace(l); first != "" {
			break
		}
	}
	sep := "\t"
	switch {
	case strings.Contains(first, "\t"):
	case strings.Contains(first, ";"):
		sep = ";"
	case strings.Contains(first, " ") && !strings.Contains(first, ", "):
		var lines []string
		for _, l := range strings.Split(text, "\n") {
			lines = append(lines, strings.Join(strings.Fields(l), "\t"))
		}
		text, first = strings.Join(lines, "\n"), strings.Join(strings.Fields(first), "\t")
	case strings.Contains(first, ","):
		sep = ","
	}
	cells := strings.Split(first, sep)
	if _, err := form.ParseNumber(cells[0]); err != nil || len(cells) < 2 {
		return text, 0
	}
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = bareRow(l, sep)
	}
	return strings.Join([]string{"level", "signal", "u_level", "role"}, sep) + "\n" + strings.Join(lines, "\n"), 1
}

// bareRow puts what a row without a header holds under level, signal, u_level
// and role: a word at its end is the role.
func bareRow(l, sep string) string {
	cells := strings.Split(l, sep)
	if strings.TrimSpace(l) == "" || len(cells) > 4 {
		return l
	}
	role := ""
	if last := cells[len(cells)-1]; len(cells) > 2 {
		if _, err := form.ParseNumber(last); err != nil {
			role, cells = last, cells[:len(cells)-1]
		}
	}
	for len(cells) < 3 {
		cells = append(cells, "")
	}
	return strings.Join(append(cells, role), sep)
}

// pointsText are points as they stand in the form.
func pointsText(points []calibrations.CurvePoint) string {
	var b strings.Builder
	water := slices.ContainsFunc(points, func(p calibrations.CurvePoint) bool { return p.UWater > 0 })
	b.WriteString("level;signal;u_level;role;session;replicate;dilution")
	if water {
		b.WriteString(";u_background")
	}
	b.WriteString("\n")
	plain := strings.NewReplacer(";", " ", "\n", " ", "\"", "'")
	n := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for _, p := range points {
		role := intake.RoleFit
		if p.Check {
			role = intake.RoleCheck
		}
		fmt.Fprintf(&b, "%s;%s;%s;%s;%s;%s;%s", n(p.Level), n(p.Signal), form.Shown(p.ULevel), role, plain.Replace(p.Session), plain.Replace(p.Replicate), n(p.Dilution))
		if water {
			b.WriteString(";" + form.Shown(p.UWater))
		}
		b.WriteString("\n")
	}
	return b.String()
}

// curveForm puts a curve into its form.
func curveForm(c calibrations.CurveSpec) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	f.SetScale(c.Scale)
	for name, v := range map[string]string{"name": c.Name, "note": c.Note, "source": c.Source, "method": c.Method, "lot": c.Lot, "matrix": c.Matrix, "valid_until": c.ValidUntil, "signal": string(c.Conversion.Kind),
		"dark": form.Shown(c.Conversion.DarkCounts), "blank": form.Shown(c.Conversion.BlankCounts), "path": form.Shown(c.Conversion.Path), "shape": c.Choices.Shape, "weights": c.Choices.Weights, "u_stock": form.Shown(100 * c.Choices.UStock)} {
		f.Set(name, v)
	}
	if c.Choices.ThroughZero {
		f.Set("through_zero", "yes")
	}
	if c.Choices.Sure {
		f.Set("sure", "yes")
	}
	if c.Need != nil {
		f.Set("need", "kept")
	}
	if len(c.Points) > 0 {
		f.Set("points", pointsText(c.Points))
	}
	return f
}
