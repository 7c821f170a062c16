package trials

import (
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"strconv"

	"knownwater/bench"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// runPage is the run screen: everything that a phone needs to go on without a
// connection, and nothing of level, role or another's reading.
type runPage struct {
	Sheet runSheet
	Title string
	Trial int64
}

// runSheet is what the script of the run screen reads.
type runSheet struct {
	Bench string            `json:"bench"` // tells this bench from another at the same address
	URL   string            `json:"url"`
	Run   bench.Run         `json:"run"`
	Pads  map[string]runPad `json:"pads"` // by method version
	Flags []bench.Flag      `json:"flags"`
}

// runPad is what a pad needs.
type runPad struct {
	Form       string      `json:"form"` // tiles, count or digits, see reading.Pad
	How        string      `json:"how,omitempty"`
	Targets    []padTarget `json:"targets,omitempty"`
	Resolution float64     `json:"resolution,omitempty"`
	Low        *float64    `json:"low,omitempty"`
	High       *float64    `json:"high,omitempty"`
	Drop       float64     `json:"drop,omitempty"`
	Signed     bool        `json:"signed,omitempty"`
	Prompt     string      `json:"prompt,omitempty"`
}

// padTarget is one brick: its reading in the notation, what it says, its face.
type padTarget struct {
	Text    string   `json:"text"`
	Says    string   `json:"says"`
	Place   string   `json:"place"` // at, gap, above
	A       string   `json:"a"`
	B       string   `json:"b,omitempty"`
	Colours []string `json:"colours"`
}

func (s *Pages) run(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	if page.WhoIs(r).Person == 0 {
		s.Tell(r, "Say first who reads: choose your name below.")
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	session, _ := strconv.Atoi(r.URL.Query().Get("session"))
	run, err := s.Bench.Run(r.Context(), page.WhoIs(r), id, session)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	t, err := s.Bench.Trial(r.Context(), page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	sheet := runSheet{Bench: strconv.FormatInt(t.Made.At.Unix(), 36), URL: "/trials/" + render.ID(id), Run: run, Pads: pads(run), Flags: bench.Flags}
	s.Show(w, r, http.StatusOK, "run", page.Frame{Title: "At the bench: " + run.Title, Part: "trials", Page: runPage{sheet, run.Title, id}})
}

func (s *Pages) runJSON(w http.ResponseWriter, r *http.Request) {
	session, _ := strconv.Atoi(r.URL.Query().Get("session"))
	run, err := s.Bench.Run(r.Context(), page.WhoIs(r), form.PathID(r, "id"), session)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.WriteJSON(w, http.StatusOK, run)
}

func pads(run bench.Run) map[string]runPad {
	out := map[string]runPad{}
	for _, m := range run.Methods {
		out[render.ID(m.VersionID)] = padOf(m.Spec)
	}
	return out
}

func padOf(m bench.MethodSpec) runPad {
	k := reading.Of(m.Kind)
	p := runPad{Form: k.Pad.Form, How: k.Pad.How, Prompt: k.Pad.Prompt, Signed: k.Pad.Signed}
	switch k.Pad.Form {
	case reading.PadTiles:
		p.Targets = targets(m)
	case reading.PadCount:
		p.Drop = m.DropValue
	default:
		p.Resolution, p.Low, p.High = m.Resolution, m.RangeLow, m.RangeHigh
	}
	return p
}

// targets are a chart's bricks, from the lowest up.
func targets(m bench.MethodSpec) []padTarget {
	var out []padTarget
	n := len(m.Swatches)
	i := 0 // swatch that the tile begins at
	for _, t := range reading.Tiles(m.Method()) {
		p := padTarget{Text: t.Text, Says: says(t.Seen, m.Scale)}
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

// says is an interval in words: "6.25 to 8.75 mg/L".
func says(i interval.Interval, scale unit.Scale) string {
	switch {
	case i.OpenBelow():
		return "up to " + short(i.High) + " " + scale.String() + ", open below"
	case i.OpenAbove():
		return "above " + short(i.Low) + " " + scale.String() + ", open"
	}
	return short(i.Low) + " to " + short(i.High) + " " + scale.String()
}

func short(v float64) string {
	return unit.TrueMinus(strconv.FormatFloat(math.Round(v*1e6)/1e6, 'g', 6, 64))
}

// entry is one thing that a phone sends: a start, a reading, or an undo.
type entry struct {
	Kind   string `json:"kind"` // start, keep, back
	Reader int64  `json:"reader"`
	Old    string `json:"old"` // back: the key of what is taken back
	bench.NewReading
}

type entriesAnswer struct {
	Kept    []string       `json:"kept"`
	Refused []refusedEntry `json:"refused,omitempty"`
}

type refusedEntry struct {
	Key string `json:"key"`
	Why string `json:"why"`
}

// mostEntries is how many entries one request may hold.
const mostEntries = 200

// entries keeps what a phone sends, in its order. Each is named in the answer
// as kept or refused; what is in neither list (we failed on the way) the phone
// sends again, and nothing is kept twice.
func (s *Pages) entries(w http.ResponseWriter, r *http.Request) {
	r.Header.Set("Accept", "application/json")
	var in struct {
		Entries []entry `json:"entries"`
	}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
			s.Fail(w, r, err)
			return
		}
		s.Refuse(w, r, http.StatusBadRequest, "the entries are no JSON", err.Error())
		return
	}
	if len(in.Entries) > mostEntries {
		s.Refuse(w, r, http.StatusRequestEntityTooLarge, "too many entries at once", "send 200 at most")
		return
	}
	answer := entriesAnswer{Kept: []string{}}
	for _, e := range in.Entries {
		err := s.keepEntry(r, e)
		why, refused := refusedWhy(err)
		switch {
		case err == nil:
			answer.Kept = append(answer.Kept, e.Key)
		case refused:
			answer.Refused = append(answer.Refused, refusedEntry{e.Key, why})
		default:
			s.Fail(w, r, err)
			return
		}
	}
	s.WriteJSON(w, http.StatusOK, answer)
}

func (s *Pages) keepEntry(r *http.Request, e entry) error {
	ctx, by := r.Context(), page.WhoIs(r)
	if e.Reader != by.Person {
		return &bench.Refusal{Kind: bench.NotAllowed, Words: "it was read by somebody else than this phone is paired with"}
	}
	var err error
	switch e.Kind {
	case "start":
		err = s.Bench.StartVial(ctx, by, bench.VialStart{Key: e.Key, Vial: e.Vial, StartedAt: e.StartedAt})
	case "keep":
		_, err = s.Bench.KeepReading(ctx, by, e.NewReading)
	case "back":
		_, err = s.Bench.TakeBack(ctx, by, e.Old, e.Key)
	default:
		err = &bench.Refusal{Kind: bench.NotAllowed, Words: "it is neither a start nor a reading nor an undo"}
	}
	return err
}

// refusedWhy tells a refusal that sending again cannot mend from trouble that
// passes (a full disk, a busy file), after which the phone tries again.
func refusedWhy(err error) (string, bool) {
	if faults := form.FaultsOf(err); faults != nil {
		return form.Sentence(faults[0]), true
	}
	var no *bench.Refusal
	if !errors.As(err, &no) {
		return "", false
	}
	switch no.Kind {
	case bench.NotFound, bench.NotAllowed, bench.Sealed, bench.WrongState, bench.AlreadyRead, bench.TooLarge:
		return no.Words, true
	}
	return "", false
}

// keepPhoto takes the bytes of one picture and answers the name to put into the
// reading.
func (s *Pages) keepPhoto(w http.ResponseWriter, r *http.Request) {
	r.Header.Set("Accept", "application/json")
	name, err := s.Bench.KeepPhoto(r.Context(), page.WhoIs(r), r.Body)
	if faults := form.FaultsOf(err); faults != nil {
		s.Refuse(w, r, http.StatusUnsupportedMediaType, form.Sentence(faults[0]), "")
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.WriteJSON(w, http.StatusOK, map[string]string{"name": name})
}

// photo sends a kept picture back, so that no browser takes it for a page.
func (s *Pages) photo(w http.ResponseWriter, r *http.Request) {
	data, kind, err := s.Bench.Photo(r.Context(), page.WhoIs(r), r.PathValue("name"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if kind != "image/png" {
		kind = "image/jpeg"
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Content-Disposition", "inline; filename=photo")
	w.Write(data)
}
