package start

import (
	"strings"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/web/form"
	"knownwater/web/render"
)

// A method is described in three fields: its name, its kind, and the one detail
// that its kind needs: a chart's swatches, a drop's worth, a display's last digit.

// detailWant says what the detail of each kind is.
const (
	wantSwatches = "the numbers on the card from the lowest, with spaces between: 0 3 6 12"
	wantDrop     = "what one drop stands for, such as 0.5"
	wantDigit    = "one step of the last digit, such as 0.1; empty: the finest that was seen"
)

// readDetail fills in what the kind of a method needs from its detail.
func readDetail(f *form.Form, field string, m *knownwater.Method) {
	k := reading.Of(m.Kind)
	switch text := f.Text(field); {
	case k.Has("swatches"):
		m.Swatches, m.AtShare = readSwatches(f, field, text), knownwater.DefaultAtShare
	case k.Has("drop_value"):
		if m.DropValue = f.Number(field, wantDrop); m.DropValue == 0 && f.Wrong(field) == nil {
			f.Reject(field, "nobody said what a drop stands for", "write %s", wantDrop)
		}
	case text != "":
		m.Resolution = f.Number(field, wantDigit)
	}
}

// readSwatches takes spaces, semicolons, bars and commas with a space behind them as
// what stands between two swatches.
func readSwatches(f *form.Form, field, text string) []float64 {
	text = strings.NewReplacer(";", " ", "|", " ", ", ", " ").Replace(text)
	var out []float64
	for _, word := range strings.Fields(text) {
		v, err := form.ParseNumber(word)
		if err != nil {
			f.Reject(field, "“%s” is no number", "write %s", word, wantSwatches)
			return nil
		}
		out = append(out, v)
	}
	if len(out) < 2 {
		f.Reject(field, "a card has at least two swatches", "write %s", wantSwatches)
	}
	return out
}

// detail is a method's detail as it is put into its field.
func detail(m knownwater.Method) string {
	k := reading.Of(m.Kind)
	switch {
	case k.Has("swatches"):
		var out []string
		for _, v := range m.Swatches {
			out = append(out, form.Exactly(v))
		}
		return strings.Join(out, " ")
	case k.Has("drop_value"):
		return form.Shown(m.DropValue)
	}
	return form.Shown(m.Resolution)
}

// needOf is the need of a sentence: right from low to high, within an error that is
// the same all the way. ok is false where the sentence was left empty.
func needOf(as render.Reader, f *form.Form) (n knownwater.Need, ok bool) {
	if f.Text("low") == "" && f.Text("high") == "" && f.Text("within") == "" {
		return n, false
	}
	n.Low, n.High = f.Number("low", form.WantNumber), f.Number("high", form.WantNumber)
	e := f.Number("within", form.WantNumber)
	switch {
	case f.Bad():
	case !(n.High > n.Low) || n.Low < 0:
		f.Reject("high", "from %g to %g is no range", "the lower end first, from 0 up", n.Low, n.High)
	case !(e > 0):
		f.Reject("within", "no error was named", "the largest error that would not matter, such as 1")
	default:
		n.Permitted = []knownwater.Permit{{At: n.Low, Error: e}}
		n.Name = as.Language.Say("right within {1} from {2} to {3}", form.Exactly(e), form.Exactly(n.Low), form.Exactly(n.High))
	}
	return n, true
}
