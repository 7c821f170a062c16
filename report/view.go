package report

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"knownwater"
	"knownwater/science/assess"
)

// view is all that text and page show, in words and rounded numbers.
type view struct {
	Title, Scale, Analyte string
	Lede                  []string
	Facts                 []fact
	Needs                 []needView
	Methods               []methodView
	Slips                 []slipView
	Notes                 []string
	Cautions              []string
}

type fact struct {
	Label, Value string
	All          bool // over the whole width of the block
}

// needView is one need with every method against it.
type needView struct {
	Name, Range, Permitted, Pick string
	Rows                         []needRow
}

type needRow struct {
	Method, Verdict, Class string
	Raw, Corrected         string // with best value and interval
	RawTo, CorrectedTo     string // the interval alone
	Permitted, More        string
}

type methodView struct {
	f  assess.MethodFinding
	No int // its place in the report, from 1

	Name, Kind, Counts string
	Technique          string
	Verdicts           []verdictView
	Reads              string
	Levels             []levelRow
	Limits             []limitRow
	LimitsWhy          string
	Steps              []stepRow
	Line, Shape        string
	Spread             []partRow
	SpreadAt           string
	Readers            []partRow
	Techniques         []techniqueView
	ReadBack           []readBackRow
	Slips              []slipView
	Notes              []string
	MCError            string
}

type verdictView struct {
	Need, Verdict, Class string
	Sentence             sentence
	Settle, Why, AtShare string
}

type levelRow struct {
	Known, N                 string
	Mean, Bias, Recovery, SD estimate
	One, Midpoint, Permitted string
	OneStep                  bool // all readings fell in one step: no best value
}

type limitRow struct{ Name, Value, Means string }
type stepRow struct{ From, Same, Other string }
type partRow struct {
	Name  string
	Value estimate
	Words string

	sd, low, high float64 // for the figure
}
type techniqueView struct {
	Name, Class, Ratio string
	Sentence           sentence
	Levels             string
}
type readBackRow struct{ Reading, Says string }
type slipView struct{ Method, Question, Evidence string }

// look at findings and trial once and say it all in words.
func newView(f assess.Findings, t knownwater.Trial) view {
	scale := scaleOf(f)
	v := view{Scale: scale, Analyte: clean(f.Analyte), Notes: cleaned(f.Notes), Cautions: cautions(f)}
	v.Title = titleOf(f)
	v.Facts = factsOf(f, t, scale)
	names := needNames(f, t)
	for _, name := range names {
		v.Needs = append(v.Needs, newNeedView(name, f, t, scale))
	}
	for _, n := range v.Needs {
		v.Lede = append(v.Lede, n.Pick)
	}
	if len(names) == 0 {
		v.Lede = []string{"No need was given, so no method is called fit or not fit. Give one (what range, what error is permitted) and the same readings will be judged against it."}
	}
	for i, m := range f.Methods {
		mv := newMethodView(m, t, scale)
		mv.No = i + 1
		v.Methods = append(v.Methods, mv)
	}
	v.Slips = slipsOf(f.Slips, "")
	for _, m := range f.Methods {
		v.Slips = append(v.Slips, slipsOf(m.Slips, nameOf(m))...)
	}
	return v
}

func titleOf(f assess.Findings) string {
	levels := map[float64]bool{}
	methods := map[string]bool{}
	for _, m := range f.Methods {
		methods[m.Method] = true
		for _, l := range m.Levels {
			levels[l.Level] = true
		}
	}
	analyte := clean(f.Analyte)
	if analyte == "" {
		analyte = "analyte not named"
	}
	return fmt.Sprintf("%s: %s against %s", capital(analyte), plural(len(methods), "method"), plural(len(levels), "known"))
}

// capital starts a sentence with a capital letter.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

func plural(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return numeral(n) + " " + what + "s"
}

func numeral(n int) string {
	small := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n >= 0 && n < len(small) {
		return small[n]
	}
	return count(n)
}

