package calibrations

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/scan"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// Bounds that keep the page of a scan from taking seconds, and its text from growing
// past what goes to and fro with it.
const (
	mostSpectra     = 1 << 20 // bytes
	mostWavelengths = 3000
	mostVials       = 300
	mostGood        = 8 // rows of the table
)

// scanPage chooses a wavelength. Nothing of it is kept: the spectra go to and fro
// with the form, so that another wavelength can be taken without a second upload.
type scanPage struct {
	Form    *form.Form
	Scan    *scan.Choice // about the chosen wavelength
	Lede    string       // how the chosen one stands to the best
	Knowns  string
	Figure  template.HTML
	Good    []bandRow
	Wide    []bandRow
	Of      int // how many wavelengths are good
	Notes   []string
	Carried []string // fields of a new curve that go along
	Loose   knownwater.Faults

	in *wording.Language
}

// bandRow is one wavelength, or a source about it.
type bandRow struct {
	scan.Band
	Chosen, Best bool
	Share        float64 // of the largest slope against scatter; of a source, of the slope without width
}

// BendWords say how far it is from straight at the top.
func (b bandRow) BendWords() string {
	return render.Decimals(100*b.Bend, 1) + " %"
}

// Disturbed is what the worst interferent would be taken for.
func (b bandRow) Disturbed() string {
	if b.Interferent == "" {
		return "–"
	}
	return render.TwoDigits(b.Interfering) + ", " + b.Interferent
}

// scanFields are the fields of the form that show their own faults.
var scanFields = []string{"spectra", "file", "at", "held"}

// carried are what may have been typed for the new curve before another wavelength
// was looked at.
var carried = []string{"name", "note", "analyte", "unit", "basis", "lot", "method", "matrix", "valid_until", "need", "shape", "weights", "u_stock", "dark", "blank", "path", "through_zero", "sure"}

func (s *Pages) newScan(w http.ResponseWriter, r *http.Request) {
	s.showScan(w, r, http.StatusOK, scanPage{Form: &form.Form{Values: map[string][]string{}}})
}

func (s *Pages) showScan(w http.ResponseWriter, r *http.Request, status int, p scanPage) {
	p.Loose = p.Form.Loose(scanFields...)
	for _, name := range carried {
		if p.Form.Text(name) != "" {
			p.Carried = append(p.Carried, name)
		}
	}
	s.Show(w, r, status, "curve-scan", page.Frame{Title: "Choose a wavelength", Part: "calibrations", Page: p})
}

// scanSpectra looks at spectra, about the wavelength that is asked for or the best.
func (s *Pages) scanSpectra(w http.ResponseWriter, r *http.Request) {
	p, _, ok := s.readScan(w, r)
	if !ok {
		return
	}
	s.showScan(w, r, http.StatusOK, p)
}

// curveFromScan opens the form of a new curve with the absorbances at the chosen
// wavelength as its points.
func (s *Pages) curveFromScan(w http.ResponseWriter, r *http.Request) {
	p, file, ok := s.readScan(w, r)
	if !ok {
		return
	}
	points, missing := pointsAt(file, p.Scan.Best.Wavelength)
	held := readSignals(p.Form, "held")
	for _, level := range held {
		found := false
		for i := range points {
			if points[i].Level == level {
				points[i].Check, found = true, true
			}
		}
		if !found {
			p.Form.Reject("held", "no vial holds %s", "levels of the spectra, with spaces between", render.Number(level))
		}
	}
	if p.Form.Bad() {
		s.showScan(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	f := curveForm(newCurveSpec())
	for _, name := range carried {
		if p.Form.Values.Has(name) {
			f.Set(name, p.Form.Get(name))
		}
	}
	at := render.Number(p.Scan.Best.Wavelength)
	for name, v := range map[string]string{"points": pointsText(points), "source": p.in.Say("spectra at {1} nm", at), "signal": string(curve.Absorbance),
		"spectra": p.Form.Get("spectra"), "at": form.Exactly(p.Scan.Best.Wavelength), "held": p.Form.Get("held")} {
		f.Set(name, v)
	}
	if missing > 0 {
		s.Tell(r, "{1} not measured at {2} nm, and not among the points.", render.Reader{Language: p.in}.Count(missing, "vial"), at)
	}
	s.showCurveForm(w, r, http.StatusOK, calibrations.Curve{}, f)
}

// pointsAt are the knowns at one wavelength, a point a vial; missing counts those not
// measured there. What disturbs is no known.
func pointsAt(f intake.SpectraFile, nm float64) (points []calibrations.CurvePoint, missing int) {
	at := slices.Index(f.Wavelength, nm)
	seen := map[float64]int{}
	for _, v := range f.Vials {
		if !v.Known {
			continue
		}
		if math.IsNaN(v.Absorbance[at]) {
			missing++
			continue
		}
		seen[v.Level]++
		points = append(points, calibrations.CurvePoint{Level: v.Level, Signal: v.Absorbance[at], Replicate: strconv.Itoa(seen[v.Level]), Dilution: 1})
	}
	return points, missing
}

// readScan reads the form and computes the scan; where it cannot it has answered.
func (s *Pages) readScan(w http.ResponseWriter, r *http.Request) (p scanPage, file intake.SpectraFile, ok bool) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return p, file, false
	}
	defer form.Clear(r)
	p.Form, p.in = f, s.ReaderOn(r, "curve-scan").Language
	if f.Ticked("again") { // other spectra: their own best
		f.Set("at", "")
	}
	file, err = readSpectra(f, r)
	if err == nil && !f.Bad() {
		err = p.scan(file)
	}
	if faults := form.FaultsOf(err); faults != nil {
		for _, x := range faults {
			switch {
			case x.Column == "wavelength":
				x.Column = "column wavelength"
			case x.Column != "" && !strings.HasPrefix(x.Column, "column"):
				x.Column = "vial " + x.Column
			}
			f.AddFault(inField("spectra", x))
		}
		err = nil
	}
	if err != nil {
		s.Fail(w, r, err)
		return p, file, false
	}
	if f.Bad() {
		s.showScan(w, r, http.StatusUnprocessableEntity, p)
		return p, file, false
	}
	return p, file, true
}

