package report

import (
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"knownwater"
	"knownwater/science/assess"
)

// view is all that text and page show, in words and rounded numbers.
type view struct {
	Title, Scale, Analyte string
	Answer                answer
	Facts                 []fact
	Needs                 []needView
	Methods               []methodView
	Questions             []questionView
	Answered              []answeredView
	Notes                 []string
	Cautions              []string
}

type fact struct {
	Label, Value string
	All          bool // over the whole width of the block
}

// needView is one need with every method against it.
type needView struct {
	Name, Range, Permitted string
	Rows                   []needRow
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
	Notes              []string
	MCError            string
}

type verdictView struct {
	Need, Verdict, Class string
	Sentence             sentence
	Settle, Why, AtShare string
	Beside               []string // lots, averages, minutes and money
}

type levelRow struct {
	Known, N                 string
	Mean, Bias, Recovery, SD estimate
	One, Midpoint, Permitted string
	OneStep                  bool   // all readings fell in one step: no best value
	Behind                   string // address of the readings behind the row
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

// look at findings and trial once and say it all in words.
func newView(l speech, f assess.Findings, t knownwater.Trial, turn Turns) view {
	f = oneWater(f)
	scale := scaleOf(f)
	v := view{Scale: scale, Analyte: clean(f.Analyte), Notes: SayAll(f.Notes), Cautions: cautions(f)}
	v.Title = titleOf(f)
	v.Answer = newAnswer(l, f, t, turn(trialScale(f)))
	v.Facts = factsOf(f, t, scale)
	names := needNames(f, t)
	for _, name := range names {
		v.Needs = append(v.Needs, newNeedView(name, f, t, scale))
	}
	for i, m := range f.Methods {
		mv := newMethodView(m, t, scale)
		mv.No = i + 1
		v.Methods = append(v.Methods, mv)
	}
	v.Questions, v.Answered = questionsOf(f), answeredOf(f)
	return v
}

// oneWater leaves the matrix out of the methods' names where there is only one.
func oneWater(f assess.Findings) assess.Findings {
	for _, m := range f.Methods {
		if m.Matrix != f.Methods[0].Matrix {
			return f
		}
	}
	f.Methods = some(f.Methods)
	for i := range f.Methods {
		f.Methods[i].Matrix = ""
	}
	f.Procedures = some(f.Procedures)
	for i := range f.Procedures {
		f.Procedures[i].Matrix = ""
	}
	return f
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
		analyte = english.Say("analyte not named")
	}
	return english.Say("{1}: {2} against {3}", capital(analyte), plural(len(methods), "method"), plural(len(levels), "known"))
}

// capital starts a sentence with a capital letter; a file that it starts with is called as it is.
func capital(s string) string {
	if first, _, _ := strings.Cut(s, " "); len(path.Ext(strings.TrimRight(first, ",:;"))) > 2 {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func plural(n int, what string) string {
	if n == 1 {
		return english.Say("one {1}", what)
	}
	return numeral(n) + " " + what + "s"
}

func cleaned(ss []string) []string {
	var out []string
	for _, s := range ss {
		if c := full(s); c != "" {
			out = append(out, c)
		}
	}
	return out
}
