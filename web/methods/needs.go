package methods

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"

	"knownwater"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
)

type needsPage struct {
	Needs    []knownwater.NeedEntry
	Form     *form.Form
	One      int64 // being changed; 0: a new one
	Analytes []string
	Words    []wording
}

func (s *Pages) needs(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{"analyte": {"nitrate"}}}
	var one int64
	if r.PathValue("id") != "" {
		n, err := s.Bench.Need(r.Context(), form.PathID(r, "id"))
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		one, f = n.ID, needForm(n)
	}
	s.showNeeds(w, r, http.StatusOK, one, f)
}

func (s *Pages) showNeeds(w http.ResponseWriter, r *http.Request, status int, one int64, f *form.Form) {
	all, err := s.Bench.Needs(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "needs", page.Frame{Heading: "Needs", Part: "needs", Page: needsPage{all, f, one, unit.Analytes(), wordings}})
}

func (s *Pages) saveNeed(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	want := "write a number such as 0.5"
	n := knownwater.NeedEntry{Scale: f.Scale(), Retired: f.Ticked("retired"), Need: readNeed(f, want)}
	if ids := f.IDs("id"); len(ids) > 0 {
		n.ID = ids[0]
	}
	if !f.Bad() {
		_, err = s.Bench.SaveNeed(r.Context(), page.WhoIs(r), n)
	}
	if f.Refused(err) {
		s.showNeeds(w, r, http.StatusUnprocessableEntity, n.ID, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The need “{1}” is kept.", n.Need.Name)
	http.Redirect(w, r, "/needs", http.StatusSeeOther)
}

// readNeed reads a need, in words or in numbers, and what whoever tests will do for it.
func readNeed(f *form.Form, want string) knownwater.Need {
	n := readWords(f)
	if n.High == 0 {
		n.Low, n.High = f.Number("low", want), f.Number("high", want)
	}
	if p := readPermitted(f); len(p) > 0 {
		n.Permitted = p
	}
	n.Name = f.Text("name")
	n.TestsAMonth, n.MinutesAtMost, n.MoneyAYear = f.Number("tests_a_month", want), f.Number("minutes_at_most", want), f.Number("money_a_year", want)
	n.Readers, n.NoColours, n.WasteMLAYear = f.Whole("readers", 100), f.Ticked("no_colours"), f.Number("waste_ml_a_year", want)
	if hazards := readHazards(f); hazards != nil {
		n.OnlyHazards, n.Hazards = true, hazards
	}
	n.WrongBelow, n.WrongAbove, n.FalseAlarm = f.Number("wrong_below", want), f.Number("wrong_above", want), f.Number("false_alarm", want)
	n.Change, n.Sure = f.Number("change", want), f.Number("sure", "a share below 1, such as 0.95")
	n.Usual = [2]float64{f.Number("usual_low", want), f.Number("usual_high", want)}
	return n
}

type wording struct {
	Key, Says string
	Takes     int // numbers
}

// wordings are needs in a person's words: what the form calls them and the numbers they take.
var wordings = []wording{
	{Key: "", Says: "say it in numbers, below", Takes: 0},
	{Key: "hold", Says: "hold a range: from, to", Takes: 2},
	{Key: "rise", Says: "see a rise: of, starting at", Takes: 2},
	{Key: "zero", Says: "tell zero from", Takes: 1},
	{Key: "more", Says: "spot more than", Takes: 1},
	{Key: "compare", Says: "compare two waters: a difference of, around, over weeks", Takes: 3},
}

// readWords turns a need in words into numbers; nothing where it is said in numbers.
func readWords(f *form.Form) (n knownwater.Need) {
	key := f.Text("words")
	for _, w := range wordings {
		if w.Key != key || key == "" {
			continue
		}
		var v []float64
		for _, text := range strings.FieldsFunc(f.Text("words_numbers"), func(r rune) bool { return r == ';' || r == ' ' || r == '\t' }) {
			x, err := form.ParseNumber(text)
			if err != nil || x < 0 {
				f.Reject("words_numbers", "“"+text+"”", "a number from 0 up")
				return n
			}
			v = append(v, x)
		}
		if len(v) != w.Takes || v[0] == 0 && key != "hold" {
			f.Reject("words_numbers", "%d numbers", "%d with a space between, the first above 0: %s", len(v), w.Takes, w.Says)
			return n
		}
		switch key {
		case "hold":
			n = knownwater.Hold(v[0], v[1])
		case "rise":
			n = knownwater.SeeRise(v[0], v[1])
		case "zero":
			n = knownwater.TellZero(v[0])
		case "more":
			n = knownwater.SpotMore(v[0])
		case "compare":
			n = knownwater.Compare(v[0], v[1], v[2], f.Number("tests_a_month", "how many tests a month each water gets"))
		}
	}
	return n
}

var permit = regexp.MustCompile(`^(?:at )?([^ ±:]+) *(?:±|\+-|\+/-|:| ) *([^ ]+)$`)

// readPermitted reads one line a point: "at 2 ± 0.5".
func readPermitted(f *form.Form) []knownwater.Permit {
	var out []knownwater.Permit
	for i, line := range form.Lines(f.Get("permitted")) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		var at, e float64
		m := permit.FindStringSubmatch(line)
		err := fmt.Errorf("unread")
		if m != nil {
			if at, err = form.ParseNumber(m[1]); err == nil {
				e, err = form.ParseNumber(m[2])
			}
		}
		if err != nil {
			f.AddFault(knownwater.Fault{Row: i + 1, Column: "permitted", Found: "“" + line + "”",
				Want: "one point a line, a concentration and the error permitted there: at 2 ± 0.5"})
			continue
		}
		out = append(out, knownwater.Permit{At: at, Error: e})
	}
	return out
}

func needForm(n knownwater.NeedEntry) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	f.Set("name", n.Need.Name)
	f.Set("analyte", n.Scale.Analyte)
	f.Set("unit", n.Scale.Unit)
	f.Set("basis", n.Scale.Basis)
	f.Set("low", form.Exactly(n.Need.Low))
	f.Set("high", form.Exactly(n.Need.High))
	f.Set("tests_a_month", form.Shown(n.Need.TestsAMonth))
	f.Set("minutes_at_most", form.Shown(n.Need.MinutesAtMost))
	f.Set("money_a_year", form.Shown(n.Need.MoneyAYear))
	f.Set("change", form.Shown(n.Need.Change))
	f.Set("sure", form.Shown(n.Need.Sure))
	f.Set("readers", form.Shown(float64(n.Need.Readers)))
	f.Set("waste_ml_a_year", form.Shown(n.Need.WasteMLAYear))
	f.Set("wrong_below", form.Shown(n.Need.WrongBelow))
	f.Set("wrong_above", form.Shown(n.Need.WrongAbove))
	f.Set("false_alarm", form.Shown(n.Need.FalseAlarm))
	if n.Need.Usual != [2]float64{} {
		f.Set("usual_low", form.Exactly(n.Need.Usual[0]))
		f.Set("usual_high", form.Exactly(n.Need.Usual[1]))
	}
	f.Set("hazards", strings.Join(n.Need.Hazards, ", "))
	if n.Need.OnlyHazards && len(n.Need.Hazards) == 0 {
		f.Set("hazards", "none")
	}
	if n.Need.NoColours {
		f.Set("no_colours", "yes")
	}
	var points []string
	for _, p := range n.Need.Permitted {
		points = append(points, "at "+form.Exactly(p.At)+" ± "+form.Exactly(p.Error))
	}
	f.Set("permitted", strings.Join(points, "\n"))
	if n.Retired {
		f.Set("retired", "yes")
	}
	return f
}