// readSpectra reads what was uploaded or typed. A workbook comes back as text, to be
// mended and taken again where it stands.
func readSpectra(f *form.Form, r *http.Request) (intake.SpectraFile, error) {
	src, _, err := fileOrText(f, r, "spectra")
	if err != nil {
		return intake.SpectraFile{}, err
	}
	if src.Name == "" {
		f.Reject("spectra", "no spectra", "a table: wavelength, then a column a vial")
		return intake.SpectraFile{}, nil
	}
	file, err := intake.Spectra(src)
	if err != nil {
		return file, err
	}
	if f.Text("spectra") == "" {
		f.Set("spectra", spectraText(file))
	}
	if n := len(f.Get("spectra")); n > mostSpectra {
		f.Reject("spectra", "%s of text", "at most %s: every second wavelength will do", render.Bytes(int64(n)), render.Bytes(mostSpectra))
	}
	if n := len(file.Wavelength); n > mostWavelengths {
		f.Reject("spectra", "%d wavelengths", "at most %d here; the command line takes more", n, mostWavelengths)
	}
	if n := len(file.Vials); n > mostVials {
		f.Reject("spectra", "%s", "at most %d here; the command line takes more", render.Count(n, "vial"), mostVials)
	}
	return file, nil
}

// spectraText are spectra as they stand in the form.
func spectraText(f intake.SpectraFile) string {
	var b strings.Builder
	b.WriteString("wavelength")
	plain := strings.NewReplacer(";", " ", "\n", " ", "\"", "'")
	for _, v := range f.Vials {
		b.WriteString(";" + plain.Replace(v.Name))
	}
	for i, nm := range f.Wavelength {
		b.WriteString("\n" + form.Exactly(nm))
		for _, v := range f.Vials {
			b.WriteByte(';')
			if a := v.Absorbance[i]; !math.IsNaN(a) {
				b.WriteString(form.Exactly(a))
			}
		}
	}
	return b.String()
}

// scan computes the page from good spectra.
func (p *scanPage) scan(file intake.SpectraFile) error {
	spectra := file.Spectra()
	scan, err := scan.Choose(spectra)
	if err != nil {
		return err
	}
	best := scan.Best
	if p.Form.Text("at") == "" {
		p.Form.Set("at", form.Exactly(best.Wavelength))
	}
	nm := p.Form.Number("at", p.in.Say("a wavelength in nm, such as {1}", render.Number(best.Wavelength)))
	if p.Form.Wrong("at") != nil {
		return nil
	}
	chosen, ok := scan.At(spectra, nm)
	if !ok {
		p.Form.Reject("at", "%s", "a wavelength of the table where absorbance rises with the level, such as %s", missingWords(p.in, file.Wavelength, nm), render.Number(best.Wavelength))
		return nil
	}
	p.Scan = &chosen
	for _, n := range slices.Concat(file.Notes, chosen.Notes) {
		p.Notes = append(p.Notes, report.WordsIn(p.in, n))
	}
	if nm != best.Wavelength {
		p.Lede = p.in.Say("Best of all would be {1} nm; what you chose has {2} % of its slope against scatter.", render.Number(best.Wavelength), render.Decimals(100*chosen.Best.Strength()/best.Strength(), 0))
	}
	p.Knowns = knownsWords(p.in, file)
	p.rows(scan, best)
	p.Figure = p.figure(file.Wavelength, scan, best)
	return nil
}

