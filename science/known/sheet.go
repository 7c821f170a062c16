package known

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Sheet is what lies beside the bench while standards are made: steps to tick,
// planned amounts with room for the actual ones, labels and cautions. The
// wording is here once, for paper and screen alike.
type Sheet struct {
	Title    string
	Before   []string   // what to have ready
	Rows     []SheetRow // one a solution, in the order of making
	After    []string   // keeping
	Cautions []string
}

// SheetRow is one solution on the sheet.
type SheetRow struct {
	Name, Code string
	Steps      []string
	Planned    string // amount to take, as planned
	Unit       string // of the actual amount to write down
	Whole      string
}

// letters of codes: no I, O, 0, 1, and no order.
const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"

// Coded gives every standard without a code one of three signs from a seeded
// source, so that labels do not tell the value or the order.
func (p Preparation) Coded(r *rand.Rand) Preparation {
	out := append(Preparation(nil), p...)
	taken := map[string]bool{}
	for _, x := range out {
		taken[x.Code] = true
	}
	for i := range out {
		for out[i].Standard && out[i].Code == "" {
			var b strings.Builder
			for range 3 {
				b.WriteByte(letters[r.IntN(len(letters))])
			}
			if !taken[b.String()] {
				out[i].Code = b.String()
				taken[b.String()] = true
			}
		}
	}
	return out
}

// MakeSheet writes the sheet of a preparation.
func MakeSheet(s Shelf, p Preparation) Sheet {
	sheet := Sheet{
		Title:    fmt.Sprintf("Standards of %s in %s, %s", s.Scale.Analyte, s.diluentName(InMatrix), s.Scale),
		Cautions: cautions(s),
	}
	sheet.Before = before(s, p)
	for _, x := range p {
		sheet.Rows = append(sheet.Rows, sheetRow(s, p, x))
	}
	sheet.After = []string{
		"Label each bottle with its code and the date, never with the value; keep the list of codes and values apart from the readers.",
		"Use the standards the same day, or keep them filtered, dark and at 4 °C for at most 7 days; discard what turns cloudy (common practice, no source).",
		"Weigh the stock bottle when you put it back and note the weight: what is missing next time has evaporated.",
	}
	return sheet
}

func before(s Shelf, p Preparation) []string {
	made := p.volumes(s)
	used := p.used(made)
	out := []string{
		fmt.Sprintf("Salt water of salinity %g, one batch for everything, mixed at least 12 hours: about %.0f mL and as much again for rinsing.", s.Matrix.Salinity, p.matrixUsed(made)),
		fmt.Sprintf("Let stock, salt water and glass stand together until all are at %g °C, within %g.", s.Room.Temperature, s.Room.Within),
	}
	for _, st := range s.Stocks {
		if used := used[st.Name]; used > 0 {
			out = append(out, fmt.Sprintf("Stock %s: about %.3g mL. Pour some into a clean beaker and take from there; nothing goes back into the bottle.", st.Name, used))
		}
	}
	return append(out, "Note room temperature, time and your name.")
}

func sheetRow(s Shelf, p Preparation, x Solution) SheetRow {
	row := SheetRow{Name: x.Name, Code: x.Code, Unit: "mL"}
	if x.From == "" {
		row.Steps = []string{fmt.Sprintf("Rinse the bottle with %s and fill it with it: this is the blank.", s.diluentName(x.In)), labelStep(x)}
		row.Planned, row.Unit, row.Whole = "nothing added", "", "–"
		return row
	}
	take, fill := s.device(x.Take.Device), s.device(x.Make.Device)
	row.Planned, row.Whole = amountText(s, x.Take), wholeText(s, x.Make)
	if take.Kind == Scale {
		row.Unit = "g"
	}
	if take.Kind == Dropper {
		row.Unit = "drops"
	}
	liquid := s.diluentName(x.In)
	if fill.Kind == Flask {
		row.Steps = append(row.Steps, fmt.Sprintf("Rinse the %s twice with %s and pour the rinse away.", fill.Name, liquid))
	} else {
		row.Steps = append(row.Steps, "Take a clean, dry bottle: what clings to a wet one would not be weighed.")
	}
	row.Steps = append(row.Steps, takeSteps(x, *take, *fill, row.Planned)...)
	row.Steps = append(row.Steps, fillSteps(x, *fill, liquid)...)
	row.Steps = append(row.Steps, "Close, and turn it over 15 times.", labelStep(x))
	return row
}