// factsOf is the title block: where the page comes from.
func factsOf(f assess.Findings, t knownwater.Trial, scale string) []fact {
	total := 0
	groups := map[string]map[string]bool{"reader": {}, "technique": {}, "session": {}, "vial": {}, "matrix": {}, "lot": {}}
	for _, o := range t.Observations {
		total += max(o.Count, 1)
		for k, v := range map[string]string{"reader": o.Reader, "technique": o.Technique, "session": o.Session, "vial": o.Vial, "matrix": o.Matrix, "lot": o.Lot} {
			if v != "" {
				groups[k][clean(v)] = true
			}
		}
	}
	if total == 0 {
		for _, m := range f.Methods {
			total += m.N
		}
	}
	tested := count(total) + " readings"
	if n := len(groups["vial"]); n > 0 {
		tested += " of " + count(n) + " vials"
	}
	facts := []fact{
		{Label: "Numbers are", Value: scale + " of " + orNone(clean(f.Analyte))},
		{Label: "Tested", Value: tested},
		{Label: "Knowns", Value: knownsOf(f), All: true},
		{Label: "Water", Value: waterOf(f, groups["matrix"])},
		{Label: "Readers", Value: listOr(groups["reader"], "not recorded")},
		{Label: "Technique", Value: listOr(groups["technique"], "not recorded")},
	}
	if n := len(groups["session"]); n > 0 {
		facts = append(facts, fact{Label: "Sessions", Value: count(n)})
	}
	if n := len(groups["lot"]); n > 0 {
		facts = append(facts, fact{Label: "Lots", Value: listOr(groups["lot"], "")})
	}
	return facts
}

func orNone(s string) string {
	if s == "" {
		return "an analyte not named"
	}
	return s
}

func listOr(set map[string]bool, otherwise string) string {
	names := make([]string, 0, len(set))
	for n := range set {
		names = append(names, n)
	}
	sort.Strings(names)
	for i, n := range names {
		names[i] = cut(n, 40)
	}
	switch {
	case len(names) == 0:
		return otherwise
	case len(names) > 8:
		return count(len(names)) + ", among them " + strings.Join(names[:3], ", ")
	}
	return strings.Join(names, ", ")
}

// knownsOf lists the knowns, and says so where their uncertainty is missing.
func knownsOf(f assess.Findings) string {
	u := map[float64]float64{}
	var levels []float64
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			if _, ok := u[l.Level]; !ok {
				levels = append(levels, l.Level)
			}
			u[l.Level] = math.Max(u[l.Level], l.ULevel)
		}
	}
	sort.Float64s(levels)
	var names []string
	stated := 0
	for _, l := range levels {
		if u[l] > 0 {
			stated++
		}
		if len(levels) <= 12 {
			names = append(names, typed(l, u[l]))
		}
	}
	s := strings.Join(names, ", ")
	if len(levels) > 12 {
		s = fmt.Sprintf("%s, from %s to %s", count(len(levels)), typed(levels[0], 0), typed(levels[len(levels)-1], 0))
	}
	switch {
	case len(levels) == 0:
		return "none"
	case stated == 0:
		return s + "; no uncertainty was stated, so they are taken as exact"
	case stated < len(levels):
		return s + "; some with no stated uncertainty"
	}
	return s + "; each with its stated uncertainty"
}

func waterOf(f assess.Findings, matrices map[string]bool) string {
	s := listOr(matrices, "")
	if s != "" {
		s += "; "
	}
	return fmt.Sprintf("%ssalinity %s, %s °C", s, typed(f.Salinity, 0), typed(f.Temperature, 0))
}

// needNames are the needs in the order of the trial, then any other judged.
func needNames(f assess.Findings, t knownwater.Trial) []string {
	var names []string
	seen := map[string]bool{}
	add := func(n string) {
		if !seen[n] {
			seen[n], names = true, append(names, n)
		}
	}
	for _, n := range t.Needs {
		add(n.Name)
	}
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			add(n.Need)
		}
	}
	return names
}

func needOf(t knownwater.Trial, name string) (knownwater.Need, bool) {
	for _, n := range t.Needs {
		if n.Name == name {
			return n, true
		}
	}
	return knownwater.Need{}, false
}

