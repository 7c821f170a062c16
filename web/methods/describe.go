package methods

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/web/form"
)

// readSpec reads a method's description from its form.
func readSpec(f *form.Form) knownwater.MethodSpec {
	want := "write a number such as 0.5"
	spec := knownwater.MethodSpec{
		Name: f.Text("name"), Kind: knownwater.Kind(f.Text("kind")), Scale: f.Scale(),
		Steps: readSteps(f), Note: f.Text("note"), Caution: f.Text("caution"),
		PackPrice: f.Number("pack_price", want), PackTests: f.Whole("pack_tests", 100000),
		RefillPrice: f.Number("refill_price", want), RefillTests: f.Whole("refill_tests", 100000),
		Minutes: f.Number("minutes", want), HandsOnMinutes: f.Number("hands_on_minutes", want),
		ShelfMonths: f.Number("shelf_life_months", want), RefillMonths: f.Number("refill_shelf_life_months", want), DevicePrice: f.Number("device_price", want), DeviceYears: f.Number("device_years", want),
		WasteML: f.Number("waste_ml", want), Hazards: readHazards(f),
		Dilution: knownwater.Dilution{Over: f.Number("dilution_over", want), Factor: f.Number("dilution_factor", want),
			SampleML: f.Number("sample_ml", want), USampleML: f.Number("u_sample_ml", want), SampleDevice: f.Text("sample_device"),
			WaterML: f.Number("water_ml", want), UWaterML: f.Number("u_water_ml", want), WaterDevice: f.Text("water_device")},
	}
	k := reading.Of(spec.Kind)
	if k.Has("swatches") {
		spec.Swatches, spec.AtShare = readSwatches(f), f.Number("at_share", "write a share between 0 and 0.5, or leave it empty for 0.25")
	}
	if k.Has("drop_value") {
		spec.DropValue = f.Number("drop_value", want)
	}
	if k.Has("resolution") {
		spec.Resolution = f.Number("resolution", want)
		spec.RangeLow, spec.RangeHigh = optionalNumber(f, "range_low"), optionalNumber(f, "range_high")
	}
	return spec
}

func optionalNumber(f *form.Form, name string) *float64 {
	if f.Text(name) == "" {
		return nil
	}
	v := f.Number(name, "write a number, or leave it empty")
	return &v
}

// readHazards reads classes with commas between; “none” says that there is none.
func readHazards(f *form.Form) []string {
	text := strings.ToLower(f.Text("hazards"))
	if text == "" {
		return nil
	}
	out := []string{}
	if text == "none" {
		return out
	}
	for _, h := range strings.Split(text, ",") {
		out = append(out, strings.TrimSpace(h))
	}
	return out
}

var colour = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// readSwatches reads one swatch a line: its value and, if wanted, a colour that
// reminds of the order on the reading pad.
func readSwatches(f *form.Form) []knownwater.Swatch {
	var out []knownwater.Swatch
	for i, line := range form.Lines(f.Get("swatches")) {
		parts := strings.Fields(line)
		if len(parts) == 0 {
			continue
		}
		v, err := form.ParseNumber(parts[0])
		if err != nil || len(parts) > 2 || len(parts) == 2 && !colour.MatchString(parts[1]) {
			f.AddFault(knownwater.Fault{Row: i + 1, Column: "swatches", Found: fmt.Sprintf("“%s”", line),
				Want: "one swatch a line: its value and, if you like, a colour such as 2.5 #cfd08c"})
			continue
		}
		s := knownwater.Swatch{Value: v}
		if len(parts) == 2 {
			s.Colour = strings.ToLower(parts[1])
		}
		out = append(out, s)
	}
	return out
}

// stepWant is the notation of a step, as a fault says it.
const stepWant = "one step a line: a name, how long, and “hands on” if it needs them: “shake, 60 s, hands on”, “stand, 5 min”, and last “read, within 2 min”"

// readSteps reads the procedure: one step a line, the last one the reading.
func readSteps(f *form.Form) []knownwater.Step {
	var out []knownwater.Step
	for i, line := range form.Lines(f.Get("steps")) {
		if strings.TrimSpace(line) == "" {
			continue
		}
		step, err := parseStep(line)
		if err != nil {
			f.AddFault(knownwater.Fault{Row: i + 1, Column: "steps", Found: err.Error(), Want: stepWant})
			continue
		}
		out = append(out, step)
	}
	return out
}

func parseStep(line string) (knownwater.Step, error) {
	parts := strings.Split(line, ",")
	step := knownwater.Step{Name: strings.TrimSpace(parts[0])}
	if m := spokenTime.FindStringSubmatch(strings.ToLower(step.Name)); m != nil { // “stand five minutes”, without a comma
		seconds, err := parseSeconds(strings.TrimPrefix(m[1], "for "))
		if err != nil {
			return step, fmt.Errorf("“%s” is no length of time", m[1])
		}
		step.Name, step.Seconds = strings.TrimSpace(step.Name[:len(step.Name)-len(m[1])]), seconds
	}
	if step.Name == "" {
		return step, fmt.Errorf("“%s” has no name", line)
	}
	for _, p := range parts[1:] {
		p = strings.ToLower(strings.TrimSpace(p))
		within := strings.HasPrefix(p, "within ")
		switch seconds, err := parseSeconds(strings.TrimPrefix(p, "within ")); {
		case p == "hands on":
			step.HandsOn = true
		case err != nil:
			return step, fmt.Errorf("“%s” is no length of time", p)
		case within:
			step.Within = seconds
		default:
			step.Seconds = seconds
		}
	}
	return step, nil
}