func vessel(d *Device) string {
	if d.Kind == Flask {
		return d.Name
	}
	return "bottle"
}

func takeSteps(x Solution, take, fill Device, amount string) []string {
	var out []string
	if fill.Kind == Scale || take.Kind == Scale {
		out = append(out, fmt.Sprintf("Set the %s on the %s and press it to zero.", vessel(&fill), scaleName(take, fill)))
	}
	switch take.Kind {
	case Scale:
		out = append(out, fmt.Sprintf("Add %s of %s and write down what the scale shows.", amount, x.From))
	case Dropper:
		out = append(out, fmt.Sprintf("Hold the dropper upright and add %s of %s.", amount, x.From))
	default:
		out = append(out, fmt.Sprintf("Fresh tip or rinse with %s; add %s and write down what was set.", x.From, amount))
	}
	return out
}

func scaleName(take, fill Device) string {
	if fill.Kind == Scale {
		return fill.Name
	}
	return take.Name
}

func fillSteps(x Solution, fill Device, liquid string) []string {
	if fill.Kind == Flask {
		return []string{fmt.Sprintf("Fill up with %s; bring the lowest point of the surface onto the mark, eye level with it.", liquid)}
	}
	return []string{fmt.Sprintf("Without pressing zero again, fill up with %s to %s g in all and write down what the scale shows.", liquid, trim(x.Make.Amount))}
}

func labelStep(x Solution) string {
	if !x.Standard {
		return fmt.Sprintf("Label it %s, with content, strength and date.", x.Name)
	}
	if x.Code == "" {
		return "Label it with a code, not with its value."
	}
	return fmt.Sprintf("Label it %s.", x.Code)
}

// cautions are what a person must read before working with these things.
func cautions(s Shelf) []string {
	out := []string{
		"Not for drinking water, medical, regulatory or compliance decisions.",
		"Never pour standards, stock or rinse back into a tank. Never pipette by mouth. No food on the bench; children and pets away.",
		"Label every bottle with content, strength, date and hazard; a code stands for the strength on blind standards, the list says which.",
		"Waste by local rules: do not assume the sink. One closed, labelled container a class.",
	}
	oxidiser, acid, toxic := false, false, false
	for _, st := range s.Stocks {
		if st.Salt == nil {
			continue
		}
		if salt, err := FindSalt(st.Salt.Salt, s.Scale.Analyte); err == nil {
			oxidiser = oxidiser || salt.Oxidiser
			acid = acid || salt.Formula == "CaCO3"
			toxic = toxic || strings.Contains(salt.Drying, "toxic")
			out = append(out, fmt.Sprintf("%s (%s): %s. The bottle's own safety sheet overrides this.", salt.Name, salt.Formula, salt.Drying))
		}
	}
	if oxidiser || s.Scale.Analyte == "nitrate" || s.Scale.Analyte == "nitrite" {
		out = append(out, "Nitrate and nitrite salts feed fires: keep them away from fuels, sugar and heat; buy and store only what is needed; local purchase rules apply.")
	}
	if acid {
		out = append(out, "Acid: goggles and gloves; acid into water, never water into acid; rinse eyes 15 minutes and seek help.")
	}
	if toxic {
		out = append(out, "Toxic if swallowed or breathed in: gloves, no dust, closed and locked away.")
	}
	return out
}
