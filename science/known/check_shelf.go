package known

import (
	"fmt"
	"math"
	"strings"
	"time"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// faultList gathers faults in one input.
type faultList struct{ faults knownwater.Faults }

func (l *faultList) add(place, want, found string, args ...any) {
	l.faults = append(l.faults, knownwater.Fault{Column: place, Found: fmt.Sprintf(found, args...), Want: want})
}

// Examine finds everything on the shelf that cannot be right, and what is
// doubtful on the day. Only a shelf without faults may be used further.
func (s Shelf) Examine(today time.Time) (knownwater.Faults, []note.Note) {
	var l faultList
	if _, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err != nil {
		l.add("unit", "", "%v", err)
		return l.faults, nil
	}
	s.checkRoom(&l)
	s.checkLimits(&l)
	if len(s.Devices) == 0 {
		l.add("device", "list the flasks, pipettes and scales that are there, one [[device]] each", "no device on the shelf")
	}
	if len(s.Devices) > mostDevices || len(s.Stocks) > mostDevices {
		l.add("device, stock", fmt.Sprintf("at most %d of each: leave out what you would not use", mostDevices), "%d devices, %d stocks", len(s.Devices), len(s.Stocks))
	}
	if len(s.Stocks) == 0 {
		l.add("stock", "describe at least one certified or weighed stock, one [[stock]] each", "no stock on the shelf")
	}
	names := map[string]bool{}
	once := func(place, name string) {
		if strings.TrimSpace(name) == "" {
			l.add(place, "every stock and device needs a name", "no name")
		} else if names[name] {
			l.add(place, "give each thing a name of its own", "the name %q stands twice", name)
		}
		names[name] = true
	}
	for _, d := range s.Devices {
		once("device", d.Name)
		d.check(&l)
	}
	for _, st := range s.Stocks {
		once("stock", st.Name)
		s.checkStock(st, &l)
	}
	if len(l.faults) > 0 {
		return l.faults, nil
	}
	return nil, s.doubts(today)
}

// mostDevices is more than any bench needs in one plan.
const mostDevices = 50

func (s Shelf) checkRoom(l *faultList) {
	if err := s.water().Valid(); err != nil {
		l.add("matrix or temperature", "", "%v", err)
	}
	if !(s.Room.Within >= 0 && s.Room.Within <= 15) {
		l.add("temperature_within", "a ± limit in °C such as 3", "%v", s.Room.Within)
	}
	m := s.Matrix
	if !(m.Background >= 0) || math.IsInf(m.Background, 0) {
		l.add("matrix background", "a concentration of 0 or more", "%v", m.Background)
	}
	if !(m.U >= 0) || math.IsInf(m.U, 0) {
		l.add("matrix u", "a standard uncertainty of 0 or more", "%v", m.U)
	}
	if m.U == 0 {
		l.add("matrix u", "no salt matrix holds exactly what is thought: give the standard uncertainty (about 0.05 mg/L NO3 after standard additions, 0.15 for a guess)", "the background %v has u 0", m.Background)
	}
}

func (s Shelf) checkLimits(l *faultList) {
	x := s.Limits
	share := func(name string, v float64) {
		if !(v > 0 && v <= 1) {
			l.add("limits "+name, "a share above 0 and at most 1, such as 0.02 for 2 %", "%v", v)
		}
	}
	share("level_within", x.LevelWithin)
	share("salinity_cut", x.SalinityCut)
	if !(x.Volume > 0) || x.Volume > 1e5 {
		l.add("limits volume", "mL of each standard that are needed, such as 100", "%v", x.Volume)
	}
	if !(x.Smallest >= 0) {
		l.add("limits smallest_volume", "mL, 0 or more", "%v", x.Smallest)
	}
	if x.Deliveries < 1 || x.Deliveries > 20 {
		l.add("limits deliveries", "1 to 20", "%d", x.Deliveries)
	}
	if x.Intermediates < 0 || x.Intermediates > 2 {
		l.add("limits intermediates", "0, 1 or 2", "%d", x.Intermediates)
	}
	if x.Steps < 0 {
		l.add("limits steps", "0 (not limited) or a count", "%d", x.Steps)
	}
	if !(x.MatrixLeft >= 0) {
		l.add("limits matrix_left", "mL, 0 means not limited", "%v", x.MatrixLeft)
	}
}

func (d Device) check(l *faultList) {
	place := fmt.Sprintf("device %q", d.Name)
	known := false
	var kinds []string
	for _, k := range DeviceKinds {
		known = known || k == d.Kind
		kinds = append(kinds, string(k))
	}
	if !known {
		l.add(place+" kind", "one of "+strings.Join(kinds, ", "), "%q", d.Kind)
		return
	}
	unitName := "mL"
	if d.Kind == Scale {
		unitName = "g"
	}
	if !(d.Nominal > 0) || d.Nominal > 1e6 {
		l.add(place+" nominal", "its size in "+unitName+", above 0", "%v", d.Nominal)
		return
	}
	for _, v := range []struct {
		name  string
		value float64
	}{{"tolerance", d.Tolerance}, {"random", d.Random}, {"smallest", d.Smallest}, {"step", d.Step}, {"gain", d.Gain}} {
		if !(v.value >= 0) || math.IsInf(v.value, 0) {
			l.add(place+" "+v.name, "0 (not known) or a number above it, in "+unitName, "%v", v.value)
		}
	}
	if d.Step > 0 && d.Step < 1e-8*d.Nominal {
		l.add(place+" step", "the smallest change that it shows, in "+unitName, "%v is less than a hundred-millionth of its size", d.Step)
	}
	if d.Gain >= 0.5 {
		l.add(place+" gain", "a share such as 0.001 for ± 0.1 %", "%v", d.Gain)
	}
	if d.Tolerance >= d.Nominal {
		l.add(place+" tolerance", "a limit of error in "+unitName+", far below the size", "%v is not below the size %v", d.Tolerance, d.Nominal)
	}
	if d.smallest() > d.Nominal {
		l.add(place+" smallest", "at most its size", "%v is above the size %v", d.Smallest, d.Nominal)
	}
	if _, err := d.limit(); err != nil {
		l.add(place, "class A or B of a listed size, or its tolerance in mL", "%v", err)
	}
	d.checkOwnCheck(place, l)
}

func (d Device) checkOwnCheck(place string, l *faultList) {
	c := d.Check
	if c == nil {
		return
	}
	if d.Kind == Scale {
		l.add(place+" check", "checks by weighing water are for volumes; give a scale's error as tolerance and gain", "a scale with a check")
		return
	}
	if len(c.Weights) < 3 {
		l.add(place+" check", "at least 3 weighings; 10 are usual", "%d weighings", len(c.Weights))
		return
	}
	if !(c.Temperature > 0 && c.Temperature <= 40) {
		l.add(place+" check temperature", "°C of the water, 0 to 40", "%v", c.Temperature)
		return
	}
	if p := c.pressure(); !(p >= 600 && p <= 1100) {
		l.add(place+" check pressure", "hPa, 600 to 1100", "%v", p)
		return
	}
	mean, _, _ := c.Volume()
	if !(c.Setting > 0) || !(math.Abs(mean-c.Setting) <= 0.2*c.Setting) {
		l.add(place+" check", "weights in g close to the setting in mL", "the weights mean %.4g mL at the setting %v", mean, c.Setting)
	}
}

func (s Shelf) checkStock(st Stock, l *faultList) {
	place := fmt.Sprintf("stock %q", st.Name)
	if !(st.Left >= 0) {
		l.add(place+" left", "mL in the bottle, 0 means not limited", "%v", st.Left)
	}
	if st.Density != 0 && !(st.Density > 0.7 && st.Density < 2) {
		l.add(place+" density", "kg/L, close to 1", "%v", st.Density)
	}
	if st.Loss != 0 && !(st.Loss > 0 && st.Loss < 0.5*st.LossFrom) {
		l.add(place+" loss", "grams lost, less than half of what was in the bottle (loss_from, mL)", "%v g of %v mL", st.Loss, st.LossFrom)
	}
	if st.Salt != nil {
		s.checkWeighed(place, *st.Salt, l)
		return
	}
	if st.Scale.Analyte != s.Scale.Analyte {
		l.add(place, "a stock of "+s.Scale.Analyte, "it is a stock of %s", st.Scale.Analyte)
		return
	}
	if _, err := unit.Parse(st.Scale.Analyte, st.Scale.Unit, st.Scale.Basis); err != nil {
		l.add(place+" unit", "", "%v", err)
	}
	if !(st.Value > 0) || math.IsInf(st.Value, 0) {
		l.add(place+" value", "the certified concentration, above 0", "%v", st.Value)
		return
	}
	if !(st.U > 0) {
		l.add(place+" u", "the certificate's U with its k (u = U/k); no stock is exact", "u is %v", st.U)
	} else if st.U > 0.3*st.Value {
		l.add(place+" u", "a standard uncertainty in the stock's unit, such as 0.3 % of its value", "u %v is more than 30 %% of %v", st.U, st.Value)
	}
}

func (s Shelf) checkWeighed(place string, w Weighed, l *faultList) {
	if _, err := FindSalt(w.Salt, s.Scale.Analyte); err != nil {
		l.add(place+" salt", "", "%v", err)
	}
	if w.Purity > 1 && w.Purity <= 100 {
		l.add(place+" purity", fmt.Sprintf("a share of at most 1: %g for %g %%", w.Purity/100, w.Purity), "%v", w.Purity)
	} else if !(w.Purity > 0.5 && w.Purity <= 1) {
		l.add(place+" purity", "the label's mass share, such as 0.995", "%v", w.Purity)
	}
	if !(w.PurityWithin >= 0 && w.PurityWithin < 0.5) {
		l.add(place+" purity_within", "± limits of the purity, such as 0.005 for 99.0 to 100 %", "%v", w.PurityWithin)
	}
	flask, scale := s.device(w.Flask), s.device(w.Scale)
	if flask == nil || flask.Kind != Flask {
		l.add(place+" flask", "the name of a flask on the shelf", "%q", w.Flask)
	}
	if scale == nil || scale.Kind != Scale {
		l.add(place+" scale", "the name of a scale on the shelf", "%q", w.Scale)
	} else if !(w.Mass > 0 && w.Mass <= scale.Nominal) {
		l.add(place+" mass", fmt.Sprintf("grams above 0 and up to the scale's %g", scale.Nominal), "%v", w.Mass)
	}
}

// doubts are warnings about a shelf that can be used.
func (s Shelf) doubts(today time.Time) []note.Note {
	var out []note.Note
	for _, st := range s.Stocks {
		out = append(out, st.doubts(today)...)
		out = append(out, s.basisDoubt(st)...)
		if st.Salt != nil {
			if scale := s.device(st.Salt.Scale); st.Salt.Mass < scale.smallest() {
				out = append(out, note.New("little-salt").Name("stock", st.Name).Number("grams", st.Salt.Mass).Name("scale", scale.Name).Number("step", scale.step()))
			}
		}
	}
	for _, d := range s.Devices {
		if (d.Kind == Flask || d.Kind == OneMark) && d.Class == "" && d.Tolerance == 0 {
			out = append(out, note.New("no-class-mark").Name("device", d.Name))
		}
	}
	if strings.EqualFold(s.Matrix.How, "guess") && s.Matrix.U < s.Matrix.Background/2 {
		out = append(out, note.New("background-guessed").Number("u", s.Matrix.U))
	}
	return out
}

// basisDoubt points at the factor between two bases where it bites.
func (s Shelf) basisDoubt(st Stock) []note.Note {
	if st.Salt != nil || st.Scale.Basis == s.Scale.Basis {
		return nil
	}
	f, err := unit.Factor(st.Scale, s.base(), s.water())
	if err != nil || math.Abs(f-1) < 0.001 {
		return nil
	}
	return []note.Note{note.New("bases-differ").Name("stock", st.Name).Name("basis", st.Scale.Basis, s.Scale.Basis).
		Number("value", st.Value, st.Value*f).Number("u", st.U, st.U*f).Name("scale", st.Scale.String(), s.base().String())}
}
