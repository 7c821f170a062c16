package calibrations

import (
	"net/http"
	"strconv"

	"knownwater/science/curve"
	"knownwater/science/handover"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// curveTablePage is a curve as an instrument takes it.
type curveTablePage struct {
	Curve     curveLine
	Form      *form.Form
	Table     *handover.Table
	Digits    handover.Digits
	Known     float64
	Show      string
	Converted bool // the instrument must know absorbances
}

func (s *Pages) curveTable(w http.ResponseWriter, r *http.Request) {
	c, err := s.versionOf(r, true)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f := &form.Form{Values: r.URL.Query()}
	for name, v := range map[string]string{"pairs": "8", "level_decimals": "2", "signal_decimals": "3", "digits": "5"} {
		if f.Text(name) == "" {
			f.Set(name, v)
		}
	}
	p := curveTablePage{Curve: s.lineOf(s.ReaderOn(r, "curve-table").Language, c), Form: f, Converted: c.Spec.Conversion.Kind.Light() && c.Spec.Conversion.Kind != curve.Absorbance}
	status := http.StatusOK
	if p.Curve.Fitted() {
		if p.fill(); f.Bad() {
			status = http.StatusUnprocessableEntity
		}
	}
	s.Show(w, r, status, "curve-table", page.Frame{Heading: "For an instrument: {1}", Of: []string{c.Spec.Name}, Part: "calibrations", Page: p})
}

func (p *curveTablePage) fill() {
	f := p.Form
	pairs, order := f.Whole("pairs", 100), f.Whole("order", 6)
	p.Digits = handover.Digits{Level: f.Whole("level_decimals", 9), Signal: f.Whole("signal_decimals", 9), Coefficient: f.Whole("digits", 15)}
	if pairs < 2 && order == 0 && f.Wrong("pairs") == nil {
		f.Reject("pairs", f.Text("pairs"), "2 to 100")
	}
	if p.Digits.Coefficient < 1 && order > 0 && f.Wrong("digits") == nil {
		f.Reject("digits", f.Text("digits"), "1 to 15")
	}
	if f.Bad() {
		return
	}
	d := p.Curve.Doc
	t, err := handover.Pairs(d.Curve, pairs, p.Digits)
	if order > 0 {
		t, err = handover.Polynomial(d.Curve, order, p.Digits)
	}
	if fs := form.FaultsOf(err); fs != nil {
		for _, x := range fs {
			x.Column = "pairs"
			f.AddFault(x)
		}
		return
	}
	p.Table, p.Known = &t, handover.CheckLevel(d)
	low, high := handover.Show(d.Curve, p.Known, t)
	p.Show = render.Interval(low, high, (high-low)/2)
}

// Level, Signal and Factor are numbers with the digits that the instrument takes.
func (p curveTablePage) Level(v float64) string { return render.Decimals(v, p.Digits.Level) }

// Signal: see Level.
func (p curveTablePage) Signal(v float64) string { return render.Decimals(v, p.Digits.Signal) }

// Factor: see Level.
func (p curveTablePage) Factor(v float64) string {
	return unit.TrueMinus(strconv.FormatFloat(v, 'g', p.Digits.Coefficient, 64))
}
