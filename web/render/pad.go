package render

import (
	"math"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Pad is what the entry of one method's readings needs, on the run screen and on
// the page for tonight's reading.
type Pad struct {
	Form       string   `json:"form"` // tiles, count or digits, see reading.Pad
	How        string   `json:"how,omitempty"`
	Targets    []Target `json:"targets,omitempty"`
	Resolution float64  `json:"resolution,omitempty"`
	Low        *float64 `json:"low,omitempty"`
	High       *float64 `json:"high,omitempty"`
	Drop       float64  `json:"drop,omitempty"`
	Signed     bool     `json:"signed,omitempty"` // it may lie below 0
	Signal     bool     `json:"-"`                // what is read is no concentration
	Prompt     string   `json:"prompt,omitempty"`
}

// Target is one brick of a chart's wall: its reading in the notation, what it says,
// its face.
type Target struct {
	Text    string   `json:"text"`
	Says    string   `json:"says"`
	Place   string   `json:"place"` // at, gap, above
	A       string   `json:"a"`
	B       string   `json:"b,omitempty"`
	Colours []string `json:"colours"`
}

// PadOf is the pad of a method, in English.
func PadOf(m knownwater.MethodSpec) Pad { return Reader{}.Pad(m) }

// Pad is the pad of a method. Its numbers have points: a script writes them as the reader does.
func (r Reader) Pad(m knownwater.MethodSpec) Pad {
	k := reading.Of(m.Kind)
	p := Pad{Form: k.Pad.Form, How: r.Language.Say(k.Pad.How), Prompt: r.Language.Say(k.Pad.Prompt), Signed: k.Pad.Signed, Signal: k.Signal}
	switch k.Pad.Form {
	case reading.PadTiles:
		p.Targets = r.targets(m)
	case reading.PadCount:
		p.Drop = m.DropValue
	default:
		p.Resolution, p.Low, p.High = m.Resolution, m.RangeLow, m.RangeHigh
		p.Signed = p.Signed || m.RangeLow == nil || *m.RangeLow < 0 // a display may show less than 0
	}
	return p
}

// FromAbove are the bricks as a wall stands: up is more.
func (p Pad) FromAbove() []Target {
	out := slices.Clone(p.Targets)
	slices.Reverse(out)
	return out
}

// targets are a chart's bricks, from the lowest up.
func (r Reader) targets(m knownwater.MethodSpec) []Target {
	var out []Target
	n := len(m.Swatches)
	i := 0 // swatch that the tile begins at
	for _, t := range reading.Tiles(m.Method()) {
		p := Target{Text: t.Text, Says: r.seen(t.Seen, m.Scale)}
		switch {
		case t.Text[0] == '>':
			p.Place, p.A = "above", t.Text[1:]
		case t.Text == reading.Format(m.Swatches[i].Value):
			p.Place, p.A, p.Colours = "at", t.Text, []string{m.Swatches[i].Colour}
			if i+1 < n {
				i++
			}
		default:
			p.Place, p.A, p.B = "gap", reading.Format(m.Swatches[i-1].Value), reading.Format(m.Swatches[i].Value)
			p.Colours = []string{m.Swatches[i].Colour, m.Swatches[i-1].Colour}
		}
		if p.Colours == nil {
			p.Colours = []string{}
		}
		out = append(out, p)
	}
	return out
}

// SeenWords are an interval in words: "6.25 to 8.75 mg/L".
func SeenWords(i interval.Interval, scale unit.Scale) string { return Reader{}.seen(i, scale) }

func (r Reader) seen(i interval.Interval, scale unit.Scale) string {
	switch {
	case i.OpenBelow():
		return r.Language.Say("up to {1}, open below", short(i.High)+" "+scale.String())
	case i.OpenAbove():
		return r.Language.Say("above {1}, open", short(i.Low)+" "+scale.String())
	}
	return r.Language.Say("{1} to {2}", short(i.Low), short(i.High)+" "+scale.String())
}

func short(v float64) string {
	return unit.TrueMinus(strconv.FormatFloat(math.Round(v*1e6)/1e6, 'g', 6, 64))
}