// missingWords say why a wavelength cannot be taken.
func missingWords(l *wording.Language, all []float64, nm float64) string {
	i, found := slices.BinarySearch(all, nm)
	switch {
	case found:
		return l.Say("at {1} nm the knowns’ absorbances do not rise with their level", render.Number(nm))
	case i == 0 || i == len(all):
		return l.Say("{1} nm lies outside the table, {2} to {3}", render.Number(nm), render.Number(all[0]), render.Number(all[len(all)-1]))
	}
	return l.Say("{1} nm is not in the table; its neighbours are {2} and {3}", render.Number(nm), render.Number(all[i-1]), render.Number(all[i]))
}

func knownsWords(l *wording.Language, file intake.SpectraFile) string {
	vials, levels, others := 0, map[float64]bool{}, 0
	for _, v := range file.Vials {
		if v.Known {
			vials++
			levels[v.Level] = true
		} else {
			others++
		}
	}
	as := render.Reader{Language: l}
	words := l.Say("{1} of knowns at {2}", as.Count(vials, "vial"), as.Count(len(levels), "level"))
	if others > 0 {
		words = l.Say("{1}, {2} of what disturbs", words, as.Count(others, "vial"))
	}
	return l.Say("{1}; {2} wavelengths from {3} to {4} nm", words, strconv.Itoa(len(file.Wavelength)), render.Number(file.Wavelength[0]), render.Number(file.Wavelength[len(file.Wavelength)-1]))
}

func (p *scanPage) rows(chosen scan.Choice, best scan.Band) {
	good := chosen.Good()
	p.Of = len(good)
	most := 0.0
	for _, b := range good {
		most = math.Max(most, b.Strength())
	}
	every := (len(good) + mostGood - 1) / mostGood
	for i, b := range good {
		row := bandRow{Band: b, Chosen: b.Wavelength == p.Scan.Best.Wavelength, Best: b.Wavelength == best.Wavelength, Share: b.Strength() / most}
		if i%every == 0 || row.Chosen || row.Best {
			p.Good = append(p.Good, row)
		}
	}
	if b := p.Scan.Best; !slices.ContainsFunc(good, func(g scan.Band) bool { return g.Wavelength == b.Wavelength }) {
		p.Good = append(p.Good, bandRow{Band: b, Chosen: true, Share: b.Strength() / most})
		slices.SortFunc(p.Good, func(a, b bandRow) int { return int(math.Copysign(1, a.Wavelength-b.Wavelength)) })
	}
	for _, b := range p.Scan.Wide {
		p.Wide = append(p.Wide, bandRow{Band: b, Share: b.Slope / p.Scan.Best.Slope})
	}
}

func (p *scanPage) figure(at []float64, chosen scan.Choice, best scan.Band) template.HTML {
	series := func(of func(scan.Band) float64) []float64 {
		out := make([]float64, len(at))
		k := 0
		for i, nm := range at {
			out[i] = math.NaN()
			if k < len(chosen.Bands) && chosen.Bands[k].Wavelength == nm {
				out[i], k = of(chosen.Bands[k]), k+1
			}
		}
		return out
	}
	good := make([]bool, len(at))
	disturbs, most := false, 0.0
	for _, b := range chosen.Good() {
		i, _ := slices.BinarySearch(at, b.Wavelength)
		good[i] = true
		most = math.Max(most, math.Max(math.Abs(b.Interfering), b.Noise/b.Slope))
	}
	for _, b := range chosen.Bands {
		disturbs = disturbs || b.Interferent != ""
	}
	top := 0.0
	for _, b := range chosen.Bands {
		top = math.Max(top, 1.1*b.Strength())
	}
	name := p.in.Say("slope ÷ scatter of one vial; grey: good")
	if !(best.Noise > 0) {
		name = p.in.Say("slope, absorbance per level; grey: good")
	}
	c := chart.Spectrum{ID: "scan", Title: p.in.Say("What each wavelength would give; {1} nm is chosen", render.Number(p.Scan.Best.Wavelength)), Desc: p.in.Say("The tables below say it in numbers."),
		At: at, Chosen: p.Scan.Best.Wavelength, Across: p.in.Say("wavelength, nm"),
		Panels: []chart.Panel{{Name: name, Y: series(scan.Band.Strength), Low: 0, High: top, Good: good, Height: 150},
			{Name: p.in.Say("bend at the top, %; green: counts as straight"), Y: series(func(b scan.Band) float64 { return 100 * b.Bend }), Low: -20, High: 20, Margin: 100 * scan.StraightWithin, Height: 90}}}
	if disturbs {
		c.Panels = append(c.Panels, chart.Panel{Name: p.in.Say("what disturbs, taken for; grey: one vial’s scatter"), Y: series(func(b scan.Band) float64 { return b.Interfering }),
			Scatter: series(func(b scan.Band) float64 { return b.Noise / b.Slope }), Low: -2 * most, High: 4 * most, Height: 90})
	}
	for _, b := range p.Wide {
		c.Sources = append(c.Sources, chart.Source{Width: b.Width, Words: p.in.Say("a source {1} nm wide: {2} of the slope, bend {3}", render.Number(b.Width), render.Decimals(100*b.Share, 1)+" %", b.BendWords())})
	}
	return template.HTML(c.SVG())
}