// A length of time is a number, in figures or as a word, and a unit.
const (
	numberOfTime = `[0-9]+(?:[.,][0-9]+)?|one|two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty`
	unitOfTime   = `s|secs?|seconds?|mins?|minutes?|h|hours?`
)

var (
	length     = regexp.MustCompile(`^(` + numberOfTime + `) ?(` + unitOfTime + `)$|^([0-9]+):([0-5][0-9])$`)
	spokenTime = regexp.MustCompile(` ((?:for )?(?:` + numberOfTime + `) ?(?:` + unitOfTime + `))$`)
)

var numberWords = map[string]string{"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
	"nine": "9", "ten": "10", "twelve": "12", "fifteen": "15", "twenty": "20", "thirty": "30"}

// parseSeconds reads 45 s, 5 min, five minutes, 1.5 h or 2:30.
func parseSeconds(text string) (float64, error) {
	m := length.FindStringSubmatch(text)
	if m == nil {
		return 0, fmt.Errorf("no length of time")
	}
	if m[3] != "" {
		min, _ := strconv.Atoi(m[3])
		sec, _ := strconv.Atoi(m[4])
		return float64(60*min + sec), nil
	}
	if word, is := numberWords[m[1]]; is {
		m[1] = word
	}
	v, err := form.ParseNumber(m[1])
	if err != nil || v > 48*3600 {
		return 0, fmt.Errorf("too long")
	}
	switch m[2][0] {
	case 'm':
		v *= 60
	case 'h':
		v *= 3600
	}
	return v, nil
}

// specForm puts a description back into its form, in the same notation.
func specForm(m knownwater.MethodSpec) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	set := func(name, v string) { f.Set(name, v) }
	set("name", m.Name)
	set("kind", string(m.Kind))
	set("analyte", m.Scale.Analyte)
	set("unit", m.Scale.Unit)
	set("basis", m.Scale.Basis)
	set("note", m.Note)
	set("caution", m.Caution)
	for name, v := range map[string]float64{"at_share": m.AtShare, "resolution": m.Resolution, "drop_value": m.DropValue,
		"pack_price": m.PackPrice, "pack_tests": float64(m.PackTests), "refill_price": m.RefillPrice, "refill_tests": float64(m.RefillTests),
		"minutes": m.Minutes, "hands_on_minutes": m.HandsOnMinutes, "shelf_life_months": m.ShelfMonths, "refill_shelf_life_months": m.RefillMonths, "device_price": m.DevicePrice, "device_years": m.DeviceYears, "waste_ml": m.WasteML,
		"dilution_over": m.Dilution.Over, "dilution_factor": m.Dilution.Factor,
		"sample_ml": m.Dilution.SampleML, "u_sample_ml": m.Dilution.USampleML, "water_ml": m.Dilution.WaterML, "u_water_ml": m.Dilution.UWaterML} {
		set(name, form.Shown(v))
	}
	set("hazards", strings.Join(m.Hazards, ", "))
	if m.Hazards != nil && len(m.Hazards) == 0 {
		set("hazards", "none")
	}
	set("sample_device", m.Dilution.SampleDevice)
	set("water_device", m.Dilution.WaterDevice)
	for name, v := range map[string]*float64{"range_low": m.RangeLow, "range_high": m.RangeHigh} {
		if v != nil {
			set(name, strconv.FormatFloat(*v, 'g', -1, 64))
		}
	}
	var swatches, steps []string
	for _, s := range m.Swatches {
		swatches = append(swatches, strings.TrimSpace(strconv.FormatFloat(s.Value, 'g', -1, 64)+" "+s.Colour))
	}
	for _, s := range m.Steps {
		steps = append(steps, stepWords(s))
	}
	set("swatches", strings.Join(swatches, "\n"))
	set("steps", strings.Join(steps, "\n"))
	return f
}

// stepWords is a step in the notation that parseStep reads.
func stepWords(s knownwater.Step) string {
	parts := []string{s.Name}
	if s.Seconds > 0 {
		parts = append(parts, secondsWords(s.Seconds))
	}
	if s.HandsOn {
		parts = append(parts, "hands on")
	}
	if s.Within > 0 {
		parts = append(parts, "within "+secondsWords(s.Within))
	}
	return strings.Join(parts, ", ")
}

func secondsWords(s float64) string {
	if s >= 60 && s == float64(int(s/60)*60) {
		return fmt.Sprintf("%.0f min", s/60)
	}
	return strconv.FormatFloat(s, 'g', -1, 64) + " s"
}

// stepTimes are a step's times without its name.
func stepTimes(s knownwater.Step) string {
	return strings.TrimPrefix(strings.TrimPrefix(stepWords(s), s.Name), ", ")
}
