package waters

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/waters"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/history"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// earlierPage lists the logs that were brought in, with the door for another.
type earlierPage struct {
	Form *form.Form
	Logs []earlierLine
}

type earlierLine struct {
	waters.EarlierLog
	Says []string // what was said of it
}

// earlierSeenPage shows how a log is understood, before anything is kept.
type earlierSeenPage struct {
	Form       *form.Form
	File, Kept string // of a file: its name and bytes, which go along in the form
	Columns    []form.Column
	Choices    []form.ColumnChoice
	Asked      bool // the columns are not understood: they are asked about first
	Waters     []nameSeen
	Methods    []nameSeen
	Faults     []string
	Rows       []earlierSeen
	More       int
	Notes      []string
	Told       string
	Clear      bool
	Command    string // that reads the same log alike
}

// nameSeen is a name of the log with the field that says whose it is.
type nameSeen struct {
	Field, Name string
	N           int
	Of          []nameChoice
}

type nameChoice struct {
	ID     int64 // 0: none of these
	Says   string
	Chosen bool
}

// Value is that of the choice in its field.
func (c nameChoice) Value() string {
	if c.ID == 0 {
		return "none"
	}
	return render.ID(c.ID)
}

type earlierSeen struct{ When, Water, Method, Lot, Typed, Read string }

// What a column of a log may be, the likeliest first.
var logChoices = []form.ColumnChoice{
	{As: intake.ColumnOut, Says: "of no account: kept beside"}, {As: "taken_at", Says: "the day, or day and time"}, {As: "water", Says: "which water"}, {As: "method", Says: "which method"},
	{As: "reading", Says: "what was read"}, {As: "lot", Says: "the lot of reagent"}, {As: "reader", Says: "who read it"}, {As: "dilution", Says: "diluted how many times"},
	{As: "known", Says: "what a known held (a check)"}, {As: "u_known", Says: "doubt of the known (k = 1)"}, {As: "pair", Says: "the word that one sample’s readings share"},
	{As: "nitrite", Says: "nitrite of that water, mg/L NO2"}, {As: "u_nitrite", Says: "doubt of that nitrite (k = 1)"}, {As: "technique", Says: "how carefully"}, {As: "note", Says: "a note"},
}