func newNeedView(name string, f assess.Findings, t knownwater.Trial, scale string) needView {
	v := needView{Name: clean(name)}
	if n, ok := needOf(t, name); ok {
		v.Range = fmt.Sprintf("%s to %s %s", typed(n.Low, 0), typed(n.High, 0), scale)
		v.Permitted = permittedWords(n)
	}
	type judged struct {
		name  string
		n     assess.NeedFinding
		spare float64
	}
	by := map[string][]judged{}
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			if n.Need != name {
				continue
			}
			v.Rows = append(v.Rows, newNeedRow(m, n))
			by[n.Verdict] = append(by[n.Verdict], judged{nameOf(m), n, spare(n)})
		}
	}
	names := func(verdict string) []string {
		list := by[verdict]
		sort.SliceStable(list, func(i, j int) bool { return list[i].spare < list[j].spare })
		out := make([]string, len(list))
		for i, j := range list {
			out[i] = j.name
		}
		return out
	}
	v.Pick = pick(v.Name, names(assess.Fit), names(assess.FitWhenCorrected), names(assess.NotFit), names(assess.Undecided))
	return v
}

// spare is how much of the permitted error the upper limit of a method's error
// uses: the smaller, the more is to spare.
func spare(n assess.NeedFinding) float64 {
	e := n.Raw
	if n.Verdict == assess.FitWhenCorrected {
		e = n.Corrected
	}
	if e.High.OK() && e.Permitted > 0 {
		return float64(e.High / e.Permitted)
	}
	return math.Inf(1)
}

// pick says which method to use for a need, first.
func pick(need string, fit, corrected, not, undecided []string) string {
	s := "For “" + need + "”: "
	switch {
	case len(fit) > 0:
		s += "use " + fit[0] + " as it is read"
		if len(fit) > 1 {
			s += "; " + and(fit[1:]) + verb(len(fit)-1, " meets it too", " meet it too")
		}
		if len(corrected) > 0 {
			s += "; " + and(corrected) + verb(len(corrected), " meets it", " meet it") + " once corrected"
		}
	case len(corrected) > 0:
		s += "no method meets it as read; use " + corrected[0] + ", corrected through its record"
		if len(corrected) > 1 {
			s += "; " + and(corrected[1:]) + verb(len(corrected)-1, " meets it", " meet it") + " once corrected too"
		}
	case len(undecided) > 0:
		s += "no method is shown to meet it yet"
	case len(not) > 0:
		s += "no method here meets it"
	default:
		return s + "no method was judged."
	}
	s += "."
	if len(undecided) > 0 {
		s += " " + and(undecided) + verb(len(undecided), " is undecided.", " are undecided.")
	}
	if len(not) > 0 && len(fit)+len(corrected)+len(undecided) > 0 {
		s += " " + and(not) + verb(len(not), " is not fit.", " are not fit.")
	}
	return s
}

func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func permittedWords(n knownwater.Need) string {
	var parts []string
	for _, p := range n.Permitted {
		parts = append(parts, fmt.Sprintf("±%s at %s", typed(p.Error, 0), typed(p.At, 0)))
	}
	if len(parts) > 6 {
		parts = append(parts[:5], "… "+parts[len(parts)-1])
	}
	return strings.Join(parts, ", ")
}

func newNeedRow(m assess.MethodFinding, n assess.NeedFinding) needRow {
	r := needRow{Method: nameOf(m), Verdict: n.Verdict, Class: classOf(n.Verdict)}
	r.Raw, r.RawTo = within(n.Raw)
	r.Corrected, r.CorrectedTo = within(n.Corrected)
	r.Permitted = none
	if n.Raw.Permitted.OK() {
		r.Permitted = "±" + short(n.Raw.Permitted) + " at " + short(n.Raw.WorstAt)
	}
	if n.Verdict == assess.Undecided {
		r.More = none
		if n.MoreTests.OK() {
			r.More = "about " + count(int(math.Ceil(float64(n.MoreTests))))
		}
	}
	return r
}

// within is the error of single results: with its best value, and the interval alone.
func within(e assess.ErrorWithin) (full, to string) {
	v := number(e.Error95, e.Low, e.High)
	if !v.OK() {
		return none, none
	}
	to = v.To
	if to == "" {
		to = "±" + v.Est
	}
	return "±" + v.String(), to
}

func slipsOf(ss []assess.Slip, method string) []slipView {
	var out []slipView
	for _, s := range ss {
		name := clean(s.Method)
		if method != "" {
			name = method
		}
		out = append(out, slipView{name, clean(s.Question), clean(s.Evidence)})
	}
	return out
}

func cleaned(ss []string) []string {
	var out []string
	for _, s := range ss {
		if c := clean(s); c != "" {
			out = append(out, c)
		}
	}
	return out
}