func (s *Pages) earlier(w http.ResponseWriter, r *http.Request) {
	s.showEarlier(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showEarlier(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	logs, err := s.Bench.EarlierLogs(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := earlierPage{Form: f}
	for _, l := range logs {
		p.Logs = append(p.Logs, earlierLine{l, saidOf(s.ReaderOn(r, "earlier").Language, l.Said)})
	}
	s.Show(w, r, status, "earlier", page.Frame{Heading: "Earlier logs", Part: "waters", Page: p})
}

// saidOf words what was said of a log.
func saidOf(l *wording.Language, said waters.EarlierSaid) (out []string) {
	var columns []string
	for heading, as := range said.Columns {
		columns = append(columns, l.Say("“{1}” is {2}", heading, as))
	}
	slices.Sort(columns)
	out = append(out, columns...)
	for what, v := range map[string]string{wording.Key("method of rows that name none: {1}"): said.Method, wording.Key("water of rows that name none: {1}"): said.Water, wording.Key("lot of rows that name none: {1}"): said.Lot} {
		if v != "" {
			out = append(out, l.Say(what, v))
		}
	}
	slices.Sort(out[len(columns):])
	return out
}

// bringEarlier looks at a log: first it shows how each row is understood; with the button
// that keeps, it is brought in. Nothing is kept before that.
func (s *Pages) bringEarlier(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer form.Clear(r)
	src, err := form.HandedIn(r, f, pastedLog)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if f.Bad() {
		s.showEarlier(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	look, err := s.lookAtLog(r, f, src)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	keep := f.Get("do") == "keep"
	if !keep || !look.Clear {
		status := http.StatusOK
		if keep {
			status = http.StatusUnprocessableEntity
		}
		s.showLook(w, r, status, look)
		return
	}
	kept, err := s.Bench.KeepEarlierLog(r.Context(), page.WhoIs(r), look.log, look.rows)
	if f.Refused(err) {
		look.Faults = form.Sentences(page.Reader(r).Language, f.Loose(), 0)
		s.showLook(w, r, http.StatusUnprocessableEntity, look)
		return
	}
	if err == nil && f.ColumnsSaid(look.header) != nil {
		err = s.Bench.SaveColumns(r.Context(), page.WhoIs(r), look.header, look.log.Said.Columns)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Kept: {1} of “{2}”. Each water’s history has them now; here they can be taken out again.", page.Reader(r).Count(kept.Readings, "reading"), kept.Name)
	http.Redirect(w, r, "/waters/earlier", http.StatusSeeOther)
}

func (s *Pages) showLook(w http.ResponseWriter, r *http.Request, status int, look *logLook) {
	s.Show(w, r, status, "earlier-seen", page.Frame{Heading: "How your log is understood", Part: "waters", Page: look.earlierSeenPage})
}

const pastedLog = "the log that was pasted"

// placeEarlier takes a log out, or puts it back.
func (s *Pages) placeEarlier(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.PlaceEarlierLog(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("removed"), f.Get("why"))
	}
	if f != nil && f.Refused(err) {
		s.showEarlier(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Kept, with your reason. Its rows stay as they were brought in.")
	http.Redirect(w, r, "/waters/earlier", http.StatusSeeOther)
}

// logLook is a log looked at: what the page says of it, and what is kept where everything is clear.
type logLook struct {
	earlierSeenPage
	header []string
	log    waters.EarlierLog
	rows   []waters.EarlierRow
}

func (s *Pages) lookAtLog(r *http.Request, f *form.Form, src intake.Source) (*logLook, error) {
	l := &logLook{earlierSeenPage: earlierSeenPage{Form: f, Choices: logChoices}}
	if f.Get("kept") != "" || f.Get("pasted") == "" {
		l.File, l.Kept = src.Name, base64.StdEncoding.EncodeToString(src.Data)
	}
	digest := sha256.Sum256(src.Data)
	said := waters.EarlierSaid{Sheet: f.Text("sheet"), Method: f.Text("only_method"), Water: f.Text("only_water"), Lot: f.Text("only_lot"), Dates: f.Text("dates")}
	o := intake.Options{Sheet: said.Sheet, Method: said.Method, Water: said.Water, Lot: said.Lot, Dates: said.Dates, Rest: true, Stop: r.Context().Err}
	seen, _ := o.LogColumns(src)
	for _, c := range seen {
		l.header = append(l.header, c.Text)
	}
	said.Columns = f.ColumnsSaid(l.header)
	if said.Columns == nil {
		var err error
		if said.Columns, err = s.Bench.ColumnsOf(r.Context(), l.header); err != nil {
			return nil, err
		}
	}
	o.Called = said.Columns
	seen, clear := o.LogColumns(src)
	l.Asked, l.Columns = !clear, form.Columns(seen)
	file, err := intake.Log(src, o)
	if err != nil {
		if !l.Asked || len(l.Columns) == 0 { // else the questions say what is missing
			l.Faults = form.Sentences(page.Reader(r).Language, err, mostEarlierShown)
		}
		return l, nil
	}
	for _, n := range file.Notes {
		l.Notes = append(l.Notes, report.Say(n))
	}
	l.log = waters.EarlierLog{Name: src.Name, Digest: hex.EncodeToString(digest[:]), Said: said}
	l.Command = commandOf(src.Name, said)
	return l, s.understandLog(r, f, src, file, l)
}

// understandLog finds whose the names of a log are, and reads every row by its method.
func (s *Pages) understandLog(r *http.Request, f *form.Form, src intake.Source, file intake.LogFile, l *logLook) error {
	all, err := s.Bench.Waters(r.Context())
	if err != nil {
		return err
	}
	methods, err := s.Bench.Methods(r.Context())
	if err != nil {
		return err
	}
	var waterOf, methodOf map[string]int64
	var choices []nameChoice
	for _, x := range all {
		choices = append(choices, nameChoice{ID: x.ID, Says: x.Spec.Name})
	}
	l.Waters, waterOf = whose(f, "water", file.Entries, func(e history.Entry) string {
		if e.Check {
			return ""
		}
		return e.Water
	}, choices, page.Reader(r).Language.Say("a new water of that name"))
	choices = nil
	specs := map[int64]knownwater.Method{}
	for _, m := range methods {
		if !m.Retired {
			choices = append(choices, nameChoice{ID: m.ID, Says: m.Spec.Name})
			specs[m.ID] = m.Spec.Method()
		}
	}
	l.Methods, methodOf = whose(f, "method", file.Entries, func(e history.Entry) string { return e.Method }, choices, page.Reader(r).Language.Say("none of the bench’s: no record"))
	l.log.Said.Kinds, err = intake.LogMethods(file, src, intake.MethodsFile{}, func(name string) bool { return methodOf[name] != 0 })
	if err != nil {
		faults := form.FaultsOf(err)
		for i := range faults {
			if faults[i].Want == intake.WantKind { // there are no files here
				faults[i].Want = wording.Key("say below which of the bench’s methods it is, or describe it under Methods first")
			}
		}
		if faults != nil {
			err = faults
		}
		l.Faults = form.Sentences(page.Reader(r).Language, err, mostEarlierShown)
		return nil
	}
	var faults knownwater.Faults
	for i, e := range file.Entries {
		m, ofBench := specs[methodOf[e.Method]]
		if !ofBench {
			m = l.log.Said.Kinds[e.Method]
		}
		if e.At.After(s.Now().AddDate(0, 0, 1)) {
			faults = append(faults, knownwater.Fault{Row: e.Row, Column: "taken_at", Found: "%s, a day to come", Want: "the day on which it was tested"}.Of(e.At.Format(time.DateOnly)))
			continue
		}
		as, err := reading.Understand(e.Reading, m)
		if err != nil {
			for _, x := range form.FaultsOf(err) {
				x.Row, x.Column = e.Row, "reading"
				faults = append(faults, x)
			}
			continue
		}
		l.rows = append(l.rows, waters.EarlierRow{Water: waterOf[e.Water], Method: methodOf[e.Method], Rest: file.Rest[i], Entry: e})
		if len(l.Rows) == mostEarlierShown {
			l.More++
			continue
		}
		water := e.Water
		if e.Check {
			water = page.Reader(r).Language.Say("known, {1}", render.TwoDigits(e.Known))
		}
		read := render.SeenWords(as, unit.Scale{})
		l.Rows = append(l.Rows, earlierSeen{page.Reader(r).Language.Time(e.At, "2 January 2006"), water, e.Method, e.Lot, e.Reading, read})
	}
	if faults != nil {
		l.Faults = form.Sentences(page.Reader(r).Language, faults, mostEarlierShown)
		return nil
	}
	l.Command += renames("method", l.Methods) + renames("water", l.Waters)
	l.Clear = true
	l.Told = page.Reader(r).Language.Say("{1} of {2} by {3}, all understood.", page.Reader(r).Count(len(l.rows), "reading"), page.Reader(r).Count(len(l.Waters), "water"), page.Reader(r).Count(len(l.Methods), "method"))
	return nil
}

// mostEarlierShown rows are shown before a log is kept.
const mostEarlierShown = 12

// whose finds each name of a log among what is on the bench: as the form says, else by the same name.
func whose(f *form.Form, field string, entries []history.Entry, name func(history.Entry) string, of []nameChoice, none string) (seen []nameSeen, ids map[string]int64) {
	ids = map[string]int64{}
	at := map[string]int{}
	for _, e := range entries {
		n := name(e)
		if n == "" {
			continue
		}
		i, there := at[n]
		if !there {
			i = len(seen)
			at[n] = i
			key := fmt.Sprint(field, "_", i)
			said := f.Get(key)
			if f.Get(key+"_name") != n {
				said = ""
			}
			x := nameSeen{Field: key, Name: n}
			for _, c := range of {
				c.Chosen = said == c.Value() || said == "" && strings.EqualFold(strings.TrimSpace(c.Says), n)
				if c.Chosen && ids[n] == 0 {
					ids[n] = c.ID
				}
				x.Of = append(x.Of, c)
			}
			x.Of = append(x.Of, nameChoice{0, none, ids[n] == 0})
			seen = append(seen, x)
		}
		seen[i].N++
	}
	return seen, ids
}

// renames are the flags that call names of a log as the bench does.
func renames(what string, names []nameSeen) (out string) {
	for _, n := range names {
		for _, c := range n.Of {
			if c.Chosen && c.ID != 0 && c.Says != n.Name {
				out += " --" + what + " " + quoteShell(n.Name+"="+c.Says)
			}
		}
	}
	return out
}

func quoteShell(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" }

// commandOf is the command that reads the same log alike.
func commandOf(name string, said waters.EarlierSaid) string {
	quote := quoteShell
	if name == pastedLog {
		name = "log.csv"
	}
	out := "knownwater history " + quote(name) + " --record report.html"
	var headings []string
	for h := range said.Columns {
		headings = append(headings, h)
	}
	slices.Sort(headings)
	for _, h := range headings {
		out += " --column " + quote(h+"="+said.Columns[h])
	}
	for _, x := range [][2]string{{"method", said.Method}, {"water", said.Water}, {"lot", said.Lot}, {"dates", said.Dates}, {"sheet", said.Sheet}} {
		if x[1] != "" {
			out += " --" + x[0] + " " + quote(x[1])
		}
	}
	return out
}
